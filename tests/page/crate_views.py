"""A scripted crate of a heritage bus depot, all of it invented: one view for each thing that a screen can show."""

from datetime import UTC, datetime
from math import exp

from pulldrop.model.crate.crate import Bin, CoilPicture, Control, CrateView, Placed, Stage, Word

AT = datetime(2026, 11, 25, 10, 42, tzinfo=UTC)
TALLY = ((Bin.KEEP, 21), (Bin.LIGHT_DUTY, 6), (Bin.SCRAP, 8), (Bin.LOOK_AGAIN, 2))
ANYTIME = (Control.RATING, Control.END)
AFTER = (Control.GO, Control.UNDO, Control.RETEST, Control.NOTE, *ANYTIME)

WHY = {
    Bin.KEEP: ("Every limit met", "Contact drop NO 24 mV +-1.3 at 10 A, limit <= 100 mV"),
    Bin.LIGHT_DUTY: ("Contact drop NO 148 mV +-3 at 10 A: over 100 mV, under 200 mV", "Coil and timing are good"),
    Bin.LOOK_AGAIN: ("Pull-in at 20 degC 8.38 V +-0.05: the limit 8.40 V lies inside the uncertainty",),
    Bin.SCRAP: ("Contact 87 is burnt: 612 mV +-9 at 10 A, limit <= 200 mV", "Scattered from make to make"),
}
DO = {
    Bin.KEEP: "Write 37 on it and put it in the KEEP box.",
    Bin.LIGHT_DUTY: "Write 37 on it and put it in the LIGHT DUTY box.",
    Bin.LOOK_AGAIN: "Write 37 on it and put it aside to look again.",
    Bin.SCRAP: "Write 37 on it and put it in the SCRAP box.",
}


def picture() -> CoilPicture:
    """A coil that pulls in at 5 ms; NO bounces once."""
    time_s = tuple(i * 5e-5 for i in range(400))
    dip = [0.06 * max(0.0, 1 - abs(at - 0.005) / 0.0015) for at in time_s]
    current_a = tuple(0.14 * (1 - exp(-at / 0.004)) - low for at, low in zip(time_s, dip, strict=True))
    edges = ((0.0044, "NC", False), (0.0052, "NO", True), (0.0056, "NO", False), (0.0061, "NO", True))
    return CoilPicture(time_s=time_s, current_a=current_a, edges=edges)


def placed(number: int, bin: Bin, note: str = "", same_as: int | None = None) -> Placed:
    return Placed(
        number=number, part=f"D{number:03}", run=f"R{number}", bin=bin, reasons=WHY[bin],
        figures=("coil 88.2 ohm", "drop 24 mV"), at=AT, note=note, same_as=same_as,
    )  # fmt: skip


LAST = (
    placed(36, Bin.KEEP), placed(35, Bin.SCRAP, note="cracked case"), placed(34, Bin.LIGHT_DUTY),
    placed(33, Bin.LOOK_AGAIN, same_as=12), *(placed(number, Bin.KEEP) for number in range(32, 20, -1)),
)  # fmt: skip
RATINGS = ("class-mini-12v-form-c", "class-mini-12v-form-a", "class-mini-24v-form-c")


def view(version: int, stage: Stage, word: str, sentence: str, **more: object) -> CrateView:
    about = dict(
        version=version, simulated=True, crate="shed 4, shelf 2", protocol="crate-relay", board="virtual",
        stage=stage, number=37, word=word, sentence=sentence, tally=TALLY, last=LAST, picture=picture(),
        rating=RATINGS[0], controls=ANYTIME, ratings=RATINGS,
    )  # fmt: skip
    return CrateView.model_validate(about | more)


def result(version: int, bin: Bin, **more: object) -> CrateView:
    """The bin's word, after part 37 was placed."""
    last = (placed(37, bin), *LAST)
    about = dict(bin=bin, reasons=WHY[bin], last=last, go="Undo", controls=AFTER)
    return view(version, Stage.RESULT, bin.value, DO[bin] + " Then pull it.", **about | more)


CHECK = view(
    1, Stage.CHECK, "check", "Leave the socket empty.", number=1, tally=(), last=(), picture=None,
    step="Empty socket", steps_done=1, steps_total=3,
)  # fmt: skip
INSERT = view(2, Stage.INSERT, "insert", "Put the next part into the socket.", go="Undo 36", controls=AFTER)
STILL = view(
    40, Stage.STILL, "hands off", "Part 37 starts once it has sat still.", step="sits still", steps_done=1,
    steps_total=3, controls=(Control.END,),
)  # fmt: skip
TESTING = view(
    3, Stage.TESTING, "testing", "Leave it in the socket.", step="Contact drop NO at 10 A", steps_done=4, steps_total=9,
    controls=(Control.SKIP, *ANYTIME),
)  # fmt: skip
QUESTION = view(
    8, Stage.QUESTION, "same part?", "Is this part 12 again? It measures the same in 7 of 7 values.",
    reasons=("Two different parts measure so much alike once in 9000 pairs.",), go="Yes, it is 12",
    controls=(Control.GO, Control.NO, *ANYTIME),
)  # fmt: skip
STOPPED = view(
    9, Stage.STOPPED, "stop", "Clean the socket's blades, put the golden part in, then go on.",
    reasons=("The golden part has drifted: contact drop NO 31 mV +-1.3, it was 24 mV",), go="Check again",
    controls=(Control.GO, *ANYTIME),
)  # fmt: skip
ENDED = view(10, Stage.ENDED, "end", "37 parts are sorted. The crate is kept.", picture=None, controls=())
BOARD_GONE = view(11, Stage.STOPPED, "board gone", "Plug it in, then begin again.", controls=())
TAKE_OUT = "The part was pulled, or another one put in, during its test. Take out what is in the socket."
SAID = {
    word: view(20 + index, Stage.RESULT, word, sentence, controls=(Control.END,))
    for index, (word, sentence) in enumerate(
        {
            Word.VOID: TAKE_OUT,
            Word.UNDONE: "Take the part out.",
            Word.WELL: "4K7RT reads as before. Take it out.",
        }.items()
    )
}
"""Results without a bin."""
RESULTS = {bin: result(4 + index, bin) for index, bin in enumerate(WHY)}
ALL = {
    "check": CHECK, "insert": INSERT, "still": STILL, "testing": TESTING, "question": QUESTION,
    "stopped": STOPPED, "ended": ENDED, "void": SAID[Word.VOID], "well": SAID[Word.WELL],
} | {bin.value.replace(" ", "-"): view for bin, view in RESULTS.items()}  # fmt: skip
