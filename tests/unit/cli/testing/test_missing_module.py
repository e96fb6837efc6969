"""On an evening board without one of its modules each command ends with exit 4, no verdict, and says where to look."""

import pytest
from broken_bench.boards import WithoutMeter

from pulldrop.board.virtual import evening
from pulldrop.cli.main import main
from pulldrop.measure.self_test.empty import MODULE_MISSING

PART = ("--specimen", "good-12v-changeover")
MOVE_ENERGY = {
    "test": ("test", *PART),
    "test, quick": ("test", "--protocol", "relay-quick", "--rating", "class-mini-12v-form-c", *PART),
    "identify": ("identify", *PART),
    "pair": ("pair", "--rating", "fuse-regular-10a"),
}
"""All that this build drives for a part in the socket; it looks at no pair of a switch, with or without the module."""


def joined(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def without_meter(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(evening, "EveningBoard", WithoutMeter)


@pytest.mark.usefixtures("without_meter")
@pytest.mark.parametrize("command", MOVE_ENERGY.values(), ids=MOVE_ENERGY)
def test_without_its_current_meter_each_command_ends_as_bench_trouble_and_says_where_to_look(
    command: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    code = main([*command, "--board", "virtual-evening", "--store", ":memory:"])
    told = capsys.readouterr()
    said = joined(told.out + told.err)
    assert code == 4
    assert "did not answer in time" in said and "pulldrop board self-test" in said
    assert "PASS" not in said and "FAIL" not in said and "Traceback" not in said


@pytest.mark.usefixtures("without_meter")
def test_its_self_test_names_the_module_and_its_address(capsys: pytest.CaptureFixture[str]) -> None:
    code = main(["board", "self-test", "--board", "virtual-evening"])
    said = joined(capsys.readouterr().out)
    assert code == 4 and joined(MODULE_MISSING) in said and "NOT well" in said
