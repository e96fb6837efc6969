"""What is imported before a command runs: the cause behind the time of `--help`, which no slow machine can blur."""

import subprocess
import sys

import pytest

COMMAND_LINE = {"pulldrop", "typer", "click", "shellingham", "annotated_doc", "typing_extensions", "colorama"}
"""Ours, and what parses the command line. Whoever adds to it pays at every start."""
HEAVY = {"sqlalchemy", "matplotlib", "numpy", "scipy", "uncertainties", "serial", "jinja2", "uvicorn", "starlette"}
"""Each takes a tenth of a second and more."""
LOOK = """
import sys
before = set(sys.modules)
from pulldrop.cli.main import main
code = main(sys.argv[1:])
print(code, *sorted(set(sys.modules) - before))
"""


def imported(*arguments: str) -> set[str]:
    """Modules that one command brings in."""
    ended = subprocess.run([sys.executable, "-c", LOOK, *arguments], capture_output=True, text=True, check=True)
    code, *names = ended.stdout.splitlines()[-1].split()
    assert code == "0"
    return set(names)


def test_help_imports_the_command_line_and_nothing_else() -> None:
    packages = {name.partition(".")[0] for name in imported("--help")} - sys.stdlib_module_names
    assert packages <= COMMAND_LINE


@pytest.mark.parametrize("command", [[], ["test"], ["parts"], ["health"], ["fleet"], ["board", "info"], ["calibrate"]])
def test_a_command_imports_its_rooms_when_it_runs_and_not_before(command: list[str]) -> None:
    names = imported(*command, "--help")
    assert {name for name in names if name.startswith("pulldrop.") and not name.startswith("pulldrop.cli")} == set()
    assert names & HEAVY == set()


@pytest.mark.parametrize("noun", ["protocol", "specimen"])
def test_a_list_of_names_loads_neither_the_store_nor_the_plots(noun: str) -> None:
    names = imported(noun, "list")
    assert "pulldrop.text.document" in names, "it did run"
    assert names & HEAVY == set()


def test_a_store_in_a_file_loads_no_servers_dialect() -> None:
    names = imported("parts", "list", "--store", ":memory:")
    assert "sqlalchemy.dialects.sqlite" in names, "it did open one"
    assert [name for name in names if name.startswith("sqlalchemy.dialects.postgresql")] == []


def test_a_board_is_asked_without_a_package_for_arrays() -> None:
    """numpy came with the propagation of uncertainties, which has no array to put it to."""
    names = imported("board", "info", "--board", "virtual")
    assert "uncertainties" in names, "it did measure"
    assert "numpy" not in names
