"""Years of an invented depot's history, from the plant with faults that grow: something to look at before one's own.

Rule: every part, figure and event of it is invented, and every run of it is SIMULATED; it goes only into a store of its
own.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import yaml

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.calibrate.virtual import calibrate_board
from pulldrop.jobs.parts.keep import describe
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.jobs.run.events import Event
from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.part.event import Card, PartEvent, PartEventKind
from pulldrop.model.part.rating import Rating
from pulldrop.model.verdict import Overall
from pulldrop.plant.bench import instruments
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.ratings.files import load_relay
from pulldrop.protocol.shipped import library
from pulldrop.store import Store, StoreError
from pulldrop.text.document import parse
from pulldrop.text.shape import fit

BENCH = 31
"""Seed, and so serial number, of the depot's one bench."""
A_YEAR = 2
"""Services a year, in spring and in autumn."""
ROOM_C = (14.0, 24.0, 11.0, 27.0)
"""Temperature of the workshop, degC, service by service."""
OPERATOR = "depot workshop (invented)"
IDS = ("23Y", "24W", "25T", "26P", "27M", "28H", "29E", "2AA", "2C8", "2E6")
"""The same in every invented depot, so that a text can speak of its parts; a real store draws them."""


class NotEmpty(StoreError):
    """The store that was named holds something already; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class Wearing:
    """One invented part: what it is, where it serves, and what each year does to it.

    `yearly` adds to a fault or a contact figure; `cleaned` is the year in which its contacts were cleaned, after which
    their wear begins again.
    """

    base: str
    donor: str
    position: str
    start: dict[str, float] = field(default_factory=dict)
    yearly: dict[str, float] = field(default_factory=dict)
    cleaned: float | None = None


KINDS = {
    "mini_12v_changeover": Card(
        description="mini 12 V changeover", printed="BD 12V 40/30A", sheet="class-mini-12v-form-c"
    ),
    "mini_12v_normally_open": Card(
        description="mini 12 V normally open", printed="BD 12V 40A", sheet="class-mini-12v-form-a"
    ),
}
C, A = "mini_12v_changeover", "mini_12v_normally_open"
NO, SPRING, RUST, COIL = (
    "contact_no.crust_mohm",
    "faults.return_spring_percent",
    "faults.extra_friction_n",
    "faults.coil_ohm_percent",
)
DEPOT = (
    Wearing(C, "town bus 12", "saloon lights", yearly={NO: 3.8}),
    Wearing(C, "town bus 31", "saloon lights", yearly={NO: 2.7}),
    Wearing(C, "school bus 44", "saloon lights", yearly={NO: 3.3}, cleaned=1.75),
    Wearing(C, "town bus 12", "demister fan"),
    Wearing(C, "town bus 31", "demister fan", yearly={NO: 0.5}),
    Wearing(C, "touring coach 7", "air horn", yearly={SPRING: -16.0}),
    Wearing(C, "touring coach 7", "wipers", start={"contact_nc.bulk_mohm": 7.5}),
    Wearing(A, "touring coach 7", "under the leaking hatch", yearly={RUST: 0.11}),
    Wearing(A, "town bus 31", "indicators", yearly={COIL: 2.4}),
    Wearing(A, "school bus 44", "indicators"),
)


def run_years(
    store: Store, years: int, now: datetime, show: Callable[[Event], None], told: Callable[[int, int], None]
) -> int:
    """Fill an empty store with services up to `now`; `told` gets services done and of all. Gives the number of runs."""
    if store.parts():
        raise NotEmpty(
            f"The store {store.name} holds parts already; an invented history needs a store of its own. Name a new"
            " file with --store."
        )
    last = (now - timedelta(days=1)).replace(hour=8, minute=30, second=0, microsecond=0)
    services = [last - timedelta(days=365.25 * n / A_YEAR) for n in range(years * A_YEAR, -1, -1)]
    ids = [_begin(store, id, one, services[0]) for id, one in zip(IDS, DEPOT, strict=False)]
    runs = 0
    for number, at in enumerate(services):
        told(number, len(services))
        made, complete = _service(store, ids, number, at, show)
        runs += made
        if not complete:
            break
    return runs


def _rating(one: Wearing) -> Rating:
    """Of its class, as its card says."""
    return load_relay(library.find_rating(KINDS[one.base].sheet))


def _begin(store: Store, id: str, one: Wearing, at: datetime) -> str:
    """The part with its card, fitted where it serves."""
    card = KINDS[one.base].model_copy(
        update=dict(donor=one.donor, position=one.position, notes="invented: no such part exists")
    )
    part = store.new_part(_rating(one).part(id), simulated=True)
    describe(store, part, card, simulated=True, at=at)
    place = f"{one.donor}, {one.position}"
    _happened(store, part.id, at + timedelta(hours=5), PartEventKind.FITTED, "after its first test (invented)", place)
    return part.id


def _happened(store: Store, part: str, at: datetime, kind: PartEventKind, text: str, place: str = "") -> None:
    store.part_event(PartEvent(part=part, at=at, kind=kind, text=text, place=place, operator=OPERATOR))


def _service(
    store: Store, ids: list[str], number: int, at: datetime, show: Callable[[Event], None]
) -> tuple[int, bool]:
    """Every part over the bench once; the bench is calibrated at the first service of a year."""
    year, room_c = number / A_YEAR, ROOM_C[number % len(ROOM_C)]
    first = Specimen.model_validate({**instruments.empty().model_dump(), "temperature_c": room_c})
    with VirtualBoard(first, BENCH) as board:
        if number % A_YEAR == 0:
            before = at - timedelta(hours=1)
            store.add_calibration(calibrate_board(board, BENCH + number, operator=OPERATOR, now=lambda: before))
        turn = [(place + number) % len(DEPOT) for place in range(len(DEPOT))]  # no part has the same noise each time
        for done, place in enumerate(turn):
            _clean(store, ids[place], DEPOT[place], year, at)
            part = specimen(DEPOT[place], place, year, room_c)
            board.insert(part.specimen)
            plan = plan_for_specimen(part.specimen)
            about = plan.rating.part(ids[place])
            task = Task(plan=plan, part=about, operator=OPERATOR, specimen=part.text, seed=BENCH)
            made = run_one(task, board, store, show, now=_Clock(board, at + timedelta(minutes=6 * done)))
            if made.verdict.overall is Overall.INTERRUPTED:
                return done + 1, False
    return len(DEPOT), True


class _Clock:
    """The invented time of day: it goes on with the bench."""

    def __init__(self, board: VirtualBoard, at: datetime) -> None:
        self._board, self._at, self._begun_s = board, at, board.elapsed()

    def __call__(self) -> datetime:
        return self._at + timedelta(seconds=self._board.elapsed() - self._begun_s)


def _clean(store: Store, part: str, one: Wearing, year: float, at: datetime) -> None:
    """The service before which the contacts were cleaned has it written down."""
    if one.cleaned is not None and year - 1 / A_YEAR < one.cleaned <= year:
        day = at - timedelta(days=1)
        _happened(store, part, day, PartEventKind.REMOVED, "dim saloon lights (invented)", "workshop, bench 2")
        _happened(store, part, day + timedelta(hours=1), PartEventKind.CLEANED, "blades and socket cleaned (invented)")
        place = f"{one.donor}, {one.position}"
        _happened(store, part, at + timedelta(hours=5), PartEventKind.FITTED, "after its test (invented)", place)


def specimen(one: Wearing, number: int, year: float, room_c: float) -> VirtualPart:
    """The part as it is after some years; no two are alike when new."""
    chance = random.Random(number)
    figures: dict[str, Any] = {
        "coil": {"resistance_ohm": (90.0 if one.base == A else 85.0) * chance.uniform(0.97, 1.03)},
        "contact_no": {"bulk_mohm": chance.uniform(1.2, 1.8), "crust_mohm": chance.uniform(0.3, 0.6)},
        "contact_nc": {"bulk_mohm": chance.uniform(1.2, 1.8)},
        "faults": {"return_spring_percent": 100.0, "extra_friction_n": 0.0, "coil_ohm_percent": 0.0},
    }
    for key, value in one.start.items():
        room, name = key.split(".")
        figures[room][name] = value
    since = year - one.cleaned if one.cleaned is not None and year >= one.cleaned else year
    for key, rate in one.yearly.items():
        room, name = key.split(".")
        figures[room][name] += rate * (since if room.startswith("contact") else year)
    whole = dict(
        title=KINDS[one.base].description, donor=one.donor, base=one.base, form=_rating(one).form,
        temperature_c=room_c, **figures,
    )  # fmt: skip
    text = f"# Invented: no real part was measured. {one.position}, after {year:g} years.\n{yaml.safe_dump(whole)}"
    return VirtualPart(fit(parse(text, "invented depot"), Specimen), text)
