"""`pulldrop waveform`: what another instrument captured of a part, read by the code that reads the bench's captures."""

from pathlib import Path
from typing import Annotated

import typer

from pulldrop.cli.ask.options import JsonOption


def waveform(
    operate: Annotated[Path, typer.Argument(metavar="FILE", help="CSV of one coil switched on.")],
    coil: Annotated[str, typer.Option("--coil", metavar="VOLTS", help="The coil's volts, such as '12 V'.")],
    release: Annotated[
        Path | None, typer.Option("--release", metavar="FILE", help="CSV of one coil switched off.")
    ] = None,
    rating: Annotated[
        str | None, typer.Option("--rating", metavar="NAME|FILE", help="Hold what it gives against this rating.")
    ] = None,
    as_json: JsonOption = False,
) -> int:
    """Read waveforms that another instrument captured: times, bounce, the armature's motion, the early current.

    A line of names, then numbers: time_s, time_ms or time_us first (the coil is switched at 0, and a row before that
    shows the state it starts from), then coil_a or coil_ma, no, nc (1 closed, 0 open), in any order, as far as they
    were captured. 30 ms of them, a row every 20 us for times, every 0.2 ms for the coil alone; lines that begin with #
    are remarks. Nothing is kept, and there is no verdict. Exit codes: 0 answered, 1 a reading misses its limit, 2 usage
    or input error.
    """
    from pulldrop.cli.input_error import InputError
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.testing.captured import show
    from pulldrop.jobs.waveform import OtherVolts, captured
    from pulldrop.model.verdict import Outcome
    from pulldrop.protocol.ratings.files import load_relay
    from pulldrop.protocol.shipped import library
    from pulldrop.text.waveform import load_waveform

    volts = _volts(coil)
    of = load_relay(library.find_rating(rating)) if rating else None
    try:
        answer = captured(load_waveform(operate), load_waveform(release) if release else None, volts, of)
    except OtherVolts as other:
        raise InputError(f"{other}. Capture it at those, or leave --rating out.") from None
    screen.answer(answer, as_json, show)
    return int(any(one.outcome is Outcome.FAIL for one in answer.judged))


def _volts(told: str) -> float:
    """Coil volts as a person writes them. Raises InputError."""
    from pulldrop.cli.input_error import InputError
    from pulldrop.model.quantity import parse

    try:
        found = parse(told)
    except ValueError as error:
        raise InputError(f"--coil: {error}") from None
    if found.unit != "V" or not 0 < found.value <= 100:
        raise InputError(f"--coil {told!r} are no volts of a coil; expected such as '12 V'.")
    return found.value
