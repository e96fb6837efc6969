"""The firmware's frames on this PC: its portable C, built for the PC under ASan and UBSan, driven through stdin."""

import subprocess
from functools import cache
from pathlib import Path

FIRMWARE = Path(__file__).parents[3] / "firmware"


@cache
def _program() -> Path:
    subprocess.run(["make", "-C", str(FIRMWARE), "native"], check=True, capture_output=True)
    return FIRMWARE / "build" / "native"


def _say(*commands: str) -> list[str]:
    """What the program says to these commands, a line each; a sanitizer's complaint fails here."""
    script = "".join(f"{command}\n" for command in commands)
    ran = subprocess.run([_program()], input=script, capture_output=True, text=True, timeout=30)
    assert ran.returncode == 0, ran.stderr
    *lines, end = ran.stdout.splitlines()
    assert end.endswith("ended")
    return lines


def c_crc(data: bytes) -> int:
    """CRC-16 of `data`."""
    (line,) = _say(f"crc {data.hex()}")
    return int(line.removeprefix("crc "))


def c_frame(content: bytes) -> bytes:
    """What the board sends for one content."""
    (line,) = _say(f"encode {content.hex()}")
    return bytes.fromhex(line.split(" tx ")[1])


def c_frames(stream: bytes) -> tuple[list[bytes], int]:
    """The contents that the board finds in a stream, and how many frames it counts as bad."""
    *bodies, bad = _say(f"decode {stream.hex()}")
    return [bytes.fromhex(line.removeprefix("body ")) for line in bodies], int(bad.removeprefix("bad "))
