"""Statements about sorting a crate on the virtual bench: what is shown, what is kept, what a key does."""

from collections.abc import Callable, Iterator

import pytest
from crates import BURNT, BURNT_NC, GOOD, OPEN, SEED, Crate, parts

from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.jobs.sort import wait
from pulldrop.jobs.sort.hand import SortingHand
from pulldrop.model.crate.crate import Bin, Command, Control, CrateView, Stage
from pulldrop.plant.bench import instruments
from pulldrop.plant.specimen import Specimen
from pulldrop.store import Store


@pytest.fixture
def store() -> Iterator[Store]:
    with Store.open(":memory:") as opened:
        yield opened


def once(when: Callable[[CrateView], bool], control: Control, text: str = "") -> Callable[[Crate, CrateView], None]:
    """Press a key at the first view of which something holds."""
    done: list[int] = []

    def press(crate: Crate, view: CrateView) -> None:
        if not done and when(view):
            done.append(view.version)
            crate.sorter.press(Command(control=control, text=text, seen=view.version))

    return press


def result_of(number: int) -> Callable[[CrateView], bool]:
    return lambda view: view.stage is Stage.RESULT and view.number == number and view.bin is not None


def asked_for(number: int) -> Callable[[CrateView], bool]:
    return lambda view: view.word == "INSERT" and view.number == number


# --- the flow ---


def test_each_part_goes_into_its_bin_with_a_number_and_a_reason(store: Store) -> None:
    crate = Crate(store, parts(GOOD, BURNT, OPEN, BURNT_NC)).run()
    assert crate.bins == [(1, "keep"), (2, "scrap"), (3, "scrap"), (4, "light duty")]
    assert crate.tally == {"keep": 1, "light duty": 1, "scrap": 2, "look again": 0}
    assert [one.bin for one in crate.views[-1].last] == [Bin.LIGHT_DUTY, Bin.SCRAP, Bin.SCRAP, Bin.KEEP]
    assert all(one.reasons and one.run for one in crate.views[-1].last)
    causes = [one.cause and (one.cause.about, one.cause.id) for one in crate.sorter.parts]
    assert causes == [None, ("fault", "burnt_no"), ("fault", "coil_open"), None]
    assert crate.views[-1].stage is Stage.ENDED


def test_the_coil_current_is_shown_while_the_test_goes_on(store: Store) -> None:
    crate = Crate(store, parts(GOOD, OPEN)).run()
    whole = [view for view in crate.views if view.number == 1 and view.stage in (Stage.TESTING, Stage.RESULT)]
    seen = [view.picture for view in whole]
    assert seen[0] is None and seen[-2] is not None and seen[-1] is not None
    assert 0.1 < max(seen[-1].current_a) < 0.2
    assert {"NO", "NC"} == {throw for _, throw, _ in seen[-1].edges}
    dead = [view.picture for view in crate.views if view.number == 2 and view.stage is Stage.RESULT]
    assert dead and not any(dead), "an open coil is not switched on, and no picture of another part stays"


def test_the_bench_is_checked_before_the_first_part(store: Store) -> None:
    crate = Crate(store, parts(GOOD)).run()
    assert crate.words(Stage.CHECK) == ["CHECK", "LINK", "LINK OUT"]


def test_a_corroded_link_stops_the_crate_with_the_reason(store: Store) -> None:
    def corroded(crate: Crate, view: CrateView) -> None:
        metal = {"bulk_mohm": 8.0, "pitting_mohm": 0.0}
        given = instruments.Garage(SEED).link().model_dump() | {"contact_no": metal}
        crate.hand._link = type(crate.hand._link)(Specimen.model_validate(given), "a corroded link")

    crate = Crate(store, parts(GOOD), at_view=corroded).run()
    assert crate.words(Stage.STOPPED) == ["STOPPED"]
    assert "Clean the clips" in next(view.sentence for view in crate.views if view.stage is Stage.STOPPED)
    assert crate.bins == []


def test_a_part_starts_by_itself_and_one_that_nothing_can_see_by_the_key(store: Store) -> None:
    dead = parts(OPEN)[0]
    given = dead.specimen.model_dump()
    given["faults"]["stuck"] = "operated"
    given["contact_no"]["film_ohm"], given["contact_no"]["film_breaks_v"] = 1e6, 30.0
    blind = type(dead)(Specimen.model_validate(given), "nothing conducts")
    crate = Crate(store, [blind, *parts(GOOD)]).run()
    assert crate.bins == [(1, "scrap"), (2, "keep")]
    assert any(view.go == "the part is out" for view in crate.views if view.number == 1)
    assert all(view.go == "" for view in crate.views if result_of(2)(view))


