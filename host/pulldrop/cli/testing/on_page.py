"""`pulldrop test --page`: single parts, one after the other, by a page and the keys of the terminal beside it."""

import random
from collections.abc import Iterator, Sequence
from itertools import chain, cycle
from typing import TYPE_CHECKING

from pulldrop.cli.history import page as pages

if TYPE_CHECKING:
    from pulldrop.jobs.run.boards import Opened
    from pulldrop.jobs.run.specimens import VirtualPart
    from pulldrop.jobs.single.single import SingleSetup
    from pulldrop.model.run.record import RunRecord
    from pulldrop.model.run.single import SingleView
    from pulldrop.store import Store


def test_on_page(opened: "Opened", history: "Store", setup: "SingleSetup", every: bool, lan: bool, port: int) -> int:
    """Serve until somebody ends it; the exit code is that of the last run. `every`: show every line of each result."""
    from pulldrop.cli.ask.keys import pressed
    from pulldrop.cli.show import exits, screen
    from pulldrop.cli.show.live.single import SingleLog
    from pulldrop.cli.show.testing import result, short
    from pulldrop.jobs.single.single import Single

    out = screen.console()
    log = SingleLog(out)

    def seen(view: "SingleView") -> None:
        shown.show(view)
        log(view)

    def kept(record: "RunRecord", new: bool, doubts: Sequence[str]) -> None:
        if every:
            result.show_result(out, record)
        else:
            below = sum(len(f"pulldrop: {one}") // out.width + 1 for one in doubts)
            short.show_short(out, record, new, below + 1, setup.store)
        for doubt in doubts:
            out.print(f"pulldrop: {doubt}")

    single = Single(opened, history, setup, seen, kept)
    log.press = single.press
    beside = pages.beside(single.press, out.print, lan=lan, port=port, scan=pages.scannable(out))
    with beside as shown, pressed(log.key):
        out.print(shown.words(), soft_wrap=True)
        record = single.run()
    return exits.CODES[record.verdict.overall] if record else exits.OPEN_END


def parts_for(thing: "VirtualPart | None", seed: int) -> "Iterator[VirtualPart] | None":
    """What a virtual hand puts into the socket: the part that was named, then those in stock, in no order."""
    from pulldrop.jobs.run.specimens import find
    from pulldrop.plant import stock

    if thing is None:
        return None
    names = [*stock.names()]
    random.Random(seed).shuffle(names)
    return chain((thing,), map(find, cycle(names)))
