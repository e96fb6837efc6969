"""Which captures of a record are drawn: the operate and the release, found by the ids of their readings."""

from dataclasses import dataclass

from pulldrop.model.part.relay import FORMS
from pulldrop.model.raw import Capture
from pulldrop.model.reading import Reading
from pulldrop.model.run.record import RunRecord
from pulldrop.model.wording import words
from pulldrop.report.pictures.waveform import Scene, svg

SWITCHED = {
    "armature_seat_time": ("strike", "on"),
    "operate_time": ("operate", "on"),
    "release_time": ("release", "off"),
}


@dataclass(frozen=True, slots=True)
class Picture:
    """One drawn capture and the words under it."""

    svg: str
    caption: str


def pictures(record: RunRecord, key: str) -> tuple[Picture, ...]:
    """The waveforms of a record, none when no coil step was captured."""
    return tuple(Picture(svg(scene, f"{key}-{id}"), caption) for id, scene, caption in scenes(record))


def scenes(record: RunRecord) -> tuple[tuple[str, Scene, str], ...]:
    """By the id of its reading: what is to be drawn, and the words under it."""
    return tuple(
        (judged.id, *_scene(record, judged.finding))
        for judged in record.judged
        if judged.id in SWITCHED and isinstance(judged.finding, Reading) and _captures(judged.finding)
    )


def _captures(reading: Reading) -> list[Capture]:
    return [one for one in reading.raw if isinstance(one, Capture)]


def _typical(reading: Reading) -> tuple[int, float | None]:
    """Index of the make nearest to the reading, and its own time in ms; no time when there are no single values."""
    if reading.value is None or len(reading.makes) != len(_captures(reading)):
        return 0, None
    value = reading.value
    index = min(range(len(reading.makes)), key=lambda i: abs(reading.makes[i] - value))
    return index, 1000 * reading.makes[index]


def _scene(record: RunRecord, reading: Reading) -> tuple[Scene, str]:
    captures = _captures(reading)
    index, mark_ms = _typical(reading)
    name, switched = SWITCHED[reading.id]
    of = f"make {index + 1} of {len(captures)}" + (", the one nearest to the median" if mark_ms is not None else "")
    says = f"Coil switched {switched}, {of}."
    if mark_ms is not None:
        says += f" {name.capitalize()} at {mark_ms:.2f} ms."
    also = _start(record, index) if reading.id == "armature_seat_time" else ()
    if reading.id == "armature_seat_time":
        says += _motion_in_words(also, mark_ms)
    scene = Scene(
        capture=captures[index],
        amps=record.calibration.coil_fast,
        throws=FORMS[record.plan.relay.form].throws,
        says=words.marked(record.origin, says, ". "),
        mark=name,
        mark_ms=mark_ms,
        also=also,
        across=words.mark(record.origin),
    )
    return scene, f"{says} A bar: that contact is closed."


def _start(record: RunRecord, index: int) -> tuple[tuple[str, float], ...]:
    """When the armature started in the same make."""
    for judged in record.judged:
        found = judged.finding
        if judged.id == "armature_start_time" and isinstance(found, Reading) and index < len(found.makes):
            return (("start", 1000 * found.makes[index]),)
    return ()


def _motion_in_words(start: tuple[tuple[str, float], ...], seat_ms: float | None) -> str:
    """What the dip says, without a word of electricity."""
    if seat_ms is None or not start:
        return " The current rises without a dip: nothing inside moves, though the coil has its current."
    return (
        f" The armature starts to move {start[0][1]:.1f} ms after switching on; the dip in the current is its"
        f" movement, and ends as it strikes the core at {seat_ms:.1f} ms. This is seen from the coil alone."
    )
