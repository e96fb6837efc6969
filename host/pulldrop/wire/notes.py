"""A calibration as the bytes that a board keeps in its EEPROM for the host, and back.

Rule 1: a damaged record gives nothing at all; a record says itself which board it is of.
Rule 2: nothing of the uncertainty is lost. A cause that acts on several channels, or that a reading meets again, keeps
its name; the others of a channel become one, of the shape that they come nearest to.

Little-endian: version u8, kind u8 (its highest bit: of an evening build), length u16 of the whole, serial u32, seconds
since 1970 u32, parts left out as bits u8; seven channels of gain, zero, u_gain, u_zero, then low side, its u,
temperature offset and its u, the clips of NO and NC, their u and that of a seating, all float32; the degrees of freedom
of the latter, and the shapes of the seven channels and of the clips, u8 each; causes, counted by a u8, each with its
name (u8 length, ASCII), its shape, and for each of the seven channels, as bits of a u8, its share as float32;
CRC-16/XMODEM of all before.
"""

import struct
from binascii import crc_hqx
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, datetime
from math import hypot
from typing import Any

from pulldrop.model.bench.abilities import Build
from pulldrop.model.bench.calibration import MET_AGAIN, Calibration, Channel, Clips, Share
from pulldrop.model.coverage import Shape, shape_of

ROOM = 768
"""Bytes of EEPROM that belong to the host (firmware/wire.yaml, read_notes)."""
VERSION = 3
REAL, SIMULATED, OF_EVENING = 0x52, 0x53, 0x80
CHANNELS = ("coil_set", "coil_bus", "coil_shunt", "coil_fast", "drop", "load", "tick")
CONSTANTS = ("low_side_ohm", "u_low_side_ohm", "temperature_offset_k", "u_temperature_k")
CLIPS = ("no_ohm", "nc_ohm", "u_ohm", "u_seat_ohm")
SHAPES: tuple[Shape, ...] = ("normal", "rectangular", "triangular", "two values")
LEFT_OUT = ("temperature", "coil volts", "coil amps", "low side", "contact zero", "contact drop", "clock", "clips")
"""Parts of a calibration that can be left out, by the bit that says so; a sentence about one begins with its name."""
HEAD = struct.Struct("<BBHIIB")
WHY = "calibration kept in the board"
CRC_BYTES = 2


class NotesError(ValueError):
    """Notes that are no calibration; the message is a sentence for a person."""


@dataclass(frozen=True, slots=True)
class KeptNote:
    """What a record gives back: the calibration, which of its parts were left out, and of which build it is."""

    calibration: Calibration
    left_out: tuple[str, ...]
    build: Build


def pack(calibration: Calibration, left_out: tuple[str, ...], build: Build = "full") -> bytes:
    """The record; `left_out` are sentences that begin with a part's name. Nominal values are no calibration."""
    if calibration.taken_at is None:
        raise ValueError("nominal values are no calibration and are not kept")
    channels: dict[str, Channel] = {name: getattr(calibration, name) for name in CHANNELS}
    counted = Counter(share.name for channel in channels.values() for share in channel.shares)
    named = [name for name, count in counted.items() if count > 1 or name in MET_AGAIN]
    numbers = [number for channel in channels.values() for number in _numbers(channel, named)]
    numbers += [getattr(calibration, name) for name in CONSTANTS]
    numbers += [getattr(calibration.clips, name) for name in CLIPS]
    shapes = [_own_shape(channel, named) for channel in channels.values()] + [calibration.clips.shape]
    body = struct.pack(f"<{len(numbers)}f", *numbers)
    freedom = round(calibration.clips.seat_freedom)
    body += bytes([freedom, *(SHAPES.index(shape) for shape in shapes), len(named)])
    body += b"".join(_cause(name, channels) for name in named)
    missing = sum(1 << bit for bit, part in enumerate(LEFT_OUT) if any(one.startswith(part) for one in left_out))
    kind, seconds = SIMULATED if calibration.simulated else REAL, int(calibration.taken_at.timestamp())
    kind |= OF_EVENING if build == "evening" else 0
    length = HEAD.size + len(body) + CRC_BYTES
    if length > ROOM:
        raise NotesError(f"The calibration takes {length} bytes; the board has room for {ROOM}.")
    record = HEAD.pack(VERSION, kind, length, calibration.board_serial, seconds, missing) + body
    return record + struct.pack("<H", crc_hqx(record, 0))


