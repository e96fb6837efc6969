"""The score of a virtual crate on the terminal: its bins beside what its parts truly are."""

from rich.console import Console

from pulldrop.cli.show import screen
from pulldrop.jobs.run.truth import Score

MOST = 8


def show(out: Console, score: Score) -> None:
    """A line for each bin, then the parts that went amiss; nothing for a crate without parts."""
    if not any(sound + bad for _, sound, bad in score.bins):
        return
    screen.simulated(out, "virtual")
    out.print("Score, by what these virtual parts truly are:")
    for bin, sound, bad in score.bins:
        out.print(f"  {bin:<11} {sound + bad:>3}: {sound} sound, {bad} not")
    for words, listed in (("kept, and not sound", score.kept_bad), ("sound, and scrapped", score.lost)):
        for number, title in listed[:MOST]:
            out.print(screen.beside(f"  {words}", f"number {number}: {title}", width=22, style=""))
        if listed[MOST:]:
            out.print(f"  {words}: {len(listed) - MOST} more")
