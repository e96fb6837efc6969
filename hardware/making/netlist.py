"""The net list for KiCad, pulldrop.net: its S-expressions, version E, with the leg numbers of the parts.

Rule: whoever draws a board from it finds every part and every net of circuit.yaml under the same names.
"""

from making.circuit import Circuit, Part

FOOTPRINTS = {
    "dip8": "Package_DIP:DIP-8_W7.62mm_Socket",
    "dip16": "Package_DIP:DIP-16_W7.62mm_Socket",
    "dip28": "Package_DIP:DIP-28_W7.62mm_Socket",
    "to220": "Package_TO_SOT_THT:TO-220-3_Vertical",
    "to92": "Package_TO_SOT_THT:TO-92_Inline",
    "sot23": "Package_TO_SOT_SMD:SOT-23",
    "sot23_5": "Package_TO_SOT_SMD:SOT-23-5",
    "nano": "Module:Arduino_Nano",
}
"""Footprints of KiCad's own libraries by package (names from memory); parts without one are left open."""


def _quoted(words: str) -> str:
    return '"' + words.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _component(part: Part) -> str:
    value = part.type.value or part.type.name
    footprint = FOOTPRINTS.get(str(part.type.figures.get("package", "")), "")
    fields = [f"(ref {_quoted(part.ref)})", f"(value {_quoted(value)})"]
    fields += [f"(footprint {_quoted(footprint)})"] if footprint else []
    fields += [f"(description {_quoted(part.does)})"] if part.does else []
    return f"    (comp {' '.join(fields)})"


def _net(circuit: Circuit, code: int, name: str, pins: list[tuple[str, str]]) -> list[str]:
    nodes = [
        f"      (node (ref {_quoted(ref)}) (pin {_quoted(circuit[ref].type.leg(pin))}) (pinfunction {_quoted(pin)}))"
        for ref, pin in pins
    ]
    nodes[-1] += ")"
    return [f'    (net (code "{code}") (name {_quoted(name)})', *nodes]


def text(circuit: Circuit) -> str:
    """The whole file."""
    design = '(design (source "circuit.yaml") (tool "hardware/build.py"))'
    lines = ['(export (version "E")', f"  {design}", "  (components"]
    lines += [_component(part) for part in circuit.parts.values()]
    lines[-1] += ")"
    lines.append("  (nets")
    for code, (name, pins) in enumerate(sorted(circuit.nets().items()), 1):
        lines += _net(circuit, code, name, pins)
    lines[-1] += "))"
    return "\n".join(lines) + "\n"
