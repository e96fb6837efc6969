"""The protocols and ratings that ship with pulldrop, found by name, and other people's, found by path."""

from difflib import get_close_matches
from pathlib import Path

import pulldrop
from pulldrop.model.part.kinds import PARTS, TESTED
from pulldrop.protocol.errors import UnknownName

_PACKAGE = Path(pulldrop.__file__).parent
_INSTALLED = _PACKAGE / "protocols"
FOLDER = _INSTALLED if _INSTALLED.is_dir() else _PACKAGE.parents[1] / "protocols"
"""Beside the code when installed; the top-level `protocols/` when run from a clone (see pyproject.toml)."""
SUFFIXES = (".yaml", ".yml")
CRATES, CABINS = "crates/*.yaml", "cabins/*.yaml"


def names() -> tuple[str, ...]:
    """Names of the shipped protocols, in order."""
    return tuple(_files("*.yaml"))


def rating_names(*kinds: str) -> tuple[str, ...]:
    """Names of the shipped ratings of these kinds of part, of classes and of makers' sheets, in order."""
    return tuple(_files(*map(_ratings, kinds)))


def crate_names() -> tuple[str, ...]:
    """Names of the shipped protocols of crates, in order."""
    return tuple(_files(CRATES))


def find(name_or_path: str) -> Path:
    """The file of a shipped protocol's name, or of a path. Raises UnknownName."""
    return _find(name_or_path, "protocol", "*.yaml")


def find_rating(name_or_path: str) -> Path:
    """The file of a rating. Raises UnknownName."""
    return _find(name_or_path, "rating", *map(_ratings, TESTED))


def find_crate(name_or_path: str) -> Path:
    """The file of a crate's protocol. Raises UnknownName."""
    return _find(name_or_path, "crate protocol", CRATES)


def cabin_names() -> tuple[str, ...]:
    """Names of the shipped cabins, in order."""
    return tuple(_files(CABINS))


def find_cabin(name_or_path: str) -> Path:
    """The file of a cabin. Raises UnknownName."""
    return _find(name_or_path, "cabin", CABINS)


def _ratings(kind: str) -> str:
    return f"{PARTS[kind].ratings}/*/*.yaml"


def _files(*where: str) -> dict[str, Path]:
    """Shipped files by their names, in order."""
    return {path.stem: path for one in where for path in sorted(FOLDER.glob(one), key=lambda path: path.stem)}


def _is_path(name_or_path: str) -> bool:
    return name_or_path.endswith(SUFFIXES) or "/" in name_or_path or "\\" in name_or_path


def _find(name_or_path: str, what: str, *where: str) -> Path:
    known = _files(*where)
    if name_or_path in known:
        return known[name_or_path]
    if Path(name_or_path).is_file():
        return Path(name_or_path)
    if _is_path(name_or_path):
        raise UnknownName(f"there is no {what} file '{name_or_path}'; expected a path to a YAML file")
    near = get_close_matches(name_or_path, known, 1) or [name for name in known if name_or_path in name]
    hint = f"did you mean '{near[0]}'?" if near else f"shipped are {', '.join(known)}"
    raise UnknownName(f"there is no {what} '{name_or_path}'; {hint}")
