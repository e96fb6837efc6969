"""What the board drives."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Pins:
    """What the board drives. branches: bits 0..3 for 1, 5, 10, 20 A; throws, dry: bit 0 terminal 87, bit 1 87a;
    pull_ups: the chip's own at the edge pins, bits as of `dry`; lamp: dark, it holds the coil supply at 0."""

    dac: int = 0
    lamp: bool = False
    coil: bool = False
    diode: bool = False
    branches: int = 0
    throws: int = 0
    dry: int = 0
    pull_ups: int = 0
