"""Decks of the 5 V rail: its regulator with a joint open, its crowbar, and a supply that is plugged in."""

from collections.abc import Mapping

from making.circuit import Circuit
from making.decks.spice import deck, opened

RAIL = ["F1", "D1", "C1", "D3", "C2", "U1", "R1", "R2", "C3", "U9", "R9", "R24", "R28", "Q5", "R29", "R47", "C7", "Q4"]
SUPPLY_A = 1.5
"""What a supply of 1 A gives into a short (assumed); a bigger one opens F1 the sooner."""


def rail(
    circuit: Circuit,
    supply_v: float,
    joint: str = "",
    load_a: float = 0.03,
    values: Mapping[str, float] | None = None,
    rise_s: float = 10e-6,
) -> str:
    """The supply is plugged in at 1 ms, and `joint` opens at 5 ms if one is named: the rail, U9, the crowbar's gate."""
    told, held = opened(circuit, joint, 5e-3) if joint else (circuit, [])
    extra = [
        *held,
        f"vset set 0 pwl(0 0 1m 0 {1e-3 + rise_s} {supply_v})",
        f"bsupply 0 coil_in i=min({SUPPLY_A}, max(20*(v(set)-v(coil_in)), -0.01))",
        "dsupply 0 coil_in m_rectifier",
        "csupply coil_in 0 10n",
        f"bload v5 0 i={load_a}*min(max(v(v5), 0)/4, 1)",
        ".tran 2u 12m 0 2u",
        ".meas tran plugged_v max v(v5) from=1m to=4.9m",
        ".meas tran plugged_gate_v max v(fire_gate) from=1m to=4.9m",
        ".meas tran before_v find v(v5) at=4.9m",
        ".meas tran peak_v max v(v5) from=5m to=12m",
        ".meas tran over_s integ par('v(v5) > 6 ? 1 : 0') from=5m to=12m",
        ".meas tran shunt_a max par('(v(v5)-v(v5_over))/5.6') from=5m to=12m",
        ".meas tran after_v max v(v5) from=11m to=12m",
        ".meas tran rail_v max v(coil_d) from=11m to=12m",
        ".meas tran supply_a find par('(v(coil_in)-v(coil_fused))/0.4') at=11.9m",
    ]
    return deck(told, "5 V rail", RAIL, extra, values)
