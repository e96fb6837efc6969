"""What a crate shows.

Rule: a note that carries its part's number was begun at an earlier view, and counts later as well.
"""

from collections.abc import Callable

from pulldrop.jobs.desk import Desk
from pulldrop.judge.crate.ledger import Ledger
from pulldrop.model.bench.identity import Identity
from pulldrop.model.crate.crate import Bin, CoilPicture, Command, Control, CrateView, Stage
from pulldrop.model.wording.cautions import WHILE_SORTING

LAST_SHOWN = 8


class Screen(Desk[CrateView]):
    """One crate's screen."""

    def __init__(
        self, board: Identity, crate: str, ratings: tuple[str, ...], ledger: Ledger, show: Callable[[CrateView], None]
    ) -> None:
        super().__init__(show)
        self._board, self._crate, self._ratings, self._ledger = board, crate, ratings, ledger
        self.protocol = self.rating = ""
        self.cautions: tuple[str, ...] = ()
        """Before the first part; later only what belongs to a hand at the socket."""

    def _late(self, command: Command, view: CrateView) -> bool:
        return bool(command.number) and command.control is Control.NOTE and view.stage is not Stage.ENDED

    def tell(
        self, stage: Stage, word: str, sentence: str, *, say: tuple[Control, ...] = (), number: int = 0,
        reasons: tuple[str, ...] = (), bin: Bin | None = None, picture: CoilPicture | None = None, go: str = "",
        step: str = "", steps_done: int = 0, steps_total: int = 0, golden: str = "", asked: int = 0,
    ) -> None:  # fmt: skip
        """Show a view, when anything in it is new. `number` 0: that of the next part."""
        ledger, who = self._ledger, self._board
        noted = (Control.NOTE,) if say and ledger.newest and stage is not Stage.TESTING else ()
        view = CrateView(
            version=1, simulated=who.simulated, crate=self._crate, protocol=self.protocol,
            rating=self.rating, board=f"{who.kind} board {who.serial}", stage=stage, word=word, sentence=sentence,
            number=number or ledger.next_number, reasons=reasons, bin=bin, step=step, steps_done=steps_done,
            steps_total=steps_total, tally=ledger.tally, last=ledger.newest[:LAST_SHOWN], picture=picture, go=go,
            controls=(*((Control.GO,) if go else ()), *say, *noted), ratings=self._ratings, golden=golden,
            asked=asked,
            cautions=self.cautions if stage is Stage.CHECK else WHILE_SORTING,
        )  # fmt: skip
        self.lay(view)
