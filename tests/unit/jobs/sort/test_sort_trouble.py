"""A crate in trouble: a part pulled amid its test, a cable that comes out, the emergency stop, a bench that drifts."""

from collections.abc import Iterator

import pytest
from crates import BURNT, GOOD, OPEN, SEED, Crate, parts
from test_sort import asked_for

from pulldrop.board.contract import Trip
from pulldrop.board.errors import BoardLost, NoBoard, Refused, Tripped, WrongBoard
from pulldrop.board.request_types import Drive, Pulse
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs import back
from pulldrop.jobs.parts.golden import mark
from pulldrop.jobs.run.specimens import empty_socket
from pulldrop.jobs.sort.hand import Heap
from pulldrop.model.crate.crate import CrateView, Stage
from pulldrop.model.raw import Capture, Contact, PulseCounts
from pulldrop.model.verdict import Overall
from pulldrop.plant.specimen import Specimen
from pulldrop.store import Store


@pytest.fixture
def store() -> Iterator[Store]:
    with Store.open(":memory:") as opened:
        yield opened


class Pulled(VirtualBoard):
    """A board from which somebody pulls the part at a moment of bench time, and may put another one in."""

    at_s = 1e9
    instead: Specimen | None = None

    def step_coil(self, drive: Drive, window_ms: int, divider: int, low_side: bool = False) -> Capture:
        if self.elapsed() > self.at_s:
            self.at_s = 1e9
            self.plant.insert(self.instead or empty_socket().specimen)
        return super().step_coil(drive, window_ms, divider, low_side)


def test_a_part_pulled_during_its_test_is_void_and_keeps_its_turn(store: Store) -> None:
    board = Pulled(empty_socket().specimen, SEED)

    def pull(crate: Crate, view: CrateView) -> None:
        if view.stage is Stage.TESTING and view.number == 2 and not crate.words(Stage.RESULT).count("VOID"):
            board.at_s = board.elapsed() + 0.1

    crate = Crate(store, parts(GOOD, GOOD, BURNT), board, at_view=pull).run()
    assert crate.words(Stage.RESULT).count("VOID") == 1
    assert crate.bins == [(1, "keep"), (2, "keep"), (3, "scrap")]
    ended = [line.overall for part in store.parts() for line in store.runs(part.part.id)]
    assert ended.count(Overall.INTERRUPTED) == 1, "the void test is kept as what it is"


class Unplugged(VirtualBoard):
    """A board of which the cable comes out in the middle of a test."""

    after = 1e9

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        if self.elapsed() > self.after:
            raise BoardLost("The line to the board broke (invented).")
        return super().load_pulse(pulse)


def test_a_cable_that_comes_out_ends_the_work_and_a_new_start_tests_the_part_again(store: Store) -> None:
    board = Unplugged(empty_socket().specimen, SEED)

    def unplug(crate: Crate, view: CrateView) -> None:
        if view.stage is Stage.TESTING and view.number == 2:
            board.after = 0.0

    crate = Crate(store, parts(GOOD, BURNT), board, at_view=unplug)
    with pytest.raises(BoardLost):
        crate.run()
    assert crate.words(Stage.STOPPED) == ["BOARD GONE"] and crate.bins == [(1, "keep")]
    again = Crate(store, parts(BURNT)).run()
    assert again.bins == [(2, "scrap")] and sum(again.tally.values()) == 2


def test_a_real_board_that_comes_back_is_opened_again_and_the_part_is_tested_anew(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    class ComesBack(Unplugged):
        tries = 0

        def reopen(self) -> None:
            ComesBack.tries += 1
            if ComesBack.tries == 1:
                raise NoBoard("There is no port (invented).")
            if ComesBack.tries == 2:
                raise WrongBoard("Another board is there (invented).")
            if ComesBack.tries == 3:
                raise Refused("bus", "Its coil supply is silent (invented).")
            self.after = 1e9
            super().reopen()

    monkeypatch.setattr(back, "BACK_S", 0.0)
    board = ComesBack(empty_socket().specimen, SEED)
    board.identity = board.identity.model_copy(update={"kind": "real"})

    def unplug(crate: Crate, view: CrateView) -> None:
        if view.stage is Stage.TESTING and view.number == 2 and not ComesBack.tries:
            board.after = 0.0

    crate = Crate(store, parts(GOOD, BURNT), board, at_view=unplug).run()
    said = [view.sentence for view in crate.views if view.word == "BOARD GONE"]
    assert "Plug it in again" in said[0]
    assert said[1:] == ["Another board is there (invented).", "Its coil supply is silent (invented)."]
    assert crate.words(Stage.CHECK).count("LINK") == 2, "the bench is checked again"
    assert crate.bins == [(1, "keep"), (2, "scrap")]


def test_the_emergency_stop_stops_the_crate_until_it_is_released(store: Store) -> None:
    def stop(crate: Crate, view: CrateView) -> None:
        if asked_for(2)(view):
            crate.board.open_stop()

    crate = Crate(store, parts(GOOD, BURNT), at_view=stop).run()
    assert crate.words(Stage.STOPPED) == ["STOPPED"] and crate.bins == [(1, "keep")]
    assert Crate(store, parts(BURNT)).run().bins == [(2, "scrap")]


def test_a_part_that_makes_the_bench_switch_off_is_looked_at_again(store: Store) -> None:
    class Trips(VirtualBoard):
        def load_pulse(self, pulse: Pulse) -> PulseCounts:
            if pulse.branches and pulse.throw is Contact.NC:
                raise Tripped(Trip.OVER_CURRENT, "The coil took too much current (invented).")
            return super().load_pulse(pulse)

    crate = Crate(store, parts(GOOD), Trips(empty_socket().specimen, SEED)).run()
    assert crate.bins == [(1, "look again")]
    assert "made the bench switch off" in crate.views[-1].last[0].reasons[0]


def golden_part(store: Store) -> str:
    """A part that is marked as golden on a calibrated bench: the first one of a crate."""
    from pulldrop.jobs.calibrate.virtual import calibrate_board

    board = VirtualBoard(empty_socket().specimen, SEED)
    store.add_calibration(calibrate_board(board, SEED))
    board.insert(empty_socket().specimen)
    first = Crate(store, parts(GOOD), board)
    first.run()
    id = first.sorter.parts[0].part
    mark(store, id, first.sorter.parts[0].at)
    return id


def test_a_golden_part_is_asked_for_every_25_parts_and_is_no_part_of_the_crate(store: Store) -> None:
    id = golden_part(store)
    heap = Heap(parts(*[OPEN] * 25, GOOD), golden={id: parts(GOOD)[0]})
    crate = Crate(store, [], heap=heap).run()
    assert [view.golden for view in crate.views if view.word == "GOLDEN PART"] == [id]
    assert "BENCH IS WELL" in crate.words(Stage.RESULT)
    assert len(crate.sorter.parts) == 27


def test_drift_of_the_golden_part_stops_the_crate_with_the_reason(store: Store) -> None:
    id = golden_part(store)
    changed = parts("good-12v-micro")[0]
    crate = Crate(store, [], heap=Heap(parts(*[OPEN] * 25, GOOD), golden={id: changed})).run()
    stopped = [view.sentence for view in crate.views if view.stage is Stage.STOPPED]
    assert stopped and "is a golden part, and its readings differ" in stopped[0]
    assert len(crate.sorter.parts) == 25


def test_a_missing_golden_part_is_told_once(store: Store) -> None:
    crate = Crate(store, parts(OPEN, OPEN)).run()
    told = [view.number for view in crate.views if any("No golden part is marked" in one for one in view.reasons)]
    assert told == [1]
