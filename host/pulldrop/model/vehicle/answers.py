"""What a person answers before a vehicle is touched."""

from typing import Literal

from pulldrop.model.raw import Frozen

Load = Literal[
    "lamps", "horn, bell or buzzer", "something that moves, heats, pumps, opens or brakes", "a gas-discharge lamp"
]
Special = Literal["neither", "airbag or belt tensioner", "high voltage, orange cable"]


class SocketAnswers(Frozen):
    """`dead`: of the circuits on this panel; `alone`: the computer has no way to a mains earth."""

    system_v: Literal[6, 12, 24]
    special: Special = "neither"
    earth: Literal["minus", "plus"] = "minus"
    insulated: bool = False
    isolator: Literal["none", "closed", "open"] = "none"
    wiring: Literal["factory", "added"] = "factory"
    dead: Literal["one", "several", "all"] = "one"
    load: Load = "lamps"
    alone: bool = True
