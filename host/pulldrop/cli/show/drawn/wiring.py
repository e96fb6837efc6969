"""The bare board's wiring as plain letters; a test holds it to the pins that firmware and building pages use."""

BARE = (
    ("85", "D10", 220, "A6"), ("86", "D11", 220, "A7"), ("87", "D8", 470, "A2"), ("87a", "D12", 470, "A3"),
    ("30", "D7", 470, "A0"),
)  # fmt: skip
"""Terminal, drive pin, its resistor in ohm, sense pin behind 10 kohm."""


def bare() -> list[str]:
    """The picture, 60 columns wide at most."""
    rows = [
        f"  {terminal:<8} {drive:<4}--[ {ohm} ohm ]--o--[ 10 kohm ]-- {sense}" for terminal, drive, ohm, sense in BARE
    ]
    at = rows[0].index("--o--") + 2
    return [
        "  terminal drive pin                        sense pin",
        *rows,
        " " * at + "|",
        " " * (at - 8) + "the socket's contact",
        "  5V --[ 10 kohm ]--o--[ NTC 10 kohm ]-- GND",
        "                    +-- A1",
        "  Leave A4, A5 and D2 open. No supply but USB.",
    ]
