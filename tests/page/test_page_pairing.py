"""Who becomes a controller: those who read the code off the bench, and nobody by guessing."""

from pulldrop.page.pairing import CONTROLLERS, LOCKED_S, WRONG_CODES, Paired, Pairing, PairingAnswer


class Clock:
    now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


def wrong(pairing: Pairing) -> str:
    return "000000" if pairing.code != "000000" else "000001"


def test_the_code_makes_a_controller_and_each_has_its_own_key() -> None:
    pairing = Pairing(print)
    first, second = pairing.offer(pairing.code), pairing.offer(f" {pairing.code[:3]} {pairing.code[3:]} ")
    assert first.answer is second.answer is PairingAnswer.PAIRED
    assert first.key != second.key
    assert pairing.knows(first.key) and pairing.knows(second.key)


def test_a_wrong_code_or_a_made_up_key_makes_none() -> None:
    pairing = Pairing(print)
    for code in (wrong(pairing), "", "ünsinn", pairing.code + "1"):
        assert pairing.offer(code) == Paired(PairingAnswer.WRONG)
    assert not pairing.knows(None) and not pairing.knows("") and not pairing.knows("ü" * 32)


def test_after_a_few_wrong_codes_the_right_one_is_refused_too_and_changes() -> None:
    clock, told = Clock(), list[str]()
    pairing = Pairing(told.append, clock)
    old = pairing.code
    for _ in range(WRONG_CODES):
        assert pairing.offer(wrong(pairing)).answer is PairingAnswer.WRONG
    assert told == [pairing.code] and pairing.code != old
    assert pairing.offer(pairing.code).answer is PairingAnswer.LOCKED
    clock.now_s += LOCKED_S - 1
    assert pairing.offer(pairing.code).answer is PairingAnswer.LOCKED
    clock.now_s += 1
    assert pairing.offer(old).answer is PairingAnswer.WRONG
    assert pairing.offer(pairing.code).answer is PairingAnswer.PAIRED


def test_a_locked_door_leaves_the_controllers_inside() -> None:
    pairing = Pairing(lambda _code: None)
    key = pairing.offer(pairing.code).key
    for _ in range(WRONG_CODES):
        pairing.offer(wrong(pairing))
    assert pairing.knows(key)


def test_the_oldest_controller_gives_way() -> None:
    pairing = Pairing(print)
    keys = [pairing.offer(pairing.code).key for _ in range(CONTROLLERS + 1)]
    assert [pairing.knows(key) for key in keys] == [False] + [True] * CONTROLLERS


def test_only_the_bench_key_opens_the_benchs_link() -> None:
    pairing = Pairing(print)
    assert pairing.offer_bench_key(pairing.code).answer is PairingAnswer.WRONG
    assert pairing.knows(pairing.offer_bench_key(pairing.bench_key).key)
