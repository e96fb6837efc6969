"""A calibration as the bytes that a board keeps in its EEPROM for the host, and back.

Rule 1: a damaged record gives nothing at all; a record says itself which board it is of.
Rule 2: nothing of the uncertainty is lost. A cause that acts on several channels keeps its name; the others of a
channel become one.

Little-endian: version u8, kind u8, length u16 of the whole, serial u32, seconds since 1970 u32, parts left out as bits
u8; seven channels of gain, zero, u_gain, u_zero, then low side, its u, temperature offset and its u, all float32;
causes, counted by a u8, each with its name (u8 length, ASCII), and for each of the seven channels, as bits of a u8,
its share as float32; CRC-16/XMODEM of all before.
"""

import struct
from binascii import crc_hqx
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime
from math import hypot
from typing import Any

from pulldrop.model.calibration import Calibration, Channel, Share

ROOM = 768
"""Bytes of EEPROM that belong to the host (firmware/wire.yaml, read_notes)."""
VERSION = 1
REAL, SIMULATED = 0x52, 0x53
CHANNELS = ("coil_set", "coil_bus", "coil_shunt", "coil_fast", "drop", "load", "tick")
CONSTANTS = ("low_side_ohm", "u_low_side_ohm", "temperature_offset_k", "u_temperature_k")
LEFT_OUT = ("temperature", "coil volts", "coil amps", "low side", "contact zero", "contact drop", "clock")
"""Parts of a calibration that can be left out, by the bit that says so; a sentence about one begins with its name."""
HEAD = struct.Struct("<BBHIIB")
WHY = "calibration kept in the board"
CRC_BYTES = 2


class NotesError(ValueError):
    """Notes that are no calibration; the message is a sentence for a person."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What a record gives back: the calibration, and which of its parts were left out."""

    calibration: Calibration
    left_out: tuple[str, ...]


def pack(calibration: Calibration, left_out: tuple[str, ...]) -> bytes:
    """The record; `left_out` are sentences that begin with a part's name. Nominal values are no calibration."""
    if calibration.taken_at is None:
        raise ValueError("nominal values are no calibration and are not kept")
    channels: dict[str, Channel] = {name: getattr(calibration, name) for name in CHANNELS}
    counted = Counter(share.name for channel in channels.values() for share in channel.shares)
    common = [name for name, count in counted.items() if count > 1]
    numbers = [number for channel in channels.values() for number in _numbers(channel, common)]
    numbers += [getattr(calibration, name) for name in CONSTANTS]
    body = struct.pack(f"<{len(numbers)}fB", *numbers, len(common))
    body += b"".join(_cause(name, channels) for name in common)
    missing = sum(1 << bit for bit, part in enumerate(LEFT_OUT) if any(one.startswith(part) for one in left_out))
    kind, seconds = SIMULATED if calibration.simulated else REAL, int(calibration.taken_at.timestamp())
    length = HEAD.size + len(body) + CRC_BYTES
    if length > ROOM:
        raise NotesError(f"The calibration takes {length} bytes; the board has room for {ROOM}.")
    record = HEAD.pack(VERSION, kind, length, calibration.board_serial, seconds, missing) + body
    return record + struct.pack("<H", crc_hqx(record, 0))


def unpack(notes: bytes) -> Kept | None:
    """What the notes hold, bytes behind the record unread; None when nothing was ever written. Raises NotesError."""
    if not notes.rstrip(b"\xff"):
        return None
    if not _whole(notes):
        raise NotesError(
            "The calibration kept in the board is damaged and is not used. Calibrate again: pulldrop calibrate"
        )
    version, kind, length, serial, seconds, missing = HEAD.unpack_from(notes)
    if version != VERSION:
        raise NotesError(
            f"The calibration kept in the board is a record of version {version}; this pulldrop knows {VERSION} and"
            " does not use it. Calibrate again: pulldrop calibrate"
        )
    taken_at = datetime.fromtimestamp(seconds, UTC)
    calibration = Calibration(
        name=f"kept in board {serial}, {taken_at:%Y-%m-%d}",
        taken_at=taken_at,
        board_serial=serial,
        simulated=kind != REAL,
        **_body(notes[HEAD.size : length - CRC_BYTES]),
    )
    return Kept(calibration, tuple(part for bit, part in enumerate(LEFT_OUT) if missing >> bit & 1))


def _whole(notes: bytes) -> bool:
    """Whether length and checksum are those of a record."""
    if len(notes) < HEAD.size:
        return False
    end = HEAD.unpack_from(notes)[2] - CRC_BYTES
    if not HEAD.size <= end <= len(notes) - CRC_BYTES:
        return False
    return notes[end : end + CRC_BYTES] == struct.pack("<H", crc_hqx(notes[:end], 0))


def _numbers(channel: Channel, common: list[str]) -> tuple[float, float, float, float]:
    """A channel's four numbers; the causes that no other channel has become part of its own."""
    own = hypot(channel.u_gain, *(share.u for share in channel.shares if share.name not in common))
    return channel.gain, channel.zero, own, channel.u_zero


def _cause(name: str, channels: dict[str, Channel]) -> bytes:
    """One common cause and its share in each channel that has it."""
    bits, shares = 0, b""
    for bit, channel in enumerate(channels.values()):
        found = [share.u for share in channel.shares if share.name == name]
        if found:
            bits |= 1 << bit
            shares += struct.pack("<f", sum(found))  # one cause, so it adds up
    return bytes([len(name)]) + name.encode("ascii") + bytes([bits]) + shares


def _body(body: bytes) -> dict[str, Any]:
    """Fields of a calibration."""
    count = 4 * len(CHANNELS) + len(CONSTANTS)
    *numbers, causes = struct.unpack_from(f"<{count}fB", body)
    shares = _shares(body[4 * count + 1 :], causes)
    channels = {
        name: Channel(gain=gain, zero=zero, u_gain=u_gain, u_zero=u_zero, why=WHY, shares=tuple(shares[name]))
        for name, (gain, zero, u_gain, u_zero) in zip(CHANNELS, zip(*[iter(numbers)] * 4, strict=False), strict=False)
    }
    return {**channels, **dict(zip(CONSTANTS, numbers[-len(CONSTANTS) :], strict=True))}


def _shares(data: bytes, causes: int) -> dict[str, list[Share]]:
    """The common causes of each channel."""
    shares: dict[str, list[Share]] = {name: [] for name in CHANNELS}
    at = 0
    for _ in range(causes):
        name_end = at + 1 + data[at]
        name, bits = data[at + 1 : name_end].decode("ascii"), data[name_end]
        at = name_end + 1
        for bit, channel in enumerate(CHANNELS):
            if bits >> bit & 1:
                shares[channel].append(Share(name=name, u=struct.unpack_from("<f", data, at)[0], why=WHY))
                at += 4
    return shares
