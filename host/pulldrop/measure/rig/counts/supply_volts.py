"""Times of a coil on a supply that nobody can set, brought to the volts that a protocol asks for."""

from typing import Any

from pulldrop.measure.rig.counts.budget import rectangular

BROUGHT = {"operate_time": (1.35, 0.35), "transfer_time": (1.3, 0.7), "release_time": (-0.13, 0.06)}
"""By which share of the change a time is brought from the volts of a supply that nobody can set to those asked for, and
how far from that it may be. From 19 in 20 of 120 virtual parts of three classes (91 that transfer) at 10.9 to 12.3 V:
1.0 to 1.75, 0.7 to 2.1, -0.19 to -0.07, and more the lower the volts. A bounce of a part may double within 3 % of its
volts, so that it stays at the supply's."""


def brought(id: str, share: float) -> Any:
    """1, with what brings this time from volts that lie by `share` above those asked for; with its budget."""
    follows, room = BROUGHT.get(id, (0.0, 0.0))
    if not share or not follows:
        return 1.0
    return 1 + follows * share + rectangular(room * abs(share), "supply's volts", "not those asked for")
