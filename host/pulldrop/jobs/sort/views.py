"""What the screen shows at each stage of a part, with the sentences for it; nothing is decided here."""

from pulldrop.jobs.run.events import Event
from pulldrop.jobs.run.picture import Pictures
from pulldrop.jobs.sort.book import Book
from pulldrop.jobs.sort.screen import Screen
from pulldrop.measure import StepStarted
from pulldrop.model.crate.crate import Bin, Control, Placed, Stage, Word

END = (Control.END,)
HANDS_OFF = "Hands off. The part is being tested."
OFF = "Coil and load are off."


class Views:
    """The views of one crate; the pictures in them are those of the part on the bench."""

    def __init__(self, screen: Screen, book: Book) -> None:
        self._screen, self._book, self._ledger = screen, book, book.ledger
        self._pictures = Pictures()

    def next_part(self) -> None:
        """Drop the pictures of the part before."""
        self._pictures = Pictures()

    def insert(self, golden: str, every: int, notes: tuple[str, ...]) -> None:
        """Ask for the next part, or for the golden part that is due every so many parts."""
        controls = (Control.SKIP, Control.RATING, *self._undoable(), *END)
        if golden:
            sentence = f"Insert the golden part {golden}: the bench is checked every {every} parts."
            self._screen.tell(Stage.INSERT, "GOLDEN PART", sentence, go="start", say=controls, golden=golden)
            return
        sentence = f"Insert part number {self._ledger.next_number}. It starts by itself."
        self._screen.tell(Stage.INSERT, "INSERT", sentence, go="start", say=controls, reasons=notes)

    def testing(self, word: str, number: int) -> None:
        """A part is measured from here on."""
        self._screen.tell(Stage.TESTING, word, HANDS_OFF, number=number, say=END)

    def follow(self, event: Event, number: int) -> None:
        """A step of the test that is going on."""
        self._pictures.follow(event)
        if isinstance(event, StepStarted):
            self._screen.tell(
                Stage.TESTING, "TESTING", HANDS_OFF, number=number, step=event.title, steps_done=event.index - 1,
                steps_total=event.count, picture=self._pictures.newest, say=END,
            )  # fmt: skip

    def result(self, placed: Placed | None, go: str) -> None:
        """The bin, or that it was undone; `go` says what the key means, if anything."""
        if placed is None:
            sentence = f"Undone. Take the part out and insert it again, or test it again as it is. {OFF}"
            self._screen.tell(
                Stage.RESULT, Word.UNDONE, sentence, go=go, say=(Control.RETEST, *END), picture=self._pictures.newest
            )
            return
        left = [f"Not tested: {placed.untested}."] if placed.untested else []
        again = placed.bin is not Bin.SCRAP  # which leads nowhere
        warning = self._book.prints.warning(placed.number) if again else ""
        what = f"Write {placed.number} on it, put it in the {placed.bin.upper()} box.{warning}"
        self._screen.tell(
            Stage.RESULT, placed.bin.upper(), " ".join([what, OFF, *left]), number=placed.number,
            reasons=placed.reasons, bin=placed.bin, picture=self._pictures.newest, go=go,
            say=(Control.RETEST, *self._undoable(), *END),
        )  # fmt: skip

    def question(self, word: str, sentence: str, go: str, asked: int) -> None:
        """Something that only a person knows."""
        self._screen.tell(
            Stage.QUESTION, word, sentence, go=go, say=(Control.NO, *END), number=self._ledger.unpulled or 0,
            picture=self._pictures.newest, asked=asked,
        )  # fmt: skip

    def _undoable(self) -> tuple[Control, ...]:
        return (Control.UNDO,) if self._ledger.newest else ()
