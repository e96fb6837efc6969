"""Who becomes a controller: those who read the code off the bench, and nobody by guessing."""

from pulldrop.page.pairing import (
    ADDRESSES,
    CONTROLLERS,
    LOCKED_S,
    WRONG_CODES,
    WRONG_IN_ALL,
    Paired,
    Pairing,
    PairingAnswer,
)  # fmt: skip


class Clock:
    now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


def wrong(pairing: Pairing) -> str:
    return "000000" if pairing.code != "000000" else "000001"


def test_the_code_makes_a_controller_and_each_has_its_own_key() -> None:
    pairing = Pairing(print)
    first, second = pairing.offer(pairing.code, ""), pairing.offer(f" {pairing.code[:3]} {pairing.code[3:]} ", "")
    assert first.answer is second.answer is PairingAnswer.PAIRED
    assert first.key != second.key
    assert pairing.knows(first.key) and pairing.knows(second.key)


def test_a_wrong_code_or_a_made_up_key_makes_none() -> None:
    pairing = Pairing(print)
    for code in (wrong(pairing), "", "ünsinn", pairing.code + "1"):
        assert pairing.offer(code, "") == Paired(PairingAnswer.WRONG)
    assert not pairing.knows(None) and not pairing.knows("") and not pairing.knows("ü" * 32)


def test_after_a_few_wrong_codes_an_address_gets_no_answer_for_longer_each_time_and_others_do() -> None:
    clock, said = Clock(), list[str]()
    pairing = Pairing(said.append, clock)
    for lock_s in (LOCKED_S, 2 * LOCKED_S, 4 * LOCKED_S):
        for _ in range(WRONG_CODES):
            assert pairing.offer(wrong(pairing), "10.0.0.7").answer is PairingAnswer.WRONG
        clock.now_s += lock_s - 1
        assert pairing.offer(pairing.code, "10.0.0.7").answer is PairingAnswer.LOCKED
        assert pairing.offer(pairing.code, "10.0.0.8").answer is PairingAnswer.PAIRED
        clock.now_s += 1
    assert pairing.offer(pairing.code, "10.0.0.7").answer is PairingAnswer.PAIRED
    assert said == []


def test_after_many_wrong_codes_from_everywhere_the_code_is_another() -> None:
    said = list[str]()
    pairing = Pairing(said.append, Clock())
    old = pairing.code
    for number in range(WRONG_IN_ALL):
        assert pairing.code == old
        pairing.offer(wrong(pairing), f"10.0.0.{number}")
    assert said == [pairing.code] and pairing.code != old
    assert pairing.offer(old, "10.0.1.1").answer is PairingAnswer.WRONG


def test_addresses_without_end_are_forgotten_again() -> None:
    pairing = Pairing(print, Clock())
    for number in range(ADDRESSES + 10):
        pairing.offer(wrong(pairing), f"fe80::{number:x}")
    assert len(pairing._guessers) == ADDRESSES


def test_a_locked_door_leaves_the_controllers_inside() -> None:
    pairing = Pairing(lambda _code: None)
    key = pairing.offer(pairing.code, "").key
    for _ in range(WRONG_CODES):
        pairing.offer(wrong(pairing), "")
    assert pairing.knows(key)


def test_the_oldest_controller_gives_way() -> None:
    pairing = Pairing(print)
    keys = [pairing.offer(pairing.code, "").key for _ in range(CONTROLLERS + 1)]
    assert [pairing.knows(key) for key in keys] == [False] + [True] * CONTROLLERS


def test_only_the_bench_key_opens_the_benchs_link() -> None:
    pairing = Pairing(print)
    assert pairing.offer_bench_key(pairing.code).answer is PairingAnswer.WRONG
    assert pairing.knows(pairing.offer_bench_key(pairing.bench_key).key)
