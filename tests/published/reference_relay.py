"""A relay by `scipy.integrate.solve_ivp`, rewritten from the equations that the plant's docstrings state.

It shares no step, no network and no state with the plant: the clamp is solved for its voltage at every moment, stops
are events, and the method is implicit with an error control of its own.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from pulldrop.plant.specimen import Specimen

PHI, AMPS, S, V, Z, W = range(6)
SWITCH_OHM, LEAK_OHM, TVS_V, TVS_OHM, DIODE_V, DIODE_OHM, ZENER_OHM = 0.87, 104.7e3, 68.0, 2.0, 0.70, 0.6, 5.0
REBOUND_M_PER_S = 0.01
FREE, AT_REST, SEATED, STUCK = "free", "at rest", "seated", "stuck"

State = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Trace:
    """Moments with the state at each, and the touches of NO and NC as (seconds, throw, closed)."""

    at: State
    states: State
    touches: tuple[tuple[float, int, bool], ...]

    def first(self, throw: int, closed: bool) -> float:
        """Seconds until a throw first opens or closes."""
        return next(t for t, which, state in self.touches if (which, state) == (throw, closed))

    def amps(self, at: State) -> State:
        """Coil current at other moments."""
        return np.interp(at, self.at, self.states[AMPS])


class Reference:
    """One part at 20 degC, its winding not warmed, its hinge's friction as given."""

    def __init__(self, part: Specimen, supply_v: float, bench_diode: bool = False) -> None:
        self.part, self.supply_v, self.bench_diode = part, supply_v, bench_diode
        coil, arm = part.coil, part.armature
        self.area = coil.pole_area_mm2 * 1e-6
        self.travel, self.no_at = arm.travel_mm * 1e-3, (arm.travel_mm - arm.overtravel_mm) * 1e-3
        self.nc_at = arm.nc_press_mm * 1e-3 if part.form == "C" else -1.0
        self.k_leaf, self.k_fixed = arm.leaf_n_per_mm * 1e3, arm.fixed_n_per_mm * 1e3
        self.c_leaf = 2 * arm.leaf_damping * math.sqrt(self.k_leaf * arm.contact_g * 1e-3)
        self.closed = False

    # --- electrical ---

    def coil_v(self, amps: float) -> float:
        """Volts across the winding and leakage when it carries `amps`: all that is outside takes just this current."""
        return -float(brentq(lambda w: self._outside(w) - amps, -1e6, 1e6, xtol=1e-9, rtol=1e-12))

    def _outside(self, w: float) -> float:
        low = w + self.supply_v
        amps = low / LEAK_OHM + max(0.0, low - TVS_V) / TVS_OHM
        amps += low / SWITCH_OHM if self.closed else 0.0
        amps += max(0.0, w - DIODE_V) / DIODE_OHM if self.bench_diode else 0.0
        suppression = self.part.suppression
        if suppression.kind == "resistor":
            amps += w / suppression.resistor_ohm
        elif suppression.kind == "diode":
            amps += max(0.0, w - DIODE_V) / DIODE_OHM
        elif suppression.kind == "diode_zener":
            amps += max(0.0, w - DIODE_V - suppression.zener_v) / (DIODE_OHM + ZENER_OHM)
        return amps

    def mmf(self, phi: float, gap: float) -> float:
        coil = self.part.coil
        iron = coil.iron_reluctance * (1 + (phi / (coil.saturation_t * self.area)) ** 6)
        return phi * (iron + (gap + coil.residual_gap_mm * 1e-3) / (4e-7 * math.pi * self.area))

    # --- mechanical ---

    def fixed(self, depth: float, speed: float) -> float:
        """Hunt and Crossley's contact, which never pulls."""
        if depth <= 0:
            return 0.0
        return max(0.0, self.k_fixed * depth * (1 + self.part.armature.contact_damping_s_per_m * speed))

    def leaf(self, y: State) -> float:
        return self.k_leaf * (y[S] - y[Z]) + self.c_leaf * (y[V] - y[W])

    def net(self, y: State) -> float:
        """Pull less springs on the armature, friction not counted."""
        arm = self.part.armature
        pull = y[PHI] ** 2 / (8e-7 * math.pi * self.area)
        return float(pull - arm.return_n - arm.return_n_per_mm * 1e3 * y[S] - self.leaf(y))

    def slopes(self, y: State, mode: str, sense: float) -> list[float]:
        coil, arm = self.part.coil, self.part.armature
        flux = (coil.turns * y[AMPS] - self.mmf(y[PHI], self.travel - y[S])) / coil.eddy_s
        leak = coil.leakage_mh * 1e-3
        current = (self.coil_v(y[AMPS]) - coil.resistance_ohm * y[AMPS] - coil.turns * flux) / leak
        force = self.net(y) - sense * arm.friction_n if mode == FREE else 0.0
        contact = self.leaf(y) - self.fixed(y[Z] - self.no_at, y[W]) + self.fixed(self.nc_at - y[Z], -y[W])
        speed = y[V] if mode == FREE else 0.0
        return [flux, current, speed, 1e3 * force / arm.mass_g, y[W], 1e3 * contact / arm.contact_g]

    # --- runs ---

    def at_rest(self, seated: bool) -> State:
        """State of equilibrium with the switch as it is, the armature at one of its stops."""
        coil = self.part.coil
        amps = float(brentq(lambda i: self.coil_v(i) - coil.resistance_ohm * i, 0.0, 1.0, xtol=1e-12))
        s = self.travel if seated else 0.0
        flux = float(brentq(lambda phi: self.mmf(phi, self.travel - s) - coil.turns * amps, 0.0, 1e-3, xtol=1e-16))
        fixed_at = self.no_at if s > self.no_at else self.nc_at
        both = (self.k_leaf * s + self.k_fixed * fixed_at) / (self.k_leaf + self.k_fixed)
        return np.array([flux, amps, s, 0.0, both if s > self.no_at or s < self.nc_at else s, 0.0])

    def switched(self, on: bool, seconds: float) -> Trace:
        """From rest with the switch the other way, the supply at its volts all the time."""
        self.closed = not on
        y, mode, sense, t = self.at_rest(seated=not on), SEATED if not on else AT_REST, 1.0, 0.0
        self.closed = on
        times, states, touches = [np.array([0.0])], [y[:, None]], []
        while t < seconds:
            found = self._segment(y, mode, sense, t, seconds)
            times.append(found.t[1:])
            states.append(found.y[:, 1:])
            for throw, moments in enumerate(found.t_events[:2]):
                for at, state in zip(moments, found.y_events[throw], strict=True):
                    touches.append((at, throw, bool((state[W] > 0) == (throw == 0))))
            y, t = found.y[:, -1].copy(), found.t[-1]
            mode, sense = self._after(y, mode, found.t_events)
        return Trace(np.concatenate(times), np.concatenate(states, axis=1), tuple(sorted(touches)))

    def _segment(self, y: State, mode: str, sense: float, t: float, end: float):  # type: ignore[no-untyped-def]  # scipy
        friction = self.part.armature.friction_n
        events = [lambda t, y: y[Z] - self.no_at, lambda t, y: y[Z] - self.nc_at]
        if mode == FREE:
            ends = [lambda t, y: self.travel - y[S], lambda t, y: y[S], lambda t, y: sense * y[V] + 1e-9]
        else:
            ends = [lambda t, y: friction - self.net(y), lambda t, y: friction + self.net(y), lambda t, y: 1.0]
            ends[0 if mode == SEATED else 1] = lambda t, y: 1.0
        for event in ends:
            event.terminal, event.direction = True, -1  # type: ignore[attr-defined]  # as scipy asks
        return solve_ivp(
            lambda t, y: self.slopes(y, mode, sense), (t, end), y, "Radau", events=events + ends,
            rtol=1e-6, atol=[1e-12, 1e-8, 1e-9, 1e-6, 1e-9, 1e-6], max_step=50e-6,
        )  # fmt: skip

    def _after(self, y: State, mode: str, events: list[State]) -> tuple[str, float]:
        """What the armature does after the event that ended a segment; `y` is put at its stop."""
        first, second, turned = (len(one) > 0 for one in events[2:])
        restitution = self.part.armature.restitution
        if mode != FREE:
            return FREE, 1.0 if first else -1.0
        if first or second:
            y[S], bounced = (self.travel if first else 0.0), -restitution * y[V]
            y[V] = bounced if abs(bounced) > REBOUND_M_PER_S else 0.0
            return (FREE if y[V] else SEATED if first else AT_REST), -1.0 if first else 1.0
        assert turned or len(events) == 5
        y[V] = 0.0
        net, friction = self.net(y), self.part.armature.friction_n
        return (FREE, math.copysign(1.0, net)) if abs(net) > friction else (STUCK, 1.0)
