"""Relays as a kind of part. Their contacts by form stand in `part/relay.py`, their rated values in `part/rating.py`."""

from pulldrop.model.part.rating import Rating
from pulldrop.model.part.relay import Relay

PART, RATING = Relay, Rating
