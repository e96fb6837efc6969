"""The pages hold: every command and option of the README is there, and every file that a page links to."""

import re
from pathlib import Path

import pytest
import typer

from pulldrop.cli.main import app

ROOT = Path(__file__).parents[3]
README = (ROOT / "README.md").read_text(encoding="utf-8")
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *ROOT.glob("hardware/**/*.md"), *ROOT.glob("protocols/*.md")]
PAGES += ROOT.glob("tests/*/*.md")
OPTION = re.compile(r"--[a-z]+(?:-[a-z]+)*")


def commands() -> list[str]:
    """Every command line of the README, from the name of the program to the end of its code."""
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    spans = re.findall(r"`([^`\n]+)`", re.sub(r"```.*?```", "", README, flags=re.DOTALL))
    lines = [line.partition("#")[0] for block in blocks for line in block.splitlines()] + spans
    return sorted({found[1] for line in lines if (found := re.search(r"(?:^|/)pulldrop ([a-z].*)", line))})


def test_there_are_commands_to_look_at() -> None:
    assert len(commands()) > 30


@pytest.mark.parametrize("line", commands())
def test_a_command_of_the_readme_is_there_with_its_options(line: str) -> None:
    command = typer.main.get_command(app)
    for word in line.split():
        inside = getattr(command, "commands", {})
        if word not in inside:
            break
        command = inside[word]
    assert command.name in line.split(), f"{line}: no such command"
    known = {option for parameter in command.params for option in (*parameter.opts, *parameter.secondary_opts)}
    assert set(OPTION.findall(line)) <= known


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_a_link_of_a_page_leads_somewhere(page: Path) -> None:
    links = re.findall(r"\]\(([^)#:]+)[^)]*\)", page.read_text(encoding="utf-8"))
    assert [link for link in links if not (page.parent / link).exists()] == []


def test_no_two_decisions_share_a_number() -> None:
    records = re.findall(r"^- \*\*([\d, ]+)\*\* ", (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"), re.M)
    numbers = [number for record in records for number in record.split(", ")]
    assert len(numbers) > 100
    assert sorted(numbers) == sorted(set(numbers))


def test_the_page_for_developers_stays_short() -> None:
    page = re.sub(r"```.*?```", "", (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"), flags=re.S)
    assert sum(bool(re.search("[A-Za-z]{2}", word)) for word in page.split()) <= 3000


def test_the_resistors_of_the_bare_board_are_counted_the_same_everywhere() -> None:
    page = (ROOT / "hardware" / "bare-board.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (?:220|470|10 k)[^|]*\| (\d+)", page, re.MULTILINE)
    assert sum(map(int, rows)) == 11
    files = [ROOT / "README.md", *(ROOT / "hardware").glob("*.md"), ROOT / "hardware" / "pins.yaml"]
    files += (ROOT / "protocols").glob("*-bare.yaml")
    counted = [one for file in files for one in re.findall(r"Nano(?: and|,) (\w+) resistors", file.read_text("utf-8"))]
    assert len(counted) >= 5 and set(counted) == {"eleven"}
