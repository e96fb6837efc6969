"""The EEPROM of an emulated board, as if `name_board` had been sent once: who it is, and that it is simulated.

The records are those of firmware/core/identity.h: name at 16 (serial u32, kind u8, CRC), little-endian, the CRC that of
the frames inverted, high byte first; at 52 that its load resistors were cold when it was switched off; what was never
written is 0xff.
"""

import struct

from pulldrop.wire.frames import crc

SIMULATED = 0x53
SERIAL = 53
NAME_AT = 16
COLD_AT, COLD = 52, b"\x5a"


def eeprom(serial: int = SERIAL) -> bytes:
    """The first bytes of the EEPROM; the rest, with the count of boots, was never written."""
    name = struct.pack("<IB", serial, SIMULATED)
    named = b"\xff" * NAME_AT + name + bytes(byte ^ 0xFF for byte in crc(name))
    return named.ljust(COLD_AT, b"\xff") + COLD