def test_what_must_not_be_energised_is_looked_at_again_with_the_sentence(store: Store) -> None:
    crate = Crate(store, parts("exchanged-layout")).run()
    assert crate.bins == [(1, "look again")]
    placed = crate.views[-1].last[0]
    assert placed.run == "" and "30 and 86 have changed places" in placed.reasons[0]


def test_a_relay_for_another_voltage_is_not_scrapped(store: Store) -> None:
    assert Crate(store, parts("good-24v-changeover")).run().bins == [(1, "look again")]


def test_a_part_that_shows_no_nc_is_not_scrapped_for_it(store: Store) -> None:
    crate = Crate(store, parts("good-12v-normally-open")).run()
    assert crate.bins == [(1, "look again")]
    assert "not pushed home" in crate.views[-1].last[0].reasons[0]


def test_the_key_on_an_empty_socket_makes_no_part_of_nothing(store: Store) -> None:
    go = once(asked_for(1), Control.GO)
    no = once(lambda view: view.word == "PART IN?", Control.NO)
    crate = Crate(store, [], at_view=lambda crate, view: (go(crate, view), no(crate, view))[0]).run()
    assert crate.words(Stage.QUESTION) == ["PART IN?"] and crate.sorter.parts == ()


def test_a_question_that_nobody_answers_closes_and_makes_no_part(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(wait, "ALONE_S", 5.0)
    monkeypatch.setattr(SortingHand, "_answer", lambda *_: None)
    crate = Crate(store, [], at_view=once(asked_for(1), Control.GO)).run()
    assert crate.words(Stage.QUESTION) == ["PART IN?"] and crate.sorter.parts == ()
    assert crate.views[-1].stage is Stage.ENDED, "the hand went on at the next view"


def test_a_part_that_is_still_in_the_socket_at_the_end_counts_as_sorted(store: Store) -> None:
    crate = Crate(store, parts(GOOD))
    crate.hand.result_s = 60.0

    def ends(_seconds: float) -> None:
        if crate.views[-1].stage is Stage.RESULT:
            crate.hand.press(Command(control=Control.END))

    crate.hand.sleep = ends
    assert crate.run().bins == [(1, "keep")] and crate.tally["keep"] == 1


# --- keys ---


def test_undo_takes_the_last_part_out_of_its_bin_and_its_number_is_free_again(store: Store) -> None:
    crate = Crate(store, parts(GOOD, BURNT), at_view=once(asked_for(2), Control.UNDO))
    crate.run()
    assert [one.number for one in crate.sorter.parts] == [1], "the part that was undone is not inserted again"
    assert crate.sorter.parts[0].bin is Bin.SCRAP
    assert any("Number 1 (keep) is undone" in " ".join(view.reasons) for view in crate.views)


def test_undo_while_the_part_is_in_the_socket_and_testing_it_again_gives_it_the_same_number(store: Store) -> None:
    undo = once(result_of(1), Control.UNDO)
    again = once(lambda view: view.word == "UNDONE", Control.RETEST)
    crate = Crate(store, parts(GOOD), at_view=lambda crate, view: (undo(crate, view), again(crate, view))[0]).run()
    assert crate.bins == [(1, "keep")] and crate.tally["keep"] == 1


def test_a_retest_replaces_the_result_and_counts_the_part_once(store: Store) -> None:
    crate = Crate(store, parts(GOOD, BURNT), at_view=once(result_of(1), Control.RETEST)).run()
    assert crate.bins == [(1, "keep"), (2, "scrap")]
    assert crate.tally["keep"] == 1 and len(store.runs(crate.sorter.parts[0].part)) == 2


def test_a_skipped_part_has_a_number_and_is_looked_at_again(store: Store) -> None:
    crate = Crate(store, parts(GOOD), at_view=once(asked_for(1), Control.SKIP)).run()
    assert [(one.number, one.bin) for one in crate.sorter.parts] == [(1, Bin.LOOK_AGAIN), (2, Bin.KEEP)]
    assert crate.sorter.parts[0].reasons == ("skipped, not tested",)


def test_a_note_stays_with_the_last_part(store: Store) -> None:
    crate = Crate(store, parts(GOOD, BURNT), at_view=once(asked_for(2), Control.NOTE, "blue case")).run()
    assert [one.note for one in crate.sorter.parts] == ["blue case", ""]


def test_a_note_begun_for_a_part_reaches_it_while_the_next_one_is_tested(store: Store) -> None:
    refused: list[str] = []

    def late(crate: Crate, view: CrateView) -> None:
        if view.stage is Stage.TESTING and view.number == 2 and not refused:
            note = Command(control=Control.NOTE, text="blue case", seen=view.version, number=1)
            refused.append(crate.sorter.press(note))

    crate = Crate(store, parts(GOOD, OPEN), at_view=late).run()
    assert refused == [""] and [one.note for one in crate.sorter.parts] == ["blue case", ""]


def test_a_note_for_a_part_that_was_undone_meanwhile_goes_to_no_other_part_and_that_is_told(store: Store) -> None:
    def undo(crate: Crate, view: CrateView) -> None:
        if result_of(2)(view) and not any(one.word == "UNDONE" for one in crate.views):
            crate.sorter.press(Command(control=Control.UNDO, seen=view.version))
            crate.sorter.press(Command(control=Control.NOTE, text="blue case", seen=view.version, number=2))

    crate = Crate(store, parts(GOOD, OPEN), at_view=undo).run()
    assert [one.note for one in crate.sorter.parts] == ["", ""]
    told = "Number 2 was undone meanwhile, so its note is not kept: blue case"
    assert any(told in view.reasons for view in crate.views)


def test_another_rating_holds_from_then_on_and_after_a_new_start(store: Store) -> None:
    change = once(asked_for(1), Control.RATING, "class-mini-12v-form-a")
    crate = Crate(store, parts("good-12v-normally-open"), at_view=change).run()
    assert crate.bins == [(1, "keep")] and crate.views[-1].rating == "class-mini-12v-form-a"
    assert Crate(store, []).run().views[-1].rating == "class-mini-12v-form-a"


def test_a_rating_that_is_not_there_is_told_and_changes_nothing(store: Store) -> None:
    crate = Crate(store, parts(GOOD), at_view=once(asked_for(1), Control.RATING, "class-maxi")).run()
    assert any("no rating 'class-maxi'" in " ".join(view.reasons) for view in crate.views)
    assert crate.bins == [(1, "keep")]


def test_a_key_for_a_screen_that_is_gone_is_refused(store: Store) -> None:
    refused: list[str] = []

    def late(crate: Crate, view: CrateView) -> None:
        if asked_for(2)(view) and not refused:
            seen = next(view.version for view in crate.views if result_of(1)(view))
            refused.append(crate.sorter.press(Command(control=Control.UNDO, seen=seen)))
            refused.append(crate.sorter.press(Command(control=Control.RETEST)))
            refused.append(crate.sorter.press(Command(control=Control.UNDO, seen=view.version + 1000)))

    crate = Crate(store, parts(GOOD, BURNT), at_view=late).run()
    assert "moved on" in refused[0] and refused[1] == "'retest' does nothing now."
    assert "moved on" in refused[2], "a screen that nobody has drawn yet"
    assert crate.bins == [(1, "keep"), (2, "scrap")]


# --- never wrong ---


def like_a_used_one(coil_percent: float, spring_percent: float) -> VirtualPart:
    """A sound part that differs from its like as parts of one crate do."""
    given = parts(GOOD)[0].specimen.model_dump()
    given["faults"] |= {"coil_ohm_percent": coil_percent, "return_spring_percent": spring_percent}
    return VirtualPart(Specimen.model_validate(given), f"coil {coil_percent} %, spring {spring_percent} %")


def test_the_same_part_twice_is_noticed_asked_and_counted_once(store: Store) -> None:
    twice = like_a_used_one(-6.0, 92.0)
    others = [like_a_used_one(*one) for one in ((3.0, 110.0), (7.0, 95.0), (-2.0, 104.0), (0.5, 99.0))]
    crate = Crate(store, [twice, *others, twice]).run()
    question = next(view for view in crate.views if view.stage is Stage.QUESTION and view.number == 6)
    assert "It looks like number 1: odds" in question.sentence and Control.NO in question.controls
    assert sum(crate.tally.values()) == 5 and [one.number for one in crate.sorter.parts] == [1, 2, 3, 4, 5]
    assert crate.sorter.parts[0].same_as == 1


def test_a_part_that_only_looks_like_another_gets_a_number_of_its_own(store: Store) -> None:
    crate = Crate(store, parts(GOOD, GOOD)).run()
    assert crate.words(Stage.QUESTION) == ["NUMBER 1?"]
    assert crate.bins == [(1, "keep"), (2, "keep")]


def test_of_scrap_nobody_needs_to_know_whether_it_comes_again(store: Store) -> None:
    crate = Crate(store, parts(OPEN, GOOD)).run()
    dead, sound = (next(view.sentence for view in crate.views if result_of(number)(view)) for number in (1, 2))
    assert dead.startswith("Write 1 on it, put it in the SCRAP box. Coil and load are off.")
    assert sound.startswith("Write 2 on it, put it in the KEEP box. Coil and load are off.")


def test_a_new_start_goes_on_with_the_next_number(store: Store) -> None:
    Crate(store, parts(GOOD, BURNT)).run()
    crate = Crate(store, parts(OPEN)).run()
    assert crate.bins == [(3, "scrap")] and sum(crate.tally.values()) == 3


# --- the golden part ---