def unpack(notes: bytes) -> KeptNote | None:
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
        simulated=kind & ~OF_EVENING != REAL,
        **_body(notes[HEAD.size : length - CRC_BYTES]),
    )
    left_out = tuple(part for bit, part in enumerate(LEFT_OUT) if missing >> bit & 1)
    return KeptNote(calibration, left_out, "evening" if kind & OF_EVENING else "full")


def _whole(notes: bytes) -> bool:
    """Whether length and checksum are those of a record."""
    if len(notes) < HEAD.size:
        return False
    end = HEAD.unpack_from(notes)[2] - CRC_BYTES
    if not HEAD.size <= end <= len(notes) - CRC_BYTES:
        return False
    return notes[end : end + CRC_BYTES] == struct.pack("<H", crc_hqx(notes[:end], 0))


def _numbers(channel: Channel, named: list[str]) -> tuple[float, float, float, float]:
    """A channel's four numbers; the causes that keep no name become part of its own."""
    return channel.gain, channel.zero, hypot(*(u for u, _ in _own(channel, named))), channel.u_zero


def _own(channel: Channel, named: list[str]) -> list[tuple[float, Shape]]:
    """The causes of a channel's gain that are its own."""
    shares = ((share.u, share.shape) for share in channel.shares if share.name not in named)
    return [(channel.u_gain, channel.shape), *shares]


def _own_shape(channel: Channel, named: list[str]) -> Shape:
    """Their shape together; without any, that of the zero."""
    own = _own(channel, named)
    return shape_of(own) if any(u for u, _ in own) else channel.shape


def _cause(name: str, channels: dict[str, Channel]) -> bytes:
    """One named cause and its share in each channel that has it."""
    bits, shares, shape = 0, b"", 0
    for bit, channel in enumerate(channels.values()):
        found = [share for share in channel.shares if share.name == name]
        if found:
            bits |= 1 << bit
            shares += struct.pack("<f", sum(share.u for share in found))  # one cause, so it adds up
            shape = SHAPES.index(found[0].shape)
    return bytes([len(name)]) + name.encode("ascii") + bytes([shape, bits]) + shares


def _body(body: bytes) -> dict[str, Any]:
    """Fields of a calibration."""
    read = _Reader(body)
    numbers = {name: read.floats(4) for name in CHANNELS}
    constants: dict[str, Any] = dict(zip(CONSTANTS, read.floats(len(CONSTANTS)), strict=True))
    clips = dict(zip(CLIPS, read.floats(len(CLIPS)), strict=True))
    freedom = float(read.byte())
    shapes = [read.shape() for _ in CHANNELS]
    constants["clips"] = Clips(**clips, shape=read.shape(), seat_freedom=freedom)
    shares = _shares(read)
    channels = {
        name: Channel(gain=gain, zero=zero, u_gain=u_gain, u_zero=u_zero, why=WHY, shares=tuple(shares[name]), shape=of)
        for (name, (gain, zero, u_gain, u_zero)), of in zip(numbers.items(), shapes, strict=True)
    }
    return {**channels, **constants}


@dataclass(slots=True)
class _Reader:
    """Bytes, read from the front."""

    data: bytes
    at: int = 0

    def byte(self) -> int:
        self.at += 1
        return self.data[self.at - 1]

    def text(self, length: int) -> str:
        self.at += length
        return self.data[self.at - length : self.at].decode("ascii")

    def floats(self, count: int) -> tuple[float, ...]:
        self.at += 4 * count
        return struct.unpack_from(f"<{count}f", self.data, self.at - 4 * count)

    def shape(self) -> Shape:
        return SHAPES[self.byte()]


def _shares(read: _Reader) -> dict[str, list[Share]]:
    """The named causes of each channel."""
    shares: dict[str, list[Share]] = {name: [] for name in CHANNELS}
    for _ in range(read.byte()):
        name = read.text(read.byte())
        shape = read.shape()
        bits = read.byte()
        for bit, channel in enumerate(CHANNELS):
            if bits >> bit & 1:
                (u,) = read.floats(1)
                shares[channel].append(Share(name=name, u=u, why=WHY, shape=shape))
    return shares
