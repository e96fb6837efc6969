"""What a look found on the terminal: each statement with how sure it is, then the proposal or the refusal."""

from rich.console import Console
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.jobs.run.identify import Identified, finding
from pulldrop.model.wording import words
from pulldrop.model.wording.cautions import DECIDE

MARKS = {"sure": "[+]", "likely": "[~]", "unsure": "[?]"}
FORM_B = "count its blades: without a blade 87 it is normally closed (Form B), tested by a rating of Form B"


def show(out: Console, answer: Identified) -> None:
    """Statement by statement, how sure each is; then what cannot be known; the proposal or the refusal last."""
    identified = answer.identified
    if answer.simulated:
        screen.simulated(out, answer.board.kind)
    for one in identified.statements:
        said = Text(one.text)
        if one.why:
            said.append(f"\n{one.why}", style="dim")
        word = f"{MARKS[one.sure]} {one.sure:7} {one.about}"
        out.print(screen.beside(word, said, width=26, style="bold" if one.sure == "sure" else ""))
    if identified.cannot_know:
        out.print("A look at rest cannot show:")
    for sentence in (one.text for one in identified.cannot_know):
        out.print(screen.beside("  -", sentence, width=4, style=""))
    screen.above_verdict(out, answer.board.kind if answer.simulated else "")
    if identified.refuse:
        out.print(
            Text("  [X] DO NOT ENERGISE" if not identified.empty else "  [ ] NO PART SEEN", style="bold dark_orange")
        )
        out.print(screen.beside("why", f"{identified.refuse}.{finding(identified)}", width=6))
    elif identified.protocol:
        out.print(Text(f"  {MARKS[identified.sure]} {words.in_short(identified)}", style="bold bright_blue"))
        out.print(
            screen.beside(
                "next", f"pulldrop test --protocol {identified.protocol} --rating {identified.rating}", width=6
            )
        )
        out.print(screen.beside("", "or, if you have the maker's sheet, with its rating", width=6))
        if "B" in identified.forms:
            out.print(screen.beside("", FORM_B, width=6))
    else:
        out.print(Text(f"  [?] {words.in_short(identified)}", style="bold"))
        advice = (
            FORM_B if identified.forms[:1] == ("B",) else "read what is printed on it, and name a protocol yourself"
        )
        out.print(screen.beside("next", advice, width=6))
    out.print(screen.beside("mind", DECIDE, width=6))
    out.print(screen.rule(out))
