"""What is wrong with each part in stock, by the ids of the diagnosis; for the tests of both simulated boards."""

NAMED = {
    "bouncing": "bouncing",
    "burnt-nc": "burnt_nc",
    "burnt-no": "burnt_no",
    "filmed-no": "dead_no",
    "long-unused": "film_no",
    "open-behind-resistor": "coil_open_behind_resistor",
    "open-coil": "coil_open",
    "reversed-diode": "diode_reversed",
    "shorted-turns": "shorted_turns",
    "sluggish": "sluggish",
    "weak-spring": "weak_spring",
    "welded-no": "welded_no",
    "wrong-coil-voltage": "wrong_voltage",
}
"""Every other part in stock is sound."""
OF_OTHER_SORTS = ("exchanged-layout", "normally-closed", "twin-87")
"""Sound parts for which no protocol is made: the look before a test refuses them."""
