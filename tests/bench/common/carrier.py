"""A printed board of the evening build, made from its layout with KiCad's Python: its rules, its joints, its files.

It needs Debian's package kicad (6 or later). The board, Gerbers and drills are left in the folder that it names.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from report import Goal, close, options

ROOT = Path(__file__).parents[3]
PYTHON = "/usr/bin/python3"
"""The one that Debian's KiCad is built for."""
FILES = ("carrier-F_Cu.gbr", "carrier-B_Cu.gbr", "carrier-F_Mask.gbr", "carrier-B_Mask.gbr", "carrier-F_SilkS.gbr")
FILES += ("carrier-Edge_Cuts.gbr", "carrier-PTH.drl", "carrier.kicad_pcb")


def made(folder: Path, *more: str) -> dict[str, Any]:
    """What KiCad says of a board made into a folder."""
    words = [PYTHON, str(ROOT / "hardware/carrier.py"), str(folder), *more]
    done = subprocess.run(words, capture_output=True, text=True, timeout=300)
    if not done.stdout:
        raise SystemExit(f"no board was made; install Debian's kicad. {done.stderr.strip().splitlines()[-1]}")
    told: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return told


def main() -> int:
    given = options("A printed board of the evening build, made and checked by KiCad.", 1)
    folder = Path(tempfile.mkdtemp(prefix="carrier-"))
    told, spoilt = made(folder), made(folder / "spoilt", "--spoilt")
    print(f"made in {folder}: {told['tracks']} tracks and vias; KiCad's rules found {told['rules'] or 'nothing'}")
    files = sum((folder / name).exists() and (folder / name).stat().st_size > 500 for name in FILES)
    seen = (sum(spoilt["grave"].values()) > 0) + (spoilt["unconnected"] > 0)
    return close(
        "carrier",
        given,
        [
            Goal("violations of KiCad's rules, of the silk screen too", sum(told["grave"].values()), high=0),
            Goal("pads that are not joined", told["unconnected"], high=0),
            Goal("files for a maker of boards", files, low=len(FILES)),
            Goal("planted faults that the rules find", seen, low=2),
        ],
    )


if __name__ == "__main__":
    sys.exit(main())
