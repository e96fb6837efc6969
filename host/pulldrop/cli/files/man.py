"""`pulldrop man`: the manual page of every command, made from their help."""

from typing import Any

import typer


def man(context: typer.Context) -> None:
    """Print the manual page, for man: pulldrop man > pulldrop.1; man ./pulldrop.1"""
    print("\n".join(page(context.find_root())))


def page(root: Any) -> list[str]:
    """The page in the language of man(7), from click's context of the whole program."""
    from pulldrop import __version__

    lines = [
        f'.TH PULLDROP 1 "" "pulldrop {__version__}" "User Commands"',
        ".SH NAME",
        f"pulldrop \\- {_text(root.command.help).rstrip('.')}",
        ".SH SYNOPSIS",
        ".B pulldrop",
        "COMMAND [OPTIONS] [ARGUMENTS]",
        ".SH COMMANDS",
    ]
    for name, command in root.command.commands.items():
        lines += _command(f"pulldrop {name}", command)
    return [*lines, ".SH EXIT STATUS", _text(root.command.epilog)]


def _command(path: str, command: Any) -> list[str]:
    inner = getattr(command, "commands", None)
    if inner is not None:
        return [one for name, below in inner.items() for one in _command(f"{path} {name}", below)]
    takes = [one for one in command.params if one.param_type_name == "argument"]
    words = " ".join(one.metavar or one.name.upper() for one in takes)
    lines = [f".SS {_text(f'{path} {words}'.strip())}", _text(command.help)]
    for one in command.params:
        record = _option(one)
        if record:
            lines += [".TP", f".B {_text(record[0])}", _text(record[1])]
    return lines


def _option(one: Any) -> tuple[str, str] | None:
    if one.param_type_name == "argument":
        return (one.metavar or one.name.upper(), one.help) if one.help else None
    shown = ", ".join(one.opts)
    return (shown if one.is_flag or not one.metavar else f"{shown} {one.metavar}", one.help or "")


def _text(words: str | None) -> str:
    """A paragraph in one line, with what troff would obey written out."""
    plain = " ".join((words or "").split()).replace("\\", "\\e").replace("-", "\\-")
    return f"\\&{plain}" if plain.startswith((".", "'")) else plain
