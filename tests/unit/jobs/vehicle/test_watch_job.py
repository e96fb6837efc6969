"""A watch on a simulated vehicle: what it finds is kept before it is shown, and a board that goes comes back."""

import json
from pathlib import Path

import pytest

from pulldrop.board.errors import BoardLost
from pulldrop.board.virtual.lead import LeadBoard
from pulldrop.jobs.vehicle import boards
from pulldrop.jobs.vehicle.level import level
from pulldrop.jobs.vehicle.log import Log, LogTrouble
from pulldrop.jobs.vehicle.watch import Watch, Watched
from pulldrop.judge.socket.levels import Change
from pulldrop.judge.socket.losses import Loss
from pulldrop.measure.lead import LeadRig
from pulldrop.model.vehicle.lead import Clip, LeadPlace

BUS = boards.vehicle("heritage-bus-12")
NAMES: dict[Clip, str] = {"X2": "feed", "X3": "trigger"}


def levelled(board: LeadBoard, worked: bool = False) -> LeadRig:
    rig, hand = LeadRig(board), boards.simulated_hand(board.plant)
    level(rig, hand, lambda text: pytest.fail(text))
    hand(LeadPlace(says="", clips={"X1": "plus", "X2": "30", "X3": "86", "X4": "85"}, worked=worked))
    return rig


def lines(path: Path) -> list[dict[str, object]]:
    return [json.loads(line) for line in path.read_text().splitlines()]


def test_every_change_is_in_the_log_before_it_is_shown(tmp_path: Path) -> None:
    board, shown = LeadBoard(BUS, 3), list[str]()
    rig = levelled(board)
    boards.stage(board.plant, 0.8, 2)
    with Log(tmp_path / "watch.jsonl", "watch", board.identity, "bus") as log:

        def tell(_: Watched, clip: Clip | None, what: Change | Loss | None) -> None:
            if clip and isinstance(what, Change):
                assert lines(log.path)[-1]["word"] == what.word
                shown.append(f"{clip} {what.word}")

        seen = Watch(rig, NAMES, log, tell, until_s=2.5).run()
    assert shown == ["X3 OFF", "X2 ON", "X3 ON", "X3 OFF"]
    kept = lines(log.path)
    assert kept[0]["simulated"] is True and kept[0]["vehicle"] == "bus"
    assert sum("readings" in line for line in kept) >= 3 and kept[-1]["readings"] == seen.readings > 1000


def test_a_loose_joint_is_filed_under_the_place_that_is_moved(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pulldrop.judge.socket.losses.QUIET_S", 0.5)
    board = LeadBoard(BUS, 4)
    rig, told = levelled(board, worked=True), list[Loss]()
    boards.loosen(board.plant, "fuse 7", (0.9,), 4e-3)
    with Log(tmp_path / "wiggle.jsonl", "wiggle", board.identity, "bus") as log:
        tell = lambda _, __, what: told.append(what) if isinstance(what, Loss) else None  # noqa: E731
        Watch(rig, {"X2": "feed"}, log, tell, place=lambda: "fuse box", until_s=1.3).run()
    (loss,) = told
    assert loss.place == "fuse box" and loss.depth > 0.05 and 2e-3 < loss.seconds < 15e-3
    assert [line["place"] for line in lines(log.path) if "loss" in line] == ["fuse box"]


def test_a_board_that_goes_is_stale_and_goes_on_where_it_comes_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    board = LeadBoard(BUS, 5)
    rig, stale, gone = levelled(board), list[str](), [3]
    wait, reopen = board.wait, board.reopen

    def pause(seconds: float) -> None:
        if gone[0] == 3 and board.elapsed() > 1.0:
            gone[0] = 2
            raise BoardLost("The line to the board broke.")
        wait(seconds)

    def again() -> None:
        gone[0] -= 1
        if gone[0]:
            raise BoardLost("The line to the board broke.")
        reopen()

    monkeypatch.setattr(board, "wait", pause)
    monkeypatch.setattr(board, "reopen", again)
    with Log(tmp_path / "watch.jsonl", "watch", board.identity, "bus") as log:
        watch = Watch(rig, NAMES, log, lambda seen, *_: stale.append(seen.stale), until_s=1.5, sleep=wait)
        seen = watch.run()
    assert "The line to the board broke." in stale and not seen.stale and seen.at_s >= 1.5
    gaps = [line["gap"] for line in lines(log.path) if "gap" in line]
    assert gaps == ["The line to the board broke.", "the board is back"]


def test_a_watch_that_ended_with_the_lease_is_begun_again(tmp_path: Path) -> None:
    board = LeadBoard(BUS, 6)
    rig, ended = levelled(board), [False]

    def tell(seen: Watched, *_: object) -> None:
        if seen.at_s > 0.3 and not ended[0]:
            ended[0] = True
            board.off()

    with Log(tmp_path / "watch.jsonl", "watch", board.identity, "bus") as log:
        seen = Watch(rig, NAMES, log, tell, until_s=0.6).run()
    assert seen.at_s >= 0.6 and any("begun again" in str(line.get("gap")) for line in lines(log.path))


def test_a_mark_is_kept_with_the_volts_of_its_moment(tmp_path: Path) -> None:
    board = LeadBoard(BUS, 7)
    rig = levelled(board)
    with Log(tmp_path / "watch.jsonl", "watch", board.identity, "bus") as log:
        watch = Watch(rig, NAMES, log, lambda *_: None, until_s=0.3)
        watch.mark()
        watch.run()
    assert [line["volts"] for line in lines(log.path) if line.get("mark")]


def test_a_log_is_never_written_over(tmp_path: Path) -> None:
    path = tmp_path / "kept.jsonl"
    path.write_text("kept\n")
    with pytest.raises(LogTrouble, match="cannot be begun"):
        Log(path, "watch", LeadBoard(BUS, 1).identity, "")
    assert path.read_text() == "kept\n"
