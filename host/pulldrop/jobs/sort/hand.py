"""The virtual hand: it does at a simulated bench what the views ask of a person, part after part from a heap.

Rule: the hand knows nothing but what the view shows, and what it holds in its fingers.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from pulldrop.board.contract import Board
from pulldrop.jobs.run.specimens import VirtualPart, empty_socket
from pulldrop.jobs.sort.setup import pass_time
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.crate.crate import Bin, Command, Control, CrateView, Stage
from pulldrop.plant.bench import instruments
from pulldrop.plant.specimen import Specimen

PATIENCE = 6
"""Looks after which a part that does not start by itself is started with the key."""


@dataclass(slots=True)
class Heap:
    """Parts that wait, the next one first; sorted ones, each with its number and the bin it was put into."""

    waiting: list[VirtualPart]
    sorted: list[tuple[VirtualPart, int, Bin]] = field(default_factory=list)
    golden: dict[str, VirtualPart] = field(default_factory=dict)


class SortingHand:
    """One hand at one board. `exchange` puts a part into the socket; `sleep` makes time pass for whoever looks on.

    `result_s`: how long a result is left to be read.
    """

    def __init__(
        self, board: Board, heap: Heap, exchange: Callable[[Specimen], None], seed: int | None,
        sleep: Callable[[float], None] = lambda _s: None, result_s: float = 0.0,
    ) -> None:  # fmt: skip
        self.heap = heap
        self.press: Callable[[Command], str] = lambda _command: ""
        self._rig, self._exchange, self._seed = Rig.uncalibrated(board), exchange, seed
        self.sleep, self.result_s = sleep, result_s
        self._link = VirtualPart(instruments.Garage(seed).link(), "a shorting link")
        self.held: VirtualPart | None = None
        self._waited_s, self._seen = 0.0, 0

    def specimen(self) -> tuple[str, int | None]:
        """The part in the socket, as text, and the bench's seed."""
        return (self.held.text if self.held else ""), self._seed

    def wait(self, view: CrateView, seconds: float) -> None:
        """Let time pass, then do what the view asks for."""
        pass_time(self._rig, view, seconds)
        self.sleep(seconds)
        if view.version != self._seen:
            self._seen, self._waited_s = view.version, 0.0
        self._waited_s += seconds
        match view.stage:
            case Stage.CHECK:
                self._check(view)
            case Stage.INSERT:
                self._insert(view)
            case Stage.RESULT:
                self._result(view)
            case Stage.QUESTION:
                self._answer(view)
            case Stage.STOPPED:
                self._do(Control.END)

    def put(self, part: VirtualPart | None) -> None:
        """Exchange what is in the socket; None empties it."""
        self._exchange((part or empty_socket()).specimen)
        self.held = part

    def _do(self, control: Control) -> None:
        self.press(Command(control=control))

    def _check(self, view: CrateView) -> None:
        if view.word == "LINK" and Control.GO in view.controls:
            if self.held is not self._link:
                self.put(self._link)
            self._do(Control.GO)
        elif self.held is not None:
            self._back()

    def _back(self) -> None:
        """Out of the socket, to be inserted again; a link or a golden part goes to its place."""
        part, heap = self.held, self.heap
        if part is not None and part is not self._link and not any(part is one for one in heap.golden.values()):
            heap.waiting.insert(0, part)
        self.put(None)

    def _insert(self, view: CrateView) -> None:
        if self.held is not None:
            if self._waited_s > PATIENCE * 0.2:
                self._do(Control.GO)
            return
        self._waited_s = 0.0
        if view.golden:
            part = self.heap.golden.get(view.golden)
            self.put(part) if part else self._do(Control.SKIP)
        elif self.heap.waiting:
            self.put(self.heap.waiting.pop(0))
        else:
            self._do(Control.END)

    def _result(self, view: CrateView) -> None:
        if self.held is not None and view.bin is not None:  # it has its bin, pulled or not
            self.heap.sorted = [one for one in self.heap.sorted if one[1] != view.number]
            self.heap.sorted.append((self.held, view.number, view.bin))
        if self._waited_s < self.result_s:
            return
        if self.held is not None:
            self._back() if view.bin is None else self.put(None)
        if view.go:
            self._do(Control.GO)

    def _answer(self, view: CrateView) -> None:
        """Is a part in the socket, and is it that number? The hand knows what it holds, and what it has put away."""
        if not view.asked:
            self._do(Control.GO if self.held is not None else Control.NO)
            return
        was = any(part is self.held and number == view.asked for part, number, _ in self.heap.sorted)
        self._do(Control.GO if was or view.asked == view.number else Control.NO)
