"""A full bench as it is after each stage of the guide: which parts of the bus are not there yet, what is not fed."""

from dataclasses import replace

from broken_bench.effect import COIL_CURRENT, LOAD_SUPPLY, LOW_SIDE, WHOLE, Effect

USB = Effect(usb=True, no_supply=True, no_load=True, low=frozenset({COIL_CURRENT, LOW_SIDE, LOAD_SUPPLY}))
"""Stages 1 to 3, and the three pins that the guide ties to ground there."""
SILENT: dict[int, set[str]] = {
    1: {"bus", "dac", "ads", "ina", "ports", "scan"},
    2: {"ina", "ports", "scan"},
    3: {"ina"},
}
"""Parts of the bus that are not there yet."""


def built(stage: int) -> Effect:
    """A bench as it is after a stage."""
    silent = frozenset(SILENT.get(stage, ()))
    if stage < 4:
        return replace(USB, deaf=silent)
    return Effect(no_load=True, low=frozenset({LOAD_SUPPLY})) if stage == 4 else WHOLE
