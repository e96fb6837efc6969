"""Terminal numbers of vehicle electrics and what each means, after DIN 72552; relays use 30, 85, 86, 87, 87a."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Terminal:
    """One number of the standard; `relay` when it is found on the relays that this bench tests."""

    number: str
    meaning: str
    relay: bool = False


TERMINALS = {
    t.number: t
    for t in (
        Terminal("15", "battery plus behind the ignition switch"),
        Terminal("30", "battery plus, always live; on a relay the common contact", relay=True),
        Terminal("31", "ground, battery minus"),
        Terminal("50", "starter control"),
        Terminal("56a", "main beam"),
        Terminal("56b", "dipped beam"),
        Terminal("85", "coil, minus end", relay=True),
        Terminal("86", "coil, plus end", relay=True),
        Terminal("87", "normally open contact (NO)", relay=True),
        Terminal("87a", "normally closed contact (NC)", relay=True),
    )
}


def terminals_of(form: str) -> tuple[str, ...]:
    """Numbers on a relay of contact form "A" (4 terminals) or "C" (5 terminals)."""
    return tuple(t.number for t in TERMINALS.values() if t.relay and (form == "C" or t.number != "87a"))
