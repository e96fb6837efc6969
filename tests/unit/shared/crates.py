"""A crate on the virtual bench for tests: a sorter, a hand, and what was shown."""

from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from functools import partial

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.specimens import VirtualPart, empty_socket
from pulldrop.jobs.sort.hand import Heap, SortingHand
from pulldrop.jobs.sort.setup import Setup
from pulldrop.jobs.sort.sorter import Sorter
from pulldrop.model.crate.crate import CrateView, Stage
from pulldrop.protocol.crate import sorting
from pulldrop.store import Store

SEED = 5
GOOD, BURNT, OPEN, BURNT_NC = "good-12v-changeover", "burnt-no", "open-coil", "burnt-nc"


def parts(*names: str) -> list[VirtualPart]:
    """Parts from stock, each an object of its own."""
    return [specimens.find(name) for name in names]


class Crate:
    """One crate, its hand and its screens. `at_view` is called with each view, after it was kept."""

    def __init__(
        self,
        store: Store,
        waiting: Sequence[VirtualPart],
        board: VirtualBoard | None = None,
        heap: Heap | None = None,
        rating: str = "class-mini-12v-form-c",
        at_view: Callable[["Crate", CrateView], None] = lambda _crate, _view: None,
    ) -> None:
        self.board = board or VirtualBoard(empty_socket().specimen, SEED)
        self.heap = heap or Heap(list(waiting))
        self.views: list[CrateView] = []
        self.store = store
        self._at_view = at_view
        self.hand = SortingHand(self.board, self.heap, self.board.insert, SEED)
        load = partial(sorting, "crate-relay")
        setup = Setup("shed 2", load(rating), load, now=lambda: datetime.now(UTC))
        self.sorter = Sorter(self.board, store, setup, self.hand, self._see)
        self.hand.press = self.sorter.press

    def _see(self, view: CrateView) -> None:
        self.views.append(view)
        self._at_view(self, view)

    def run(self) -> "Crate":
        self.sorter.run()
        return self

    def words(self, stage: Stage) -> list[str]:
        """Each word shown in a stage, in order, once for each time that it came up."""
        shown = [view.word for view in self.views if view.stage is stage]
        return [word for index, word in enumerate(shown) if index == 0 or shown[index - 1] != word]

    @property
    def tally(self) -> dict[str, int]:
        return {bin.value: count for bin, count in self.views[-1].tally}

    @property
    def bins(self) -> list[tuple[int, str]]:
        """Number and bin of every part that the hand has put away."""
        return sorted((number, bin.value) for _, number, bin in self.heap.sorted)
