"""What the iron keeps of the fields it was in: a trace with a sign, which a reversed field weakens and then turns over.

Rule: only strongest fields count, never how often or how long. Hardened iron is meant, far from full; soft iron keeps
nothing, and nothing here touches it. The shape of all of it is assumed, and said so where it is.
"""

MOST_FIELD = 2.0
"""Times nominal: a stronger field leaves no more in the iron (assumed)."""
COERCIVE, GONE = 0.5, 1.5
"""Reversed ampere-turns, as shares of what nominal ones leave in the iron: where the strongest trace begins to go, and
where no trace is left (assumed). At a share of one the flux is nothing while the current flows: a coercive field. From
twice GONE on a field leaves its own trace, as if none had been before (assumed)."""


def traced(trace_a: float, field_a: float, nominal_a: float, kept_a: float) -> float:
    """The field whose trace is left, in ampere-turns with sign, after one of `field_a` came upon that of `trace_a`.

    `kept_a`: ampere-turns that a field of `nominal_a` leaves; what is left of another one is in proportion (assumed).
    """
    if trace_a < 0:
        return -traced(-trace_a, -field_a, nominal_a, kept_a)
    if field_a >= 0:
        return min(max(trace_a, field_a), MOST_FIELD * nominal_a)
    share = -field_a / abs(kept_a) if kept_a else 0.0
    if share <= COERCIVE:
        return trace_a
    if share < GONE:
        return min(trace_a, MOST_FIELD * nominal_a * ((GONE - share) / (GONE - COERCIVE)) ** 2)
    return max(field_a * min((share - GONE) / GONE, 1.0), -MOST_FIELD * nominal_a)
