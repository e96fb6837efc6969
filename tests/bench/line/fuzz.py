"""The firmware's core driven by chance under ASan and UBSan, in process, in simulated time: does it keep its promises?

`--parts` is the number of frames, shared out to `--jobs` processes. Frames are made from the schema with fields by
chance, among them wrong and damaged ones; the bench around has storms of edges, currents, an emergency stop, a bus that
fails, resets and brown-outs, silence, and starts bare or full (firmware/native/fuzz). Held after every frame and every
simulated millisecond: nothing is on without lease, while tripped, or while the stop is open; over-current, pulse, load
duty over 10 s across resets and in 750 ms, on-time of coil and coil supply; the DAC follows within 500 ms.
"""

import subprocess
import sys
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from report import AnyGoal, Goal, Share, close, parser

FIRMWARE = Path(__file__).parents[3] / "firmware"
LET_THROUGH = 2.0**-16
"""Of frames that are damaged anyhow, a CRC of 16 bits lets through so many."""
MOST = {
    "on_without_request_us": ("on after the last valid request, ms", 1000, 500.0),
    "over_current_us": ("over-current, ms", 1000, 1.3),
    "pulse_us": ("load pulse, ms", 1000, 500.0),
    "loaded_in_10_s_us": ("load in any 10 s, ms", 1000, 1000.0),
    "loaded_in_750_ms_us": ("several pulses in any 750 ms, ms", 1000, 500.0),
    "scan_left_us": ("what a scan left on while the bus obeys, ms", 1000, 200.0),
    "dac_without_request_us": ("DAC above zero after lease or trip while the bus obeys, ms", 1000, 500.0),
}
"""Of the longest times that a process saw: their names, microseconds in their unit, and the goals."""


@dataclass(frozen=True)
class Told:
    """What one process said: its counts and longest times, or the promise that was broken."""

    seed: int
    figures: dict[str, int]
    broken: str = ""


def program(folder: Path = FIRMWARE) -> Path:
    """The fuzz program of a firmware folder, built when it is missing or old."""
    subprocess.run(["make", "-s", "-C", str(folder), "fuzz"], check=True)
    return folder / "build" / "fuzz" / "fuzz"


def run(seed: int, frames: int, built: Path | None = None) -> Told:
    """One process."""
    done = subprocess.run(
        [str(built or program()), str(seed), str(frames)], capture_output=True, text=True, check=False
    )
    words = done.stdout.split()
    if done.returncode or "frames" not in words[:1]:
        return Told(seed, {}, f"{done.stdout.strip()} {done.stderr[:2000].strip()}".strip())
    return Told(seed, dict(zip(words[::2], map(int, words[1::2]), strict=True)))


def campaign(seed: int, frames: int, jobs: int) -> list[Told]:
    """All processes; their seeds follow from the one."""
    built = program()
    with ThreadPoolExecutor(jobs) as pool:
        return list(pool.map(lambda job: run(1000 * seed + job, frames // jobs, built), range(jobs)))


def goals(told: Sequence[Told]) -> list[AnyGoal]:
    """The figures of all processes beside what is asked of them."""
    added: Counter[str] = Counter()
    for one in told:
        added.update(one.figures)
    made: list[AnyGoal] = [Goal("processes that broke a promise", sum(bool(one.broken) for one in told), high=0)]
    for key, (name, of, most) in MOST.items():
        made.append(Goal(name, max((one.figures.get(key, 0) for one in told), default=0) / of, high=most))
    made.append(Share("damaged frames let through", added["slipped"], added["damaged"], high=LET_THROUGH))
    return made


def main() -> int:
    """The campaign as a command."""
    ours = parser((__doc__ or "").splitlines()[0], parts=100_000_000)
    ours.add_argument("--jobs", type=int, default=2, help="processes; default 2")
    given = ours.parse_args()
    told = campaign(given.seed, given.parts, given.jobs)
    for one in told:
        print(f"seed {one.seed}: {one.broken or ', '.join(f'{k} {v}' for k, v in one.figures.items())}")
    damaged = sum(one.figures.get("damaged", 0) for one in told)
    print(f"Of {damaged} damaged frames a CRC of 16 bits lets {LET_THROUGH * damaged:.0f} through, damaged at random.")
    return close("fuzz", given, goals(told))


if __name__ == "__main__":
    sys.exit(main())
