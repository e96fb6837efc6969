"""The report of a sorted crate: one HTML file for people, and CSV with a row for each part."""

import csv
import io

from markupsafe import Markup

from pulldrop.model.crate.crate import Bin
from pulldrop.model.crate.lot import Lot, ValueSpread
from pulldrop.model.quantity import show
from pulldrop.model.wording import words
from pulldrop.model.wording.cautions import OF_A_CRATE
from pulldrop.model.wording.signs import signs
from pulldrop.report.data import cell
from pulldrop.report.frame import style, templates
from pulldrop.report.pictures.spread import svg


def page(lot: Lot) -> str:
    """The whole page."""
    return templates().get_template("crate.jinja").render(
        lot=lot,
        total=len(lot.parts),
        causes=_pareto(lot),
        spread=_spread,
        picture=lambda one, key: Markup(svg(one, key, words.mark(lot.head.origin))),
        cautions=OF_A_CRATE,
        style=style(),
    )  # fmt: skip


def _pareto(lot: Lot) -> list[tuple[Bin, str, tuple[int, ...], float]]:
    """Each cause with the share of the parts not kept that it and those before it explain."""
    whole = sum(len(one.numbers) for one in lot.causes)
    told, seen = [], 0
    for one in lot.causes:
        seen += len(one.numbers)
        told.append((one.bin, one.text, one.numbers, 100 * seen / whole))
    return told


def _spread(one: ValueSpread) -> str:
    """Mean, spread and capability of the usable parts in one line."""
    usable = sum(value.usable for value in one.values)
    told = f"{len(one.values)} parts, {usable} of them usable"
    if one.mean is not None and one.sd is not None:
        told += f": mean {show(one.mean, one.unit)}, standard deviation {show(one.sd, one.unit)}"
    return signs(f"{told}. {f'Cpk {one.cpk:.2f}' if one.cpk is not None else f'No Cpk: {one.no_cpk}'}.")


def table(lot: Lot) -> str:
    """CSV (RFC 4180), a row for each part, with a column for each measurement in its SI unit."""
    out = io.StringIO()
    writer = csv.writer(out)
    measured = [(one, {value.number: value.value for value in one.values}) for one in lot.spreads]
    heads = [f"{one.id}_{one.unit}".rstrip("_") for one, _ in measured]
    writer.writerow(
        [
            "crate",
            "number",
            "part",
            "bin",
            "reasons",
            "note",
            "seen_before_as",
            "at",
            "run",
            "simulated",
            "origin",
            *heads,
        ]
    )
    for part in lot.parts:
        row = (
            lot.head.name, part.number, part.part, part.bin, "; ".join(part.told), part.note, part.same_as, part.at,
            part.run, lot.head.simulated, lot.head.origin, *(values.get(part.number) for _, values in measured),
        )  # fmt: skip
        writer.writerow(cell(value) for value in row)
    return out.getvalue()
