"""What a limit means for one measurement of one rated part: text to numbers, or the reason why not.

Rule: nothing is scaled or guessed. A figure that the rating does not give, or gives at another load, is no limit.
"""

from dataclasses import dataclass

from pulldrop.model.limit import Source
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.pair import ContactState
from pulldrop.model.part.rating import Drop, KindRating, OhmRange, Rating
from pulldrop.model.part.relay import FORMS
from pulldrop.model.quantity import show
from pulldrop.model.scale import CONTACT_DROP
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.protocol.expression import GRADED, Amount, Around, AsRated, BadLimit, Bounds, Expression, SoundStates


class NoFigure(Exception):
    """The rating gives no number for this limit; the message says which, and no limit comes of it."""


@dataclass(frozen=True, slots=True)
class Applied:
    """A limit in numbers. `figure` is the rating's figure behind it, None when it is the protocol's own.

    `source`: where an edge of the scale comes from.
    """

    text: str
    low: float | None = None
    high: float | None = None
    state: ContactState | None = None
    figure: str | None = None
    source: Source | None = None


def check(limit: Expression, id: str, load_a: float | None) -> None:
    """Raises BadLimit when this limit can have no meaning for measurement `id`.

    `load_a`: amps of the contact step; None where they cannot be read.
    """
    if id == "flyback_class":
        raise BadLimit("what clamps the coil is noted and has no limit; take this one out")
    of_table = MEASUREMENTS[id].rated is not None and not MEASUREMENTS[id].unit
    if isinstance(limit, AsRated) or of_table:
        if not (isinstance(limit, AsRated) and of_table):
            expected = "'as rated'" if of_table else "another limit; 'as rated' is for the table of a switch"
            raise BadLimit(f"expected {expected}", 0)
    elif isinstance(limit, SoundStates):
        if unit := MEASUREMENTS[id].unit:
            raise BadLimit(f"expected a limit in {unit}, not a contact state", limit.offset)
        wanted = "operated" if MEASUREMENTS[id].at == "operated" else "at rest"
        if limit.operated != (wanted == "operated"):
            raise BadLimit(f"a sound part is then {wanted}; expected '{wanted}'", limit.offset)
    elif not MEASUREMENTS[id].unit:
        raise BadLimit("a contact state has no number; expected 'at rest' or 'operated'")
    elif isinstance(limit, Around):
        _check_amount(limit.centre, id, {"nominal"})
        _check_spread(limit, id)
    else:
        for amount, side in ((limit.low, "lowest"), (limit.high, "highest")):
            if amount:
                _check_amount(amount, id, {side, "nominal"})
                _check_scale(amount, id, side, load_a)
        if limit.otherwise:
            check(limit.otherwise, id, load_a)


def _check_amount(amount: Amount, id: str, sides: set[str]) -> None:
    unit = MEASUREMENTS[id].unit
    if not amount.of and amount.unit != unit:
        raise BadLimit(f"the limit is in {amount.unit}; expected {unit}", amount.offset)
    if amount.of == "nominal" and not MEASUREMENTS[id].of_nominal:
        raise BadLimit("a share of the nominal coil voltage is no limit here", amount.offset)
    if amount.of == "rated":
        _check_rated(amount, id, sides)


def _check_scale(amount: Amount, id: str, side: str, load_a: float | None) -> None:
    """An edge of the scale is the highest contact drop, for a load of that many amps alone."""
    if amount.of not in GRADED:
        return
    if id not in ContactStep.gives:
        raise BadLimit(f"'{amount.of}' is an edge of the scale of contact drop; expected a quantity", amount.offset)
    if side != "highest":
        raise BadLimit(f"the scale of contact drop gives the highest; expected '<= {amount.of}'", amount.offset)
    if load_a not in (None, CONTACT_DROP.load):
        raise BadLimit(
            f"the scale of contact drop holds at {CONTACT_DROP.load:g} A and 'contact' loads with {load_a:g} A;"
            " a drop is not brought that far from one current to another, so write a limit of your own",
            amount.offset,
        )


def _check_rated(amount: Amount, id: str, sides: set[str]) -> None:
    if id == "coil_resistance":
        raise BadLimit("coils are rated at 20 degC; write this limit for 'coil_resistance_20c'", amount.offset)
    rated = MEASUREMENTS[id].rated
    if rated is None:
        raise BadLimit("a rating gives no figure for this; expected a quantity", amount.offset)
    if rated.side not in sides:
        sign = "<=" if rated.side == "highest" else ">="
        raise BadLimit(f"a rating gives only the {rated.side}; expected '{sign} rated'", amount.offset)


def _check_spread(limit: Around, id: str) -> None:
    if limit.spread is None:
        if limit.centre.of != "rated":
            raise BadLimit("'tolerance' is that of the rating; expected 'rated' before it", limit.centre.offset)
    elif limit.spread.unit not in ("%", MEASUREMENTS[id].unit):
        raise BadLimit(
            f"the spread is in {limit.spread.unit}; expected {MEASUREMENTS[id].unit} or %", limit.spread.offset
        )


