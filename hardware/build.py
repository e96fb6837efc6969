"""Makes every committed file that follows from circuit.yaml; with `--check` it names the stale ones and fails."""

import sys
from pathlib import Path

import yaml

from bench import budget, drawings, lists, sheet, stress, strips
from bench import circuit as data

FOLDER = Path(__file__).resolve().parent


def outputs() -> dict[str, str]:
    """Path inside hardware/ -> text."""
    circuit = data.load()
    drawn = drawings.sheets(circuit)
    sheet.check(circuit, drawn)
    pins = yaml.safe_load((FOLDER / "pins.yaml").read_text("utf-8"))["pins"]
    return {
        "nets.csv": lists.net_list(circuit),
        "parts.csv": lists.bill_csv(circuit),
        "parts.md": lists.bill_markdown(circuit),
        "wiring.csv": strips.wiring(circuit),
        "links.csv": strips.links(circuit),
        "pins.md": lists.pin_map(circuit, pins),
        "channel_errors.yaml": budget.text(circuit),
        "stress.md": stress.markdown(circuit),
        **{f"drawings/{each.name}.svg": each.svg() for each in drawn},
    }


def stale(made: dict[str, str]) -> list[str]:
    """Names of files that differ from what would be made."""
    return [n for n, text in made.items() if not (FOLDER / n).exists() or (FOLDER / n).read_text("utf-8") != text]


def main(words: list[str]) -> int:
    """Write what changed; with --check, only say what is stale and return 1."""
    made = outputs()
    old = stale(made)
    if "--check" in words:
        for name in old:
            print(f"hardware/{name} is stale; run: python hardware/build.py", file=sys.stderr)
        return 1 if old else 0
    for name in old:
        (FOLDER / name).parent.mkdir(exist_ok=True)
        (FOLDER / name).write_text(made[name], "utf-8")
        print(f"wrote hardware/{name}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
