"""The EEPROM of an emulated board, as if `name_board` had been sent once: who it is, and that it is simulated.

The records are those of firmware/core/identity.h: name at 0 (serial u32, kind u8, CRC), little-endian,
CRC-16/XMODEM; what was never written is 0xff.
"""

import struct
from binascii import crc_hqx

SIMULATED = 0x53
SERIAL = 53


def eeprom(serial: int = SERIAL) -> bytes:
    """The first bytes of the EEPROM; the rest, with the count of boots, was never written."""
    name = struct.pack("<IB", serial, SIMULATED)
    return name + struct.pack("<H", crc_hqx(name, 0))