def apply(limit: Expression, id: str, rating: KindRating, load_a: float | None) -> Applied:
    """The limit in numbers for a part of this rating, contacts loaded with `load_a`. Raises NoFigure."""
    if isinstance(limit, AsRated):
        if not getattr(rating, _figure(id)):
            raise NoFigure("the table of this switch is not known yet")
        return Applied(text=f"the table {rating.rating}", figure=_figure(id))
    if isinstance(limit, SoundStates):
        assert isinstance(rating, Rating)
        state = FORMS[rating.form].at("operated" if limit.operated else "rest")
        return Applied(text=str(state), state=state)
    if isinstance(limit, Around):
        return _around(limit, id, rating, load_a)
    try:
        return _bounds(limit, id, rating, load_a)
    except NoFigure:
        if not limit.otherwise:
            raise
        return apply(limit.otherwise, id, rating, load_a)


def _bounds(limit: Bounds, id: str, rating: KindRating, load_a: float | None) -> Applied:
    unit = MEASUREMENTS[id].unit
    low = _value(limit.low, id, rating, load_a) if limit.low else None
    high = _value(limit.high, id, rating, load_a) if limit.high else None
    notes = [_origin(a, id, rating, load_a) for a in (limit.low, limit.high) if a and a.of]
    note = f" ({'; '.join(notes)})" if notes else ""
    figure = _figure(id) if any(a and a.of == "rated" for a in (limit.low, limit.high)) else None
    source = CONTACT_DROP.source if limit.high and limit.high.of in GRADED else None
    if low is not None and high is not None:
        if low >= high:
            raise NoFigure(f"its lower end {show(low, unit)} is not below its upper end {show(high, unit)}{note}")
        return Applied(f"{show(low, unit)} .. {show(high, unit)}{note}", low, high, figure=figure, source=source)
    text = f"<= {show(high, unit)}" if high is not None else f">= {show(low or 0.0, unit)}"
    return Applied(text + note, low, high, figure=figure, source=source)


def _around(limit: Around, id: str, rating: KindRating, load_a: float | None) -> Applied:
    unit, rated = MEASUREMENTS[id].unit, getattr(rating, _figure(id)) if limit.centre.of else None
    if limit.centre.of and isinstance(rated, OhmRange):
        if limit.spread:
            raise NoFigure(f"the rating '{rating.rating}' gives a range, {rated}, which has no centre")
        return Applied(f"{rated} (rated)", rated.least, rated.most, figure=_figure(id))
    centre = _value(limit.centre, id, rating, load_a)
    spread, spread_unit = _tolerance(rating), "%"
    if limit.spread:
        spread, spread_unit = limit.spread.value, limit.spread.unit
    if spread is None:
        raise NoFigure("the rating gives no tolerance")
    half = centre * spread / 100 if spread_unit == "%" else spread
    low, high = max(0.0, centre - half), centre + half
    written = f"{spread:g} %" if spread_unit == "%" else show(spread, unit)
    of = "rated " if limit.centre.of else ""
    figure = _figure(id) if limit.centre.of else None
    text = f"{show(low, unit)} .. {show(high, unit)} ({of}{show(centre, unit)} +-{written})"
    return Applied(text, low, high, figure=figure)


def _value(amount: Amount, id: str, rating: KindRating, load_a: float | None) -> float:
    if not amount.of:
        return amount.value
    if amount.of in GRADED:
        return CONTACT_DROP.edge(amount.of)
    whole = rating.system_v if amount.of == "nominal" else _rated(id, rating, load_a)
    return whole * (amount.value / 100)


def _tolerance(rating: KindRating) -> float | None:
    """In percent, either way; None where the rating gives none."""
    found: float | None = rating.coil_tolerance if isinstance(rating, Rating) else getattr(rating, "tolerance", None)
    return found


def _figure(id: str) -> str:
    """Of a measurement that a rating has one for, as `check` saw to."""
    rated = MEASUREMENTS[id].rated
    assert rated is not None
    return rated.figure


def _rated(id: str, rating: KindRating, load_a: float | None) -> float:
    """The rated figure in SI; a contact drop only at the load current at which it is rated."""
    figure = _figure(id)
    value = getattr(rating, figure)
    if value is None:
        raise NoFigure(f"the rating '{rating.rating}' gives no '{figure}'")
    if isinstance(value, OhmRange):
        raise NoFigure(f"the rating '{rating.rating}' gives a range of '{figure}', {value}; write 'rated +- tolerance'")
    if not isinstance(value, Drop):
        return float(value)
    if load_a is None or abs(value.at - load_a) > 1e-6:
        raise NoFigure(
            f"the rating '{rating.rating}' gives '{figure}' at {value.at:g} A and the protocol loads with"
            f" {load_a or 0:g} A; a drop is not brought that far from one current to another"
        )
    return value.most


def _origin(amount: Amount, id: str, rating: KindRating, load_a: float | None) -> str:
    """The words in brackets behind a relative limit."""
    if amount.of == "nominal":
        return f"{amount.value:g} % of nominal {rating.system_v:g} V"
    if amount.of in GRADED:
        return f"scale: {amount.of}"
    if amount.value == 100.0:
        return "rated"
    return f"{amount.value:g} % of rated {show(_rated(id, rating, load_a), MEASUREMENTS[id].unit)}"
