"""The harness and the boot loaders, compiled once; this package, installed once as a person installs it."""

import shutil
import sys
import sysconfig
import venv
from pathlib import Path

import pytest
from nano_on_cable import Workshop, run

ROOT = Path(__file__).parents[3]
SHIPPED = ("host", "protocols", "pyproject.toml", "README.md", "LICENSE")
PIP = (sys.executable, "-m", "pip", "-q")
OFFLINE = ("--no-deps", "--no-index")


@pytest.fixture(scope="session")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    return Workshop(tmp_path_factory.mktemp("workshop"))


@pytest.fixture(scope="session")
def pulldrop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The command in an environment of its own, from a wheel of the tree; what it depends on is lent by this one."""
    folder = tmp_path_factory.mktemp("installed")
    tree, own = folder / "tree", folder / "own"
    tree.mkdir()
    for name in SHIPPED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, tree / name, ignore=shutil.ignore_patterns("__pycache__", "*.egg-info"))
        else:
            shutil.copy(ROOT / name, tree)
    venv.create(own, symlinks=True)
    run(*PIP, "wheel", *OFFLINE, "--no-build-isolation", "-w", folder, tree)
    (wheel,) = folder.glob("*.whl")
    run(*PIP, "--python", own / "bin" / "python", "install", *OFFLINE, "--no-compile", wheel)
    (packages,) = own.glob("lib/*/site-packages")
    (packages / "lent.pth").write_text(sysconfig.get_path("purelib"))
    return own / "bin" / "pulldrop"
