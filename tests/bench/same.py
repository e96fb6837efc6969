"""What a change of structure must leave alone: readings, verdicts, faults of all parts in stock; three campaigns.

`--write FILE` keeps what this tree gives, `--against FILE` compares it with what another tree gave, digit for digit.
Both run the command itself, so a tree may name its modules and protocols as it likes.
"""

import json
import os
import subprocess
import sys
import tempfile
from argparse import ArgumentParser
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from pulldrop.plant import stock
from pulldrop.plant.specimen import Specimen
from pulldrop.text.document import parse
from pulldrop.text.shape import fit

ROOT = Path(__file__).parents[2]
PURPOSES = ("quick", "full", "diagnose")
CAMPAIGNS = {
    "crate": ("--seed", "4", "--parts", "40"),
    "diagnosis": ("--seed", "2", "--parts", "1", "--sound", "30"),
    "coverage": ("--seed", "2", "--parts", "24"),
}
CLOCKED = ("cpu", "wall", "seconds", "bench_s", "_s", "time_ratio")
"""Endings of figures that a clock made: they differ from run to run."""


def tested(name: str, purpose: str, store: str) -> dict[str, Any]:
    """Verdict, faults and readings of one stock part; what was refused carries the sentence instead."""
    printed = fit(parse(stock.text(name), name), Specimen)
    rated = f"class-mini-{printed.nominal_v:g}v-form-{'c' if printed.form == 'C' else 'a'}"
    command = ["--board", "virtual", "--specimen", name, "--protocol", f"relay-{purpose}", "--rating", rated]
    command += ["--json", "--store", store]
    said = subprocess.run([ROOT / ".venv/bin/pulldrop", "test", *command], capture_output=True, text=True, check=False)
    try:
        record = json.loads(said.stdout)
    except ValueError:
        return {"exit": said.returncode, "said": said.stdout + said.stderr}
    if "verdict" not in record:
        return {"exit": said.returncode, "said": record}
    return {
        "exit": said.returncode,
        "overall": record["verdict"]["overall"],
        "faults": [[fault["id"], fault["weight"]] for fault in record["faults"]],
        "readings": {
            line["id"]: [
                line["outcome"],
                *(line["finding"].get(key) for key in ("value", "state", "bound", "budget", "raw")),
            ]
            for line in record["judged"]
            if line.get("finding")
        },
    }


def campaign(name: str) -> dict[str, Any]:
    """The last line of one campaign, without what a clock made."""
    said = subprocess.run(
        ["sh", ROOT / "tests/bench/run", name, *CAMPAIGNS[name]], capture_output=True, text=True, check=False
    )
    made: dict[str, Any] = unclocked(json.loads(said.stdout.splitlines()[-1]))
    return made


def unclocked(told: Any) -> Any:
    """The same without what a clock made, however deep it stands."""
    if isinstance(told, dict):
        return {key: unclocked(one) for key, one in told.items() if not clocked(key)}
    if isinstance(told, list):
        return [unclocked(one) for one in told if not (isinstance(one, dict) and clocked(str(one.get("name", ""))))]
    return told


def clocked(name: str) -> bool:
    """Whether a figure of this name differs from run to run."""
    return name.endswith(CLOCKED) or "CPU" in name


def dump() -> dict[str, Any]:
    """Everything, by name."""
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(os.cpu_count()) as pool:
        runs = {
            f"{name} {purpose}": pool.submit(tested, name, purpose, f"{folder}/{name}-{purpose}.db")
            for name in stock.names()
            for purpose in PURPOSES
        }
        runs |= {name: pool.submit(campaign, name) for name in CAMPAIGNS}
        return {name: run.result() for name, run in runs.items()}


def differences(before: Any, after: Any, where: str = "") -> list[str]:
    """Every place where two dumps differ, with both contents."""
    if isinstance(before, dict) and isinstance(after, dict):
        keys = before.keys() | after.keys()
        return [line for key in sorted(keys) for line in differences(before.get(key), after.get(key), f"{where}/{key}")]
    if isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        pairs = enumerate(zip(before, after, strict=True))
        return [line for at, (one, other) in pairs for line in differences(one, other, f"{where}/{at}")]
    return [] if before == after else [f"{where}: {before!r:.200} became {after!r:.200}"]


def main() -> int:
    """Write or compare; 1 when something differs."""
    parser = ArgumentParser(description=__doc__)
    chosen = parser.add_mutually_exclusive_group(required=True)
    chosen.add_argument("--write", type=Path)
    chosen.add_argument("--against", type=Path)
    given = parser.parse_args()
    made = json.loads(json.dumps(dump()))
    if given.write:
        given.write.write_text(json.dumps(made))
        print(f"{len(made)} kept")
        return 0
    found = differences(json.loads(given.against.read_text()), made)
    print("\n".join(found))
    print(json.dumps({"compared": len(made), "differences": len(found)}))
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
