"""In a crate nothing is energised before what lies in the socket has sat still for a second and a half.

What counts is when it was last moved in truth, which the sorter cannot know: it has to see it.
"""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from functools import partial

import pytest
from crates import GOOD, OPEN, SEED, Crate, parts
from hypothesis import given, settings
from hypothesis import strategies as st

from pulldrop.board.request_types import Drive, Load, Pulse, Stairs
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run.specimens import empty_socket
from pulldrop.jobs.sort import fit as sort_check
from pulldrop.jobs.sort.setup import Setup
from pulldrop.jobs.sort.sorter import Sorter
from pulldrop.jobs.sort.still import STILL_S, Still
from pulldrop.measure.identify.socket import Look, look
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.crate.crate import Command, Control, CrateView, Stage
from pulldrop.model.raw import Capture, Contact, Landing, PulseCounts
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.crate import sorting
from pulldrop.store import Store

LOAD = partial(sorting, "crate-relay")
PROMPT_S = 0.5
"""A second and a half is no hardship; much more would be."""


class Recorder(VirtualBoard):
    """A board that writes down, at every request that energises something, how long the part has sat still."""

    def __init__(self) -> None:
        super().__init__(empty_socket().specimen, SEED)
        self.moved_s = -100.0
        self.rested_s: list[float] = []
        self.first_s: list[float] = []
        """The same, of the first such request after each move."""
        self._moved = False

    def insert(self, specimen: Specimen) -> None:
        super().insert(specimen)
        self.moved_s, self._moved = self.elapsed(), True

    def energised(self) -> None:
        self.rested_s.append(self.elapsed() - self.moved_s)
        if self._moved:
            self.first_s.append(self.rested_s[-1])
        self._moved = False

    def hold_coil(self, drive: Drive) -> None:
        if drive.on or drive.dac:
            self.energised()
        super().hold_coil(drive)

    def step_coil(self, drive: Drive, window_ms: int, divider: int, low_side: bool = False) -> Capture:
        self.energised()
        return super().step_coil(drive, window_ms, divider, low_side)

    def staircase(self, stairs: Stairs) -> Landing:
        self.energised()
        return super().staircase(stairs)

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        self.energised()
        return super().load_pulse(pulse)

    def hot_step(self, drive: Drive, load: Load, window_ms: int, divider: int) -> tuple[Capture, PulseCounts]:
        self.energised()
        return super().hot_step(drive, load, window_ms, divider)


@pytest.fixture
def store() -> Iterator[Store]:
    with Store.open(":memory:") as opened:
        yield opened


def test_the_link_and_every_part_sit_still_before_they_are_energised_and_not_much_longer(store: Store) -> None:
    board = Recorder()
    crate = Crate(store, parts(GOOD, OPEN), board).run()
    assert [bin for _, bin in crate.bins] == ["keep", "scrap"]
    assert len(board.first_s) == 3, "the link and two parts"
    assert all(STILL_S <= rested < STILL_S + PROMPT_S for rested in board.first_s)


def test_the_countdown_is_shown_beat_by_beat_and_nothing_can_be_started_by_a_key(store: Store) -> None:
    crate = Crate(store, parts(GOOD)).run()
    shown = [view for view in crate.views if view.stage is Stage.STILL and "Part 1" in view.sentence]
    assert [view.beats for view in shown] == [3, 2, 1]
    assert {view.word for view in shown} == {"HANDS OFF"} and not any(view.go for view in shown)
    assert all(Control.GO not in view.controls and Control.RETEST not in view.controls for view in shown)
    tested = next(view for view in crate.views if view.stage is Stage.TESTING)
    assert shown[-1].version + 1 == tested.version and tested.beats == 0


def test_a_part_that_nothing_can_see_waits_as_long_after_the_key(store: Store) -> None:
    dead = parts(OPEN)[0]
    unseen = dead.specimen.model_dump()
    unseen["faults"]["stuck"] = "operated"
    unseen["contact_no"]["film_ohm"], unseen["contact_no"]["film_breaks_v"] = 1e6, 30.0
    board, pressed_s = Recorder(), list[float]()

    def at_view(_crate: Crate, view: CrateView) -> None:
        if view.word == "PART IN?":
            pressed_s.append(board.elapsed())

    Crate(store, [type(dead)(Specimen.model_validate(unseen), "nothing conducts")], board, at_view=at_view).run()
    assert board.moved_s > pressed_s[0], "it was pulled in the end"
    assert board.first_s[-1] >= STILL_S


