"""One part gets one answer: all stock and thirty drawn parts through identify, test, demo and sort."""

import agree
import pytest

SEED, DRAWN = 5, 30


@pytest.mark.parametrize("heap", [agree.of_stock(), agree.draw(DRAWN, SEED)], ids=["stock", "drawn"])
def test_no_two_ways_contradict_each_other(heap: list[agree.Drawn]) -> None:
    assert len(heap) >= DRAWN
    answers = agree.ask(heap, SEED)
    assert [one for part, said in zip(heap, answers, strict=True) for one in agree.contradictions(part, said)] == []


def test_a_sentence_that_follows_every_scrap_is_seen() -> None:
    assert agree.commonest([("burnt", "scrap it"), ("welded", "scrap it"), ("late", "late")]) == ("scrap it", 2, 3)


def test_a_contradiction_is_seen() -> None:
    heap = agree.of_stock()
    good, welded = (next(one for one in heap if one.name == name) for name in ("good-12v-changeover", "welded-no"))
    of_good, of_welded = agree.ask([good, welded], SEED)
    mixed = agree.Answers(of_good.identified, of_good.tested, of_welded.demo, of_welded.placed)
    told = " ".join(agree.contradictions(good, mixed))
    assert "two tests say fail and pass" in told and "in the crate scrap" in told
