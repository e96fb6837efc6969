"""Numbers with units as a person writes them (`10 A`, `100 mV`) and reads them; inside, everything is SI."""

import math
import re
from dataclasses import dataclass

PREFIXES = {"": 1.0, "M": 1e6, "k": 1e3, "m": 1e-3, "u": 1e-6, "µ": 1e-6, "n": 1e-9}
UNITS = {
    "V": "V", "A": "A", "ohm": "ohm", "Ω": "ohm", "s": "s", "W": "W", "Hz": "Hz",
    "degC": "degC", "°C": "degC", "K": "K", "%": "%",
}  # fmt: skip
WITHOUT_PREFIX = {"degC", "K", "%"}
_WRITTEN = re.compile(r"^\s*([+-]?\d+(?:\.\d*)?(?:[eE][+-]?\d+)?|[+-]?\.\d+)\s*([^\s\d].*?)\s*$")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A finite number in SI units. `unit` is one of V, A, ohm, s, W, Hz, degC, K, %."""

    value: float
    unit: str

    def __str__(self) -> str:
        return show(self.value, self.unit)


def parse(text: str) -> Quantity:
    """`"100 mV"` -> Quantity(0.1, "V"). Raises ValueError with a sentence for a person."""
    found = _WRITTEN.match(text)
    if not found:
        raise ValueError(f"'{text}' is not a quantity; write a number and a unit, such as '100 mV' or '10 A'")
    number, written = float(found[1]), found[2]
    if not math.isfinite(number):
        raise ValueError(f"'{text}' is not a finite number")
    for prefix, factor in PREFIXES.items():
        unit = UNITS.get(written[len(prefix) :]) if written.startswith(prefix) else None
        if unit and not (prefix and unit in WITHOUT_PREFIX):
            return Quantity(number * factor, unit)
    known = ", ".join(dict.fromkeys(UNITS.values()))
    raise ValueError(f"'{written}' in '{text}' is not a known unit; units are {known}, with M, k, m, u or n before")


def show(value: float, unit: str, uncertainty: float | None = None) -> str:
    """A value as a person reads it, `7.32 V` or `7.32 V +-0.05`, the prefix chosen from the value.

    With an uncertainty the digits follow it (two significant digits of the uncertainty);
    without one there are three significant digits.
    """
    scale, prefix = _prefix_for(value, unit)
    shown = value / scale
    if uncertainty is None or not math.isfinite(uncertainty) or uncertainty <= 0:
        return f"{_significant(shown)} {prefix}{unit}".rstrip()
    decimals = max(0, 1 - math.floor(math.log10(uncertainty / scale)))
    return f"{shown:.{decimals}f} {prefix}{unit} +-{uncertainty / scale:.{decimals}f}"


def _prefix_for(value: float, unit: str) -> tuple[float, str]:
    if unit in WITHOUT_PREFIX or value == 0 or not unit:
        return 1.0, ""
    size = abs(value)
    for scale, prefix in ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "u")):
        if size >= scale * 0.9995:
            return scale, prefix
    return 1e-6, "u"


def _significant(number: float) -> str:
    if number == 0:
        return "0"
    decimals = max(0, 2 - math.floor(math.log10(abs(number))))
    return f"{number:.{decimals}f}"