def test_a_second_test_by_the_key_waits_only_for_a_part_that_was_not_seen_still() -> None:
    """At once: a hand is still there. After seconds of rest, all of them looked at: nothing to wait for."""
    for patience_s, least_s, most_s in ((0.0, 1.0, STILL_S + PROMPT_S), (3.0, 0.0, 0.6)):
        board, asked_s, begun_s = Recorder(), list[float](), list[float]()

        def at_view(
            crate: Crate, view: CrateView, board: Recorder = board, asked_s: list[float] = asked_s,
            begun_s: list[float] = begun_s,
        ) -> None:  # fmt: skip
            if view.stage is Stage.TESTING and asked_s and not begun_s:
                begun_s.append(board.elapsed())

        with Store.open(":memory:") as own:
            crate = Crate(own, parts(OPEN), board, at_view=at_view)
            crate.hand.result_s = patience_s + 1.0
            wait = crate.hand.wait

            def waits(
                view: CrateView, seconds: float, wait: Callable[[CrateView, float], None] = wait, crate: Crate = crate,
                patience_s: float = patience_s, asked_s: list[float] = asked_s, board: Recorder = board,
            ) -> None:  # fmt: skip
                wait(view, seconds)
                if view.stage is Stage.RESULT and not asked_s and crate.hand._waited_s > patience_s:
                    asked_s.append(board.elapsed())
                    crate.sorter.press(Command(control=Control.RETEST))

            crate.hand.wait = waits  # type: ignore[method-assign]  # a hand that presses the key when it likes
            crate.run()
        assert least_s <= begun_s[0] - asked_s[0] <= most_s, (patience_s, begun_s, asked_s)


# --- a hand that cannot leave it alone ---


class Energised(Exception):
    """Where a part would have been energised; the crate ends here."""


class Ready(Recorder):
    """As the recorder, but the first request after the part was there ends the crate."""

    ready = False

    def energised(self) -> None:
        super().energised()
        if self.ready:
            raise Energised


WHOLE, OTHER = parts(GOOD)[0].specimen, parts("good-24v-changeover")[0].specimen
HALF = parts(OPEN)[0].specimen
"""As one of which the coil's blades do not touch yet."""
SEEN = {"in": WHOLE, "half in": HALF, "out": empty_socket().specimen, "another": OTHER}


class Fidgeting:
    """A hand that wiggles: each move lasts for so many looks, then the next one; at last it leaves the part alone."""

    def __init__(self, board: Ready, moves: list[tuple[str, int]]) -> None:
        self.press: Callable[[Command], str] = lambda _command: ""
        self._board, self._moves = board, iter([move for move, looks in moves for _ in range(looks)])
        self._now = "out"

    def wait(self, view: CrateView, seconds: float) -> None:
        self._board.wait(seconds)
        if view.word == "LINK":
            self.press(Command(control=Control.SKIP))
        if view.stage in (Stage.INSERT, Stage.STILL):
            self._board.ready = True
            self._put(next(self._moves, "in"))

    def _put(self, what: str) -> None:
        if what != self._now:
            self._now = what
            self._board.insert(SEEN[what])

    def specimen(self) -> tuple[str, int | None]:
        return "", SEED


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.sampled_from([*SEEN]), st.integers(1, 7)), max_size=8))
def test_however_a_hand_wiggles_nothing_is_energised_before_a_second_and_a_half(moves: list[tuple[str, int]]) -> None:
    board = Ready()
    hand = Fidgeting(board, moves)
    with Store.open(":memory:") as store, pytest.MonkeyPatch.context() as patch:
        patch.setattr(sort_check, "empty", lambda _board: "")
        setup = Setup("shed 2", LOAD("class-mini-12v-form-c"), LOAD, now=lambda: datetime.now(UTC))
        sorter = Sorter(board, store, setup, hand, lambda _view: None)
        hand.press = sorter.press
        with pytest.raises(Energised):
            sorter.run()
    assert board.rested_s[0] >= STILL_S
    assert board.rested_s[0] < STILL_S + PROMPT_S or any(looks > 4 for _, looks in moves)


# --- what a look can tell ---


def test_looks_at_a_part_that_sits_still_agree_and_a_clip_that_adds_three_ohms_does_not() -> None:
    with VirtualBoard(WHOLE, SEED) as board:
        rig = Rig.uncalibrated(board)
        first = look(rig)
        assert all(look(rig).unmoved(first) for _ in range(200))
        for ohm_percent in (-3.5, 3.5):  # of 86 ohm
            changed = WHOLE.model_dump()
            changed["faults"]["coil_ohm_percent"] = ohm_percent
            board.insert(Specimen.model_validate(changed))
            assert not look(rig).unmoved(first)


def test_the_count_begins_anew_with_every_look_that_differs() -> None:
    still, whole, half = Still(), Look(Contact.NC, 0.79e-3), Look(Contact.NC, 0.0)
    still.see(whole, 10.0)
    assert (still.beats, still.enough, still.moved) == (3, False, False)
    still.see(whole, 11.49)
    assert (still.beats, still.enough) == (1, False)
    still.see(half, 11.5)
    assert (still.beats, still.enough, still.moved) == (3, False, True)
    still.see(whole, 12.0)
    still.see(whole, 13.49)
    assert not still.enough
    still.see(whole, 13.51)
    assert still.enough and still.beats == 0
