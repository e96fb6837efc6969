"""The plant's coil against ngspice, a general-purpose circuit solver: the same circuit, the armature held.

The netlist is written from the part's own parameters: flux is the voltage of a capacitor of `eddy` farads, the iron is
a current source of its saturating ampere-turns, and the winding sees turns times that capacitor's slope.
"""

import resource
import subprocess
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from pulldrop.plant.relay import suppression as plant
from pulldrop.plant.relay.coil import MU0
from pulldrop.plant.relay.relay import RelayModel
from pulldrop.plant.specimen import Specimen, parts

SUPPLY_V = 13.5
ON_S, OFF_S, END_S, STEP_S = 1e-3, 61e-3, 81e-3, 20e-6
NEAR_S = 1e-9
CLAMPS: dict[str, tuple[dict[str, object], str]] = {
    "nothing": ({"kind": "none"}, ""),
    "resistor": ({"kind": "resistor", "resistor_ohm": 680.0}, "Rs plus low 680\n"),
    "diode": (
        {"kind": "diode"},
        f"Bs low plus I = V(low,plus) > {plant.DIODE_V} ? (V(low,plus) - {plant.DIODE_V}) / {plant.DIODE_OHM} : 0\n",
    ),
    "diode and zener": (
        {"kind": "diode_zener", "zener_v": 24.0},
        f"Bs low plus I = V(low,plus) > 24.7 ? (V(low,plus) - 24.7) / {plant.DIODE_OHM + plant.ZENER_OHM} : 0\n",
    ),
}
"""Inside the part, and the same as an element of the netlist. The bench's 68 V TVS is there in every case."""
RECTIFIER = "Ds low plus rectifier\n.model rectifier d(is=7n n=1.8 rs=0.04)\n"
"""A silicon rectifier by its exponential law; 1N4007 parameters as commonly published, from memory."""

Trace = npt.NDArray[np.float64]


def specimen(stuck: str, clamp: dict[str, object]) -> Specimen:
    """A 12 V relay whose armature does not move and whose winding stays as warm as it is."""
    return Specimen.model_validate(
        {"title": "held", "faults": {"stuck": stuck}, "coil": {"heating_k_per_w": 0.0}, "suppression": clamp}
    )


def netlist(part: Specimen, element: str, out: Path, most_s: float = STEP_S / 2, tolerance: float = 1e-5) -> str:
    """The bench with its switch, clamp and coil; V(f) is the flux in 10 uWb. ngspice steps by `most_s` at most."""
    coil = part.coil
    area = coil.pole_area_mm2 * 1e-6
    gap = (part.armature.travel_mm if part.faults.stuck == "at rest" else 0.0) + coil.residual_gap_mm
    flat = coil.iron_reluctance + gap * 1e-3 / (MU0 * area)
    knee = coil.saturation_t * area * 1e5
    mmf = f"1e-5 * V(f) * ({flat} + {coil.iron_reluctance} * (V(f) / {knee}) ^ 6)"
    return f"""coil and clamp
Vsupply plus 0 {SUPPLY_V}
Vgate gate 0 PULSE(0 1 {ON_S} 1n 1n {OFF_S - ON_S} 1)
Sw low 0 gate 0 fet
.model fet sw(vt=0.5 vh=0 ron={plant.SWITCH_OHM} roff=1e12)
Rleak low 0 {plant.LEAK_OHM}
Btvs low 0 I = V(low) > {plant.TVS_V} ? (V(low) - {plant.TVS_V}) / {plant.TVS_OHM} : 0
{element}Vi plus a 0
Rw a b {coil.resistance_ohm}
Lk b c {coil.leakage_mh}m
Bemf c low V = {coil.turns / coil.eddy_s} * ({coil.turns} * I(Vi) - {mmf})
Bflux 0 f I = 1e5 * ({coil.turns} * I(Vi) - {mmf}) / {coil.eddy_s}
Cf f 0 1
Rf f 0 1e12
.options reltol={tolerance} abstol=1e-10 vntol=1e-7 method=gear
.tran {STEP_S / 2} {END_S} 0 {most_s}
.control
run
linearize i(Vi)
set wr_singlescale
wrdata {out} i(Vi)
quit
.endc
.end
"""


def by_ngspice(
    part: Specimen, element: str, folder: Path, most_s: float = STEP_S / 2, tolerance: float = 1e-5
) -> Trace:
    """Coil current every 20 us from power-on."""
    out, deck = folder / "out.txt", folder / "coil.cir"
    deck.write_text(netlist(part, element, out, most_s, tolerance))
    done = subprocess.run(["ngspice", "-b", str(deck)], capture_output=True, text=True, timeout=30, check=False)
    assert out.exists(), done.stdout + done.stderr
    time_s, amps = np.loadtxt(out).T
    return np.interp(moments(), time_s, amps)


