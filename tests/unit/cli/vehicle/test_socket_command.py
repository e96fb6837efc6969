"""`pulldrop socket`: questions first, refusals, cautions once a day, the verdict's screen; SIMULATED where it is."""

from datetime import date
from pathlib import Path

import pytest

from pulldrop.cli.main import main
from pulldrop.jobs.vehicle import cautioned, refusals
from pulldrop.model.vehicle.answers import SocketAnswers
from pulldrop.model.wording.cautions import BEFORE_A_HUNT, ON_A_VEHICLE

SOCKET = ["socket", "--board", "virtual-bare", "--vehicle"]


def test_a_dead_ground_is_named_with_its_cavity_its_number_and_where_to_probe(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*SOCKET, "heritage-bus-12", "--log", str(tmp_path / "log.jsonl")]) == 1
    out = " ".join(capsys.readouterr().out.split())
    assert out.count("SIMULATED") == 2, "at the beginning, and beside the verdict"
    assert "Ground at cavity 85" in out or "ground at cavity 85" in out
    assert "Follow its wire to the ring" in out and "Checked under a bulb" in out
    assert "Airbag" in out and "licensed practice decide" in out


def test_a_sound_socket_ends_with_0_and_the_relay_comes_next(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*SOCKET, "coach-21", "--log", str(tmp_path / "log.jsonl")]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "the relay itself comes next" in out and "lamps in the ground's way are not excluded" in out


@pytest.mark.parametrize(
    ("answer", "says"),
    [
        ("special=airbag or belt tensioner", "Airbag and belt-tensioner wiring: no clip"),
        ("special=high voltage, orange cable", "high voltage: stop"),
        ("earth=plus", "Positive earth is not drawn"),
        ("insulated=yes", "insulated return is not drawn"),
        ("isolator=open", "isolator is open"),
        ("load=a gas-discharge lamp", "gas-discharge"),
        ("load=something that moves, heats, pumps, opens or brakes", "not for what moves or heats"),
        ("alone=no", "Unplug the charger"),
    ],
)
def test_what_is_refused_is_refused_before_a_clip_is_asked_for(
    answer: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*SOCKET, "coach-21", "--answer", answer, "--log", str(tmp_path / "log.jsonl")]) == 3
    out = capsys.readouterr().out
    assert says in " ".join(out.split()) and "X6" not in out and not (tmp_path / "log.jsonl").exists()


def test_every_choice_is_an_answer() -> None:
    assert refusals.QUESTIONS[0][0] == "special", "airbag and high voltage come first"
    usual = {name: choices[0] for name, _, choices in refusals.QUESTIONS}
    assert not refusals.refused(refusals.answered(usual))
    assert {name for name, _, _ in refusals.QUESTIONS} == set(SocketAnswers.model_fields)
    for name, _, choices in refusals.QUESTIONS:
        for choice in choices:
            refusals.answered({**usual, name: choice})


@pytest.mark.parametrize("answer", ["earth=chassis", "colour=red", "system_v=36"])
def test_an_answer_that_is_none_is_an_input_error(answer: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*SOCKET, "coach-21", "--answer", answer]) == 2
    assert "is none" in capsys.readouterr().err


def test_24_v_said_to_be_12_is_a_sentence_and_no_verdict(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*SOCKET, "heritage-bus-12", "--answer", "system_v=12", "--log", str(tmp_path / "log.jsonl")]) == 3
    said = capsys.readouterr()
    assert "that is a 24 V vehicle" in said.err and "Next:" not in said.out


def test_all_dead_is_sent_to_what_is_shared_first(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main([*SOCKET, "coach-21", "--answer", "dead=all", "--log", str(tmp_path / "log.jsonl")])
    assert "look first at what they share" in capsys.readouterr().out


def test_cautions_are_confirmed_once_a_day_and_kept(tmp_path: Path) -> None:
    today, next_day = date(2026, 11, 30), date(2026, 12, 1)
    assert not cautioned.confirmed(ON_A_VEHICLE, today, tmp_path)
    cautioned.confirm(ON_A_VEHICLE, today, tmp_path)
    assert not cautioned.confirmed(BEFORE_A_HUNT, today, tmp_path), "these were not read"
    assert cautioned.confirmed(ON_A_VEHICLE, today, tmp_path) and not cautioned.confirmed(
        ON_A_VEHICLE, next_day, tmp_path
    )
    (tmp_path / "vehicles" / "confirmed.jsonl").write_text("no JSON\n")
    assert not cautioned.confirmed(ON_A_VEHICLE, today, tmp_path), "what cannot be read is asked for again"
