"""Statements about what `pip install .` brings along."""

import tomllib
from pathlib import Path

from setuptools import find_packages

ROOT = Path(__file__).resolve().parents[3]


def test_every_room_is_named_as_a_package() -> None:
    named = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["packages"]
    assert sorted(named) == sorted([*find_packages(str(ROOT / "host")), "pulldrop.protocols"])


def test_no_two_files_of_tests_share_a_name() -> None:
    # pytest keeps one module for a name: of two files with one name it would run the first alone.
    names = [path.name for path in (ROOT / "tests").rglob("test_*.py")]
    assert sorted(names) == sorted(set(names))


def test_the_licence_that_the_package_declares_is_in_the_tree() -> None:
    declared = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["license"]
    assert (ROOT / "LICENSE").read_text().startswith(f"{declared} License\n")


def test_every_part_in_stock_goes_into_the_package() -> None:
    globs = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["package-data"]["pulldrop.plant"]
    plant = ROOT / "host" / "pulldrop" / "plant"
    assert {path for glob in globs for path in plant.glob(glob)} == set(plant.rglob("*.yaml"))


def test_the_compiled_firmware_goes_into_the_package() -> None:
    data = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["package-data"]
    folder = ROOT / "host" / "pulldrop" / "board" / "loader"
    assert [path.name for glob in data["pulldrop.board.loader"] for path in folder.glob(glob)] == ["firmware.hex"]
