"""What a file says for one system, 12 V or 24 V: `{12 V: 25 mV, 24 V: 50 mV}` becomes one of the two, volts in words a
number.

Rule: nothing is filled in. A step that has nothing for a system is left out only where the file says why.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from difflib import get_close_matches

from pulldrop.model.quantity import parse
from pulldrop.model.step import COIL_MOST_V
from pulldrop.text.document import Document, Place, Steps, Value
from pulldrop.text.problem import Problem

IN_SERVICE_V = {12.0: 13.5, 24.0: 27.0}
"""Nominal volts of a system, and its volts with the generator running (ISO 7637-2:2004, test voltage; from memory)."""
IN_SERVICE, NOMINAL, LEFT_OUT = "in service", "nominal", "left_out"


@dataclass(frozen=True, slots=True)
class ForSystem:
    """A document for parts of one system, and the kinds of step that are left out for it, each with the reason."""

    document: Document
    left_out: dict[str, str]


def for_system(document: Document, nominal_v: float) -> ForSystem:
    """The document as it is for a system of `nominal_v` volts, values and places alike."""
    lacks: list[Steps] = []
    value, place = _chosen(document.value, document.place, nominal_v, (), lacks)
    made = ForSystem(replace(document, value=value, place=place, problems=[*document.problems]), {})
    written = document.value.get("steps") if isinstance(document.value, dict) else None
    if isinstance(value, dict) and isinstance(written, list) and isinstance(steps := value["steps"], list):
        differ = [isinstance(one, dict) and any(isinstance(each, dict) for each in one.values()) for one in written]
        taken = _taken(list(zip(steps, differ, strict=True)), place.inside["steps"], nominal_v, lacks, made.left_out)
        value["steps"] = [step for step, _ in taken]
        place.inside["steps"].inside = dict(enumerate(where for _, where in taken))
    made.document.problems.extend(_nothing(document, path, nominal_v) for path in lacks)
    made.document.problems.extend(_misspelt(made.document))
    made.document.problems.extend(_unknown(document, document.value, ()))
    return made


def _misspelt(document: Document) -> Iterator[Problem]:
    """Settings of steps that are nearly one of the words for volts."""
    steps = document.value.get("steps") if isinstance(document.value, dict) else None
    for index, step in enumerate(steps if isinstance(steps, list) else ()):
        for key, value in step.items() if isinstance(step, dict) else ():
            near = get_close_matches(str(value), (IN_SERVICE, NOMINAL), 1, 0.7)
            if near and value not in near:
                path: Steps = ("steps", index, key)
                yield document.problem(path, f"'{key}': found '{str(value)[:60]}'; did you mean '{near[0]}'?")


def _unknown(document: Document, value: Value, path: Steps) -> Iterator[Problem]:
    """Keys of systems whose coils this bench cannot feed, wherever a value is given by system."""
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    systems = [_system(str(key)) for key, _ in inside] if isinstance(value, dict) else []
    for key, one in inside:
        if path and systems and all(systems) and (_system(str(key)) or 0.0) > COIL_MOST_V:
            known = " or ".join(f"'{volts:g} V'" for volts in IN_SERVICE_V)
            says = f"'{key}' is a system that this bench cannot feed, its coil supply ends at {COIL_MOST_V:g} V"
            yield document.problem((*path, key), f"{says}; expected {known}", at_key=True)
        yield from _unknown(document, one, (*path, key))


def _taken(
    steps: list[tuple[Value, bool]], place: Place, nominal_v: float, lacks: list[Steps], left_out: dict[str, str]
) -> list[tuple[Value, Place]]:
    """The steps that are taken, each with its place; of those that are left out, what they lack is no problem.

    With each step, whether it differs by system: only such a one may say why it is left out.
    """
    kept: list[tuple[Value, Place]] = []
    for index, (step, differs) in enumerate(steps):
        if isinstance(step, dict):
            why = step.pop(LEFT_OUT, None) if differs else None
            own = [path for path in lacks if path[:2] == ("steps", index)]
            if isinstance(why, str) and own:
                left_out[str(step.get("measure"))] = why
                lacks[:] = [path for path in lacks if path not in own]
                continue
            step = {key: _volts(each, nominal_v) for key, each in step.items()}
        kept.append((step, place.inside[index]))
    return kept


def _volts(value: Value, nominal_v: float) -> Value:
    """Volts in words as a quantity; left as they stand for a system whose volts in service are not known."""
    known = {NOMINAL: nominal_v, IN_SERVICE: IN_SERVICE_V.get(nominal_v)}
    volts = known.get(value) if isinstance(value, str) else None
    return value if volts is None else f"{volts:g} V"


def _chosen(value: Value, place: Place, nominal_v: float, path: Steps, lacks: list[Steps]) -> tuple[Value, Place]:
    """The value with every mapping by system replaced; the paths of those that have nothing go into `lacks`."""
    if not isinstance(value, dict | list):
        return value, place
    systems = {volts: key for key in value if (volts := _system(key))} if isinstance(value, dict) else {}
    if isinstance(value, dict) and path and systems and len(systems) == len(value):
        if nominal_v not in systems:
            lacks.append(path)
            return None, place
        key = systems[nominal_v]
        return value[key], replace(place.inside[key], key=place.key)
    if isinstance(value, list):
        each = [_chosen(one, place.inside[i], nominal_v, (*path, i), lacks) for i, one in enumerate(value)]
        return [one for one, _ in each], replace(place, inside=dict(enumerate(where for _, where in each)))
    inside = {key: _chosen(one, place.inside[key], nominal_v, (*path, key), lacks) for key, one in value.items()}
    places: dict[str | int, Place] = {key: where for key, (_, where) in inside.items()}
    return {key: one for key, (one, _) in inside.items()}, replace(place, inside=places)


def _system(key: str) -> float | None:
    """Volts of a key such as `12 V`."""
    try:
        found = parse(key)
    except ValueError:
        return None
    return found.value if found.unit == "V" else None


def _nothing(document: Document, path: Steps, nominal_v: float) -> Problem:
    says = f"'{path[-1]}' has nothing for {nominal_v:g} V; expected '{nominal_v:g} V: ...' beside what is there"
    if path[:1] == ("steps",):
        says += f", or '{LEFT_OUT}: ...' in the step with the reason why it is left out"
    return document.problem(path, says)