def moments() -> Trace:
    """Times at which currents are compared."""
    return np.arange(1, round(END_S / STEP_S)) * STEP_S


def by_plant(part: Specimen) -> Trace:
    """The same from the plant, its supply there long before."""
    relay = RelayModel(parts(part), 20.0)
    relay.drive(SUPPLY_V, switch=False, diode=False)
    relay.advance(0.1)
    start, at, amps = relay.t, moments(), list[float]()
    for on, until_s in ((False, ON_S), (True, OFF_S), (False, END_S)):
        relay.drive(SUPPLY_V, switch=on, diode=False)
        some = at[len(amps) : int(np.searchsorted(at, until_s + NEAR_S))]
        amps += relay.advance_through((start + some).tolist())[1]
    return np.array(amps)


def beside_jumps() -> npt.NDArray[np.bool_]:
    """Which of the moments are not those at which the switch turns."""
    jumps: npt.NDArray[np.bool_] = np.abs(moments()[:, None] - np.array([ON_S, OFF_S])).min(axis=1) > STEP_S / 2
    return jumps


def crossings(amps: Trace, full_a: float) -> list[float]:
    """When the current passes a tenth, half and nine tenths of its most: rising after ON_S, falling after OFF_S."""
    at, found = moments(), []
    for start_s, rising in ((ON_S, True), (OFF_S, False)):
        after = at >= start_s
        for share in (0.1, 0.5, 0.9):
            past = (amps >= share * full_a) == rising
            first = int(np.argmax(past & after))
            before, now = amps[first - 1], amps[first]
            found.append(at[first] - STEP_S * (now - share * full_a) / (now - before))
    return found


def compared(part: Specimen, element: str, folder: Path) -> tuple[float, float]:
    """Largest difference of current as a share of full scale, and of any crossing in seconds."""
    reference, own = by_ngspice(part, element, folder), by_plant(part)
    full_a = float(reference.max())
    times = np.subtract(crossings(own, full_a), crossings(reference, full_a))
    return float(np.abs(own - reference)[beside_jumps()].max() / full_a), float(np.abs(times).max())


@pytest.mark.parametrize("stuck", ["at rest", "operated"])
@pytest.mark.parametrize("clamp", CLAMPS)
def test_a_held_coil_agrees_with_ngspice(clamp: str, stuck: str, tmp_path: Path) -> None:
    inside, element = CLAMPS[clamp]
    share, seconds = compared(specimen(stuck, inside), element, tmp_path)
    print(f"ngspice, {clamp}, armature {stuck}: {100 * share:.3f} % of full scale, {1e6 * seconds:.1f} us")
    assert share < 0.01
    assert seconds < 20e-6


def test_the_straight_line_that_stands_for_a_diode_is_near_enough_to_the_real_curve(tmp_path: Path) -> None:
    """The plant's diode is a straight line of 0.70 V and 0.6 ohm; the reference is the exponential law."""
    share, _ = compared(specimen("operated", {"kind": "diode"}), RECTIFIER, tmp_path)
    print(f"ngspice, exponential diode: {100 * share:.3f} % of full scale")
    assert share < 0.01


def spent(clock: Callable[[], float], work: Callable[[], object]) -> float:
    """The least of five times."""
    times = []
    for _ in range(5):
        began = clock()
        work()
        times.append(clock() - began)
    return min(times)


def of_children() -> float:
    """Processor seconds of the programs that were started and have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


@pytest.mark.parametrize("clamp", ["nothing", "diode"])
def test_a_held_coil_takes_a_tenth_of_what_ngspice_takes_at_the_same_error(clamp: str, tmp_path: Path) -> None:
    """Its own start left out, and with the widest of three settings at which its error is no more than the plant's."""
    inside, element = CLAMPS[clamp]
    part, beside = specimen("operated", inside), beside_jumps()
    fine = by_ngspice(part, element, tmp_path, 1e-6, 1e-7)
    own_s = spent(time.process_time, lambda: by_plant(part))
    most = np.abs(by_plant(part) - fine)[beside].max()
    empty = tmp_path / "empty.cir"
    empty.write_text("start\nR1 a 0 1\nV1 a 0 1\n.control\nop\nquit\n.endc\n.end\n")
    start_s = spent(of_children, lambda: subprocess.run(["ngspice", "-b", str(empty)], check=True, capture_output=True))
    for most_s, tolerance in ((STEP_S, 1e-3), (STEP_S, 1e-4), (STEP_S / 2, 1e-5)):
        work = partial(by_ngspice, part, element, tmp_path, most_s, tolerance)
        share = float(np.abs(work() - fine)[beside].max() / most)
        if share <= 1:
            break
    times = (spent(of_children, work) - start_s) / own_s
    print(f"ngspice, {clamp}: {times:.1f} times the plant's time with {share:.2f} of its error ({tolerance:g})")
    assert share <= 1
    assert times > 10
