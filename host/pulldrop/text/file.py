"""The one door by which a text file comes in: a file, of bounded size, in UTF-8, without what a screen would obey."""

from pathlib import Path

from pulldrop.model.wording.harmless import obeyed
from pulldrop.text.problem import BadText, Problem


def text_in(path: Path, most_bytes: int, expected: str) -> str:
    """What is written in a file. `expected` follows "expected" where it is too large. Raises BadText."""
    name = str(path)
    if path.exists() and not (path.is_file() or path.is_dir()):  # a pipe would be waited for
        raise BadText([Problem(name, 0, 0, "is no file; expected a text file")])
    try:
        with path.open("rb") as file:
            raw = file.read(most_bytes + 1)
    except OSError as error:
        says = f"cannot be read: {error.strerror or error}; check its name"
        raise BadText([Problem(name, 0, 0, says)]) from error
    if len(raw) > most_bytes:
        most = f"{most_bytes >> 20} MB" if most_bytes >> 20 else f"{most_bytes >> 10} kB"
        raise BadText([Problem(name, 0, 0, f"is larger than {most}; expected {expected}")])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        column = error.start - (raw.rfind(b"\n", 0, error.start) + 1) + 1
        says = f"the byte 0x{raw[error.start]:02x} is not UTF-8; expected a text file saved as UTF-8"
        raise BadText([Problem(name, line, column, says)]) from error


def refuse_obeyed(text: str, name: str) -> None:
    """Raises BadText at the first character that a screen would obey instead of showing it."""
    if (at := obeyed(text)) >= 0:
        line = text.count("\n", 0, at) + 1
        column = at - (text.rfind("\n", 0, at) + 1) + 1
        says = f"the character U+{ord(text[at]):04X} cannot stand in a text file; is this a binary file?"
        raise BadText([Problem(name, line, column, says)])
