"""What the shape of a protocol file cannot say: order of steps, limits with meaning. Works on broken files too,
so that a person sees these problems together with those of the shape."""

from collections.abc import Collection, Iterator

from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.quantity import parse as parse_quantity
from pulldrop.model.steps import STEPS
from pulldrop.model.wording.near import hint
from pulldrop.protocol.expression import BadLimit, parse
from pulldrop.protocol.limits import check
from pulldrop.text.document import Document, Steps, Value
from pulldrop.text.problem import Problem


def problems(document: Document, left_out: Collection[str]) -> Iterator[Problem]:
    """Every broken rule, at its place, in a document for one system; kinds of step that are `left_out` for it."""
    top = document.value if isinstance(document.value, dict) else {}
    kinds = _kinds(top.get("steps"))
    yield from _step_problems(document, kinds)
    load_a, limits = _load_a(top.get("steps")), top.get("limits")
    for id, line in limits.items() if isinstance(limits, dict) else ():
        if id not in MEASUREMENTS:
            says = f"'{id[:60]}' is no measurement; {hint(id, MEASUREMENTS)}"
            yield document.problem(("limits", id), says, at_key=True)
        elif lack := _not_measured(id, [*kinds, *left_out]):
            yield document.problem(("limits", id), lack, at_key=True)
        else:
            yield from _limit_problems(document, id, line, load_a)


def _kinds(steps: Value) -> list[str]:
    """The kind of each step, "" where there is none."""
    if not isinstance(steps, list):
        return []
    return [str(step.get("measure", "")) if isinstance(step, dict) else "" for step in steps]


def _load_a(steps: Value) -> float | None:
    """Amps of the contact step; None where there is none, or they are no quantity, of which the shape complains."""
    for step in steps if isinstance(steps, list) else ():
        if isinstance(step, dict) and step.get("measure") == "contact":
            try:
                return parse_quantity(str(step.get("load"))).value
            except ValueError:
                return None
    return None


def _step_problems(document: Document, kinds: list[str]) -> Iterator[Problem]:
    harmless = {"probe", *(kind for kind, step in STEPS.items() if not step.fed)}  # the probe's half volt harms nothing
    fed = [index for index, kind in enumerate(kinds) if kind in STEPS and kind not in harmless]
    if fed and kinds[fed[0]] != "coil":
        says = "the first step must be 'measure: coil': it finds a short or a reversed diode before full voltage"
        yield document.problem(("steps", fed[0], "measure"), says)
    if {"coil", "scan"} <= set(kinds):
        says = "'coil' and 'scan' both measure the coil; a result holds each measurement once, so take one of them"
        yield document.problem(("steps", kinds.index("scan"), "measure"), says)
    for index, kind in enumerate(kinds):
        if kind in STEPS and kind in kinds[:index]:
            says = f"'{kind}' is measured twice; a result holds each measurement once, so write a second protocol"
            yield document.problem(("steps", index, "measure"), says)


def _not_measured(id: str, kinds: list[str]) -> str:
    """Why the steps give this measurement of no part of any form, or nothing."""
    kind = next(kind for kind, step in STEPS.items() if id in step.gives)
    all_known = bool(kinds) and all(k in STEPS for k in kinds)
    if all_known and not any(id in STEPS[k].gives for k in kinds):
        return f"no step measures '{id}'; add 'measure: {kind}' or take this limit out"
    return ""


def _limit_problems(document: Document, id: str, line: Value, load_a: float | None) -> Iterator[Problem]:
    path: Steps = ("limits", id)
    if isinstance(line, dict):
        path, line = (*path, "limit"), line.get("limit")
    if not isinstance(line, str):
        return  # the shape complains about it
    try:
        check(parse(line), id, load_a)
    except BadLimit as bad:
        yield document.problem(path, f"'{id}': {bad}", offset=bad.offset)
