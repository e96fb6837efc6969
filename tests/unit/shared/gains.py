"""What tests ask of a channel of a calibration."""

import math

from pulldrop.model.bench.calibration import Channel


def u_gain(channel: Channel) -> float:
    """Relative standard uncertainty of its gain, every cause together."""
    return math.hypot(channel.u_gain, *(one.u for one in channel.shares))
