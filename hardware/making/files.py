"""Which committed file is made from what; nothing is written here."""

import yaml

from making import checklist, lists, netlist
from making import circuit as data
from making.copper import onboard, onboard_lists, strips
from making.drawn import around, boards, layout, legs, one_board, place_evening, sheet, sheets
from making.evening import cases, loose
from making.limits import budget, faults, stress, worst

FOLDER = data.FOLDER


def outputs() -> dict[str, str]:
    """Path inside hardware/ -> text, of every build."""
    return full() | {f"evening/{name}": text for name, text in evening().items()}


def full() -> dict[str, str]:
    """Path inside hardware/ -> text, of the full bench."""
    circuit = data.load()
    drawn = sheets.drawn(circuit)
    sheet.check(circuit, drawn)
    pins = yaml.safe_load((FOLDER / "pins.yaml").read_text("utf-8"))["pins"]
    return {
        "lists/nets.csv": lists.net_list(circuit),
        "lists/pulldrop.net": netlist.text(circuit),
        "lists/parts.csv": lists.bill_csv(circuit),
        "parts.md": lists.bill_markdown(circuit),
        "lists/wiring.csv": strips.wiring(circuit),
        "lists/links.csv": strips.links(circuit),
        "wires.md": checklist.text(circuit),
        "pins.md": lists.pin_map(circuit, pins),
        "channel_errors.yaml": budget.text(circuit),
        "stress.md": stress.markdown(circuit, faults.cases(circuit), worst.pulse_cut(circuit)[1]),
        **{f"drawings/{each.name}.svg": each.svg() for each in drawn},
        "drawings/boards/layout.svg": layout.picture(),
        "drawings/legs.svg": legs.picture(circuit),
        **{f"drawings/boards/{name}": picture for name, picture in boards.pictures(circuit).items()},
    }


def evening() -> dict[str, str]:
    """Path inside hardware/evening/ -> text."""
    circuit = data.load("evening")
    board = onboard.checked(circuit, data.listed("evening/board.yaml"))
    drawn = place_evening.drawn(circuit)
    sheet.check(circuit, drawn)
    return {
        "evening.net": netlist.text(circuit),
        "parts.csv": lists.bill_csv(circuit),
        "parts.md": lists.one_board_bill(circuit),
        "legs.md": onboard_lists.ticks(circuit, board),
        "README.md": onboard_lists.filled(
            (FOLDER / "evening/README.md").read_text("utf-8"),
            {
                "cost": lists.one_board_cost(circuit),
                "cuts": onboard_lists.cuts(board),
                "wires": onboard_lists.wiring(circuit, board),
            },
        ),
        "stress.md": cases.text(circuit),
        "drawings/board.svg": one_board.picture(circuit, board, "Evening build: the board by holes"),
        **{f"drawings/{each.name}.svg": each.svg() for each in drawn},
        "drawings/around.svg": around.picture(circuit, board),
        "drawings/legs.svg": legs.picture(circuit),
    }


def simulated() -> dict[str, str]:
    """Path inside hardware/ -> text, of what ngspice must be asked about; takes a minute."""
    circuit = data.load("evening")
    board = onboard.checked(circuit, data.listed("evening/board.yaml"))
    return {"evening/loose_wires.md": loose.text(circuit, board)}


def stale(made: dict[str, str]) -> list[str]:
    """Names of files that differ from what would be made."""
    return [n for n, text in made.items() if not (FOLDER / n).exists() or (FOLDER / n).read_text("utf-8") != text]
