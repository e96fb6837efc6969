"""The store on the terminal: what it holds, whether it is whole, what an import and a later judgement gave."""

from rich.console import Console

from pulldrop.cli.show import screen
from pulldrop.cli.show.answers import BackupAnswer
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.reference import TypeReference
from pulldrop.model.run.judgement import Judgement
from pulldrop.model.wording import words
from pulldrop.store import Info, Verified
from pulldrop.store.exchange.origins import ImportResult


def show_info(out: Console, found: Info) -> None:
    """Where the store is, and how much it holds."""
    table = screen.table("what", "")
    table.add_row("store", f"{found.store} ({found.database}, version {found.version} of the tables)")
    table.add_row("holds", f"{found.parts} parts, {found.runs} runs, {found.measurements} measurements")
    table.add_row("size", f"{found.bytes / 1e6:.1f} MB")
    table.add_row("chain", f"{found.entries} entries; head {found.head}")
    out.print(table)


def show_verified(out: Console, found: Verified) -> None:
    """What was found, and the head to note."""
    for finding in found.findings:
        out.print(f"- {finding}")
    if found.findings:
        out.print(
            f"{len(found.findings)} findings in {found.entries} entries. Restore a backup, or find out who changed it."
        )
    else:
        out.print(f"All {found.rows} rows of {found.entries} entries are as they were written.")
    out.print(f"Head: {found.head} (note it elsewhere, and give it to --head later)")
    if found.noted_in:
        out.print(f"It is noted by itself in {found.noted_in}.")


def show_backup(out: Console, answer: BackupAnswer) -> None:
    """Where a backup lies."""
    out.print(f"The store {answer.store} is backed up in {answer.file}, up to entry {answer.head}.")
    _show_lacks(out, answer)


def show_learned(out: Console, found: TypeReference, file: str) -> None:
    """What was learned of a type, and where it lies."""
    out.print(
        f"{found.parts} parts of {found.siblings}, by {found.protocol} (version {found.version}), last on {found.made},"
        f" are in {file}: {len(found.figures)} measurements."
    )


def show_restored(out: Console, answer: BackupAnswer) -> None:
    """What the store is now, and where the former one went."""
    out.print(f"The store {answer.store} is {answer.file} again, up to entry {answer.head}.")
    if answer.moved_to:
        out.print(f"What was there before is now {answer.moved_to}.")
    if not answer.vouched:
        out.print(
            "Nothing vouches for it: no head was noted on this computer, and none was given, so runs may have been"
            " added. The head that 'store backup' printed must be the one above; to have them compared, restore again"
            " with --replace --head N:HASH",
            style="bold",
        )
    _show_lacks(out, answer)


def _show_lacks(out: Console, answer: BackupAnswer) -> None:
    for said in answer.lacks:
        out.print(f"- {said}")
    if answer.lacks:
        out.print("All records are there; what is listed is not.", style="bold")


def show_import(out: Console, answer: ImportResult) -> None:
    """Each thing that was refused or renamed, and how many rows came in."""
    for said in (*answer.refused, *answer.renamed):
        out.print(f"- {said}")
    out.print(
        f"Runs: {answer.new} new, {answer.completed} completed, {answer.known} here already. "
        f"Other rows: {answer.other} new. Refused: {len(answer.refused)}."
    )


def show_judgement(out: Console, judgement: Judgement, before: str) -> None:
    """A later judgement beside the verdict of the run itself, `before`."""
    screen.marked(out, judgement.origin)
    table = screen.table("measurement", "outcome", "why")
    for one in judgement.decisions:
        table.add_row(MEASUREMENTS[one.id].title, str(one.outcome), one.reason)
    out.print(table)
    word = judgement.verdict
    out.print(
        f"{words.badge(word.overall).sign} {word.word} by {judgement.plan.title}; the run itself ended: {before}."
    )
    out.print(f"{word.found} {word.means} {word.next}")
