"""Every ending that is not a result: one sentence on stderr (or one JSON object on stdout) and an exit code.

Rule: a person never sees a traceback, and no error ever reads as a pass or as a failed part.
"""

import errno
import os
import shutil
import sys
import tempfile
import textwrap
import traceback
from pathlib import Path

from pulldrop.cli.input_error import InputError
from pulldrop.cli.show.exits import BENCH, INPUT, OPEN_END, ReaderGone
from pulldrop.model.wording.harmless import harmless

PLAIN = {
    "Value error, ": "",
    "Input should be a valid integer, unable to parse string as an integer": "a whole number was expected",
    "Input should be a valid number, unable to parse string as a number": "a number was expected",
    "Input should ": "it should ",
}
"""What a library says of a wrong value, and what it means to a person."""


def tell(error: BaseException, *, as_json: bool) -> int:
    """Say what went wrong and return the exit code."""
    if isinstance(error, ReaderGone | BrokenPipeError):
        return _reader_gone()
    try:
        sentence, code = _sentence(error)
    except Exception:  # an installation so broken that not even the errors can be loaded
        sentence, code = _of_program(error), BENCH
    if as_json:
        from pulldrop.cli.show.answers import ErrorAnswer
        from pulldrop.cli.show.screen import print_json

        print_json(ErrorAnswer(error=sentence, exit_code=code))
    else:
        print(_wrapped(harmless(f"pulldrop: {sentence}")), file=sys.stderr)
    return code


def _wrapped(text: str) -> str:
    """On a terminal no word is torn, and a name with hyphens is a word."""
    if not sys.stderr.isatty():
        return text
    width = shutil.get_terminal_size().columns
    return "\n".join(
        textwrap.fill(line, width, break_long_words=False, break_on_hyphens=False) for line in text.split("\n")
    )


def _sentence(error: BaseException) -> tuple[str, int]:
    import typer

    if isinstance(error, KeyboardInterrupt | typer.Abort):
        return "Interrupted.", OPEN_END
    usage = getattr(error, "format_message", None)  # a wrong command line, as typer words it
    if usage is not None:
        return _of_usage(error, str(usage())), INPUT
    return _of_work(error)


def _of_work(error: BaseException) -> tuple[str, int]:
    """What came up while a command ran; where it comes from is loaded only now."""
    from pulldrop.board.errors import BoardError
    from pulldrop.emulator.errors import EmulatorError
    from pulldrop.jobs.run.identify import NotEnergised
    from pulldrop.jobs.run.specimens import UnknownSpecimen
    from pulldrop.jobs.run.test_one import RunNotKept
    from pulldrop.jobs.vehicle.boards import NotALead
    from pulldrop.jobs.vehicle.log import LogTrouble
    from pulldrop.jobs.vehicle.socket import NotAsSaid
    from pulldrop.measure.lead import LeadTrouble
    from pulldrop.model.wording.cautions import DECIDE
    from pulldrop.protocol.errors import ProtocolError
    from pulldrop.store import StoreError
    from pulldrop.text.problem import BadText

    match error:
        case NotEnergised():
            return f"{error} {DECIDE}", OPEN_END
        case LeadTrouble() | NotAsSaid():
            return str(error), OPEN_END
        case BoardError() | EmulatorError() | RunNotKept():
            return str(error), BENCH
        case InputError() | BadText() | ProtocolError() | StoreError() | UnknownSpecimen() | NotALead() | LogTrouble():
            return str(error), INPUT
        case OSError():
            return _of_file(error), INPUT
    return _of_program(error), BENCH


def _of_file(error: OSError) -> str:
    where = f"{error.filename}: " if error.filename else ""
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return f"{where}the disk is full, so not all could be written. Free some space, then try again."
    return f"{where}{error.strerror or error}. Check the name, and that you may read or write there."


def _of_usage(error: BaseException, message: str) -> str:
    context = getattr(error, "ctx", None)
    if message.startswith("Usage:"):  # a group named without a command: its help
        return f"a command was expected.\n{message}"
    sentence = " ".join(message.split()).removesuffix(".")
    for foreign, plain in PLAIN.items():
        sentence = sentence.replace(foreign, plain)
    if not sentence.endswith("?"):
        sentence += "."
    return f"{sentence} See '{context.command_path if context else 'pulldrop'} --help'."


def _of_program(error: BaseException) -> str:
    """A fault of pulldrop itself: the traceback goes to a file, where somebody who mends it can read it."""
    kept = Path(tempfile.gettempdir()) / f"pulldrop-fault-{os.getpid()}.txt"
    try:
        kept.write_text("".join(traceback.format_exception(error)), encoding="utf-8")
        where = f"The details are in {kept}; send them with your report."
    except OSError:
        where = "The details could not be written anywhere."
    return f"pulldrop itself failed ({type(error).__name__}: {error}); this says nothing about the part. {where}"


def _reader_gone() -> int:
    """Say no more, or the interpreter complains at its end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return OPEN_END
