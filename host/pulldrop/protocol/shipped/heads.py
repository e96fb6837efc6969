"""What stands at the head of each shipped protocol, and how long it takes: what a person chooses by."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pulldrop.protocol.shipped import library
from pulldrop.text.document import read

BENCH_S = {
    "pair-quick": 4.2, "relay-bare": 3.7, "relay-diagnose": 24.3, "relay-full": 17.7, "relay-quick": 4.7,
    "relay-reversed": 10.3, "relay-screen": 4.9, "relay-soak": 303.3,
}  # fmt: skip
"""Seconds of bench time of the sound 12 V changeover part in stock, as a test measures them; a hand's not counted."""


@dataclass(frozen=True, slots=True)
class Head:
    """A shipped protocol: its `kind` of part, its `purpose` ("crate" for one of a crate), its `seconds` from and to."""

    name: str
    title: str
    kind: str
    purpose: str
    seconds: tuple[float, ...]


def heads() -> Iterator[Head]:
    """Those of parts, the quickest first, then those of crates. Raises BadText."""
    for name in sorted(library.names(), key=lambda name: BENCH_S.get(name, 0.0)):
        head = _head(library.find(name))
        seconds = (BENCH_S[name],) if name in BENCH_S else ()
        yield Head(name, head["title"], head["kind"], head["purpose"], seconds)
    for name in library.crate_names():
        head = _head(library.find_crate(name))
        screen, full = head["screen"], head["full"]
        both = (BENCH_S[screen], BENCH_S[screen] + BENCH_S[full]) if {screen, full} <= BENCH_S.keys() else ()
        yield Head(name, head["title"], _head(library.find(screen))["kind"], "crate", both)


def _head(file: Path) -> dict[str, str]:
    written: Any = read(file).value
    return {key: str(one) for key, one in written.items()}
