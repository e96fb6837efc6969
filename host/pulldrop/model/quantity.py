"""Numbers with units as a person writes them (`10 A`, `100 mV`) and reads them; inside, everything is SI.

A library for units would take longer to load than the rest of a command.
"""

import math
import re
from dataclasses import dataclass
from decimal import Decimal

PREFIXES = {"": 0, "M": 6, "k": 3, "m": -3, "u": -6, "µ": -6, "μ": -6, "n": -9}
"""Powers of ten. Both micro signs are here: keyboards give U+00B5, some editors U+03BC."""
UNITS = {
    "V": "V", "A": "A", "ohm": "ohm", "Ω": "ohm", "\u2126": "ohm", "s": "s", "W": "W", "Hz": "Hz",
    "degC": "degC", "°C": "degC", "K": "K", "%": "%",
}  # fmt: skip
WITHOUT_PREFIX = {"degC", "K", "%"}
_WRITTEN = re.compile(r"^\s*([+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,6})?)\s*(\S.*?)?\s*$")
_LONGEST = 60
"""No quantity that a person writes is longer; a hostile one is not quoted back at full length."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A finite number in SI units. `unit` is one of V, A, ohm, s, W, Hz, degC, K, %."""

    value: float
    unit: str

    def __str__(self) -> str:
        return show(self.value, self.unit)


def parse(text: str) -> Quantity:
    """`"100 mV"` -> Quantity(0.1, "V"). Raises ValueError with a sentence for a person."""
    quoted = f"'{text}'" if len(text) <= _LONGEST else f"'{text[:_LONGEST]}...'"
    found = _WRITTEN.match(text) if len(text) <= _LONGEST else None
    if not found:
        raise ValueError(f"{quoted} is not a quantity; write a number and a unit, such as '100 mV' or '10 A'")
    number, written = found[1], found[2] or ""
    if not written:
        raise ValueError(f"{quoted} has no unit; write a number and a unit, such as '100 mV' or '10 A'")
    if written.startswith(","):
        raise ValueError(f"{quoted} has a comma; write the decimal point as '.', such as '7.5 V'")
    power, unit = _unit(written, quoted)
    # Through Decimal, so that 35 mV is the float nearest to 0.035 and not 35 times the float nearest to 0.001.
    value = float(Decimal(number).scaleb(power))
    if not math.isfinite(value):
        raise ValueError(f"{quoted} is not a finite number")
    return Quantity(value, unit)


def _unit(written: str, quoted: str) -> tuple[int, str]:
    """Power of ten and SI unit of a written unit such as `mohm`."""
    for prefix, power in PREFIXES.items():
        unit = UNITS.get(written[len(prefix) :]) if written.startswith(prefix) else None
        if unit and not (prefix and unit in WITHOUT_PREFIX):
            return power, unit
    known = ", ".join(dict.fromkeys(UNITS.values()))
    raise ValueError(f"'{written}' in {quoted} is not a known unit; units are {known}, with M, k, m, u or n before")


def show(value: float, unit: str, uncertainty: float | None = None) -> str:
    """A value as a person reads it, `7.32 V` or `7.32 V +-0.05`, the prefix chosen from the larger of the two.

    With an uncertainty the digits follow it (two significant digits of the uncertainty, GUM 7.2.6);
    without one there are three significant digits.
    """
    if not math.isfinite(value):
        return f"{value} {unit}".rstrip()
    if uncertainty is None or not math.isfinite(uncertainty) or uncertainty <= 0:
        scale, prefix = _prefix_for(value, unit)
        return f"{_significant(value / scale)} {prefix}{unit}".rstrip()
    scale, prefix = _prefix_for(max(abs(value), uncertainty), unit)
    spread = float(f"{uncertainty / scale:.1e}")
    decimals = 1 - math.floor(math.log10(spread))
    shown = round(value / scale, decimals) + 0.0  # adding zero turns -0.0 into 0.0
    places = max(0, decimals)
    return f"{f'{shown:.{places}f} {prefix}{unit}'.rstrip()} +-{spread:.{places}f}"


def _prefix_for(value: float, unit: str) -> tuple[float, str]:
    """Scale and prefix that leave 1..999 before the unit; kiloseconds are never used."""
    if unit in WITHOUT_PREFIX or value == 0 or not unit:
        return 1.0, ""
    size = abs(value)
    for scale, prefix in ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "u")):
        if size >= scale * 0.9995 and not (unit == "s" and scale > 1):
            return scale, prefix
    return 1e-6, "u"


def _significant(number: float) -> str:
    """Three significant digits, written out: 9.996 becomes 10.0 and not 10.00."""
    if number == 0:
        return "0"
    rounded = float(f"{number:.2e}")
    decimals = max(0, 2 - math.floor(math.log10(abs(rounded))))
    return f"{rounded:.{decimals}f}"
