"""The relay as a kind of part; its physics is in `plant/relay`."""

from pulldrop.plant.specimen import Specimen

SPECIMEN = Specimen
