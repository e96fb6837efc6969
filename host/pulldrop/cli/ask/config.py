"""The person's own settings: a file of board, store and operator, which stand where an option is left out.

Rule: an option always beats the file, and a simulated board never writes into the store that the file names.
"""

from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pulldrop.cli.ask.config_shape import Config


def file() -> Path:
    """Where the file is, whether or not there is one."""
    from platformdirs import user_config_path

    return user_config_path("pulldrop", appauthor=False) / "config.yaml"


def load() -> "Config":
    """The file's settings; empty without a file. Raises BadText with file, line and column."""
    from pulldrop.cli.ask.config_shape import Config
    from pulldrop.text.document import read
    from pulldrop.text.shape import fit

    place = file()
    return fit(read(place), Config) if place.is_file() else Config()


def defaults(command: Any, arguments: list[str]) -> dict[str, Any]:
    """What stands for options left out, by command and subcommand, as click's `default_map`. Raises BadText.

    `command`: click's group of all commands.
    """
    if not arguments or "--help" in arguments or arguments[0] == "config" or not file().is_file():
        return {}
    found = load().model_dump(exclude_none=True)
    if any(word in one for one in (*arguments, found.get("board", "")) for word in ("virtual", "emulated")):
        found.pop("store", None)
    return _of(command, found)


def _of(command: Any, found: dict[str, str]) -> dict[str, Any]:
    inner = getattr(command, "commands", None)
    if inner is not None:
        return {name: _of(one, found) for name, one in inner.items()}
    takes = {one.name for one in command.params if one.name != "board" or one.default == "auto"}
    return {name: value for name, value in found.items() if name in takes}
