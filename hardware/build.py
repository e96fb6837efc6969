"""Makes every committed file that follows from the circuits; with `--check` it names the stale ones and fails.

With `--simulated` also what ngspice must be asked about, which takes a minute.
"""

import sys

from making.files import FOLDER, outputs, simulated, stale


def main(words: list[str]) -> int:
    """Write what changed; with --check, only say what is stale and return 1."""
    made = outputs() | (simulated() if "--simulated" in words else {})
    old = stale(made)
    if "--check" in words:
        for name in old:
            print(f"hardware/{name} is stale; run: python hardware/build.py", file=sys.stderr)
        return 1 if old else 0
    for name in old:
        (FOLDER / name).parent.mkdir(exist_ok=True, parents=True)
        (FOLDER / name).write_text(made[name], "utf-8")
        print(f"wrote hardware/{name}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
