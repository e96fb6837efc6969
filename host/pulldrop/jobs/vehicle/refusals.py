"""What is asked before a vehicle is touched, and what is refused by the answers.

Rule: airbag and high voltage come first. What is not drawn yet, positive earth and insulated return, is refused too.
"""

from typing import get_args

from pulldrop.model.vehicle.answers import Load, SocketAnswers, Special

QUESTIONS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("special", "Is it one of these?", get_args(Special)),
    ("system_v", "Which system, V?", ("6", "12", "24")),
    ("earth", "Which pole of the battery is on the body?", ("minus", "plus")),
    ("insulated", "Do the consumers return by a wire of their own, with no pole on the body?", ("no", "yes")),
    ("isolator", "Is there a battery isolator, and how does it stand?", ("none", "closed", "open")),
    ("wiring", "Who laid the wires?", ("factory", "added")),
    ("dead", "How many circuits of this panel are dead?", ("one", "several", "all")),
    ("load", "What does the relay feed?", get_args(Load)),
    ("alone", "Does the computer run on its own battery, or behind a USB isolator?", ("yes", "no")),
)
"""Field of `SocketAnswers`, the question, and the choices."""


def answered(given: dict[str, str]) -> SocketAnswers:
    """From the chosen words."""
    yes = {"insulated", "alone"}
    return SocketAnswers.model_validate(
        {
            name: value == "yes" if name in yes else int(value) if name == "system_v" else value
            for name, value in given.items()
        }
    )


def refused(answers: SocketAnswers) -> str:
    """Why not, as a sentence; nothing where it may be done."""
    if answers.special == "airbag or belt tensioner":
        return (
            "Airbag and belt-tensioner wiring: no clip and no reading here. Leave it to its maker's tools and people."
        )
    if answers.special == "high voltage, orange cable":
        return "Orange cable is high voltage: stop. Only people who are trained for it may go on."
    if answers.earth == "plus":
        return "Positive earth is not drawn for this lead yet: clips and limits would be the wrong way round. Not done."
    if answers.insulated:
        return "An insulated return is not drawn for this lead yet: the battery's minus is no ground there. Not done."
    if answers.isolator == "open":
        return "The battery isolator is open, so everything behind it is dead. Close it, then begin again."
    if answers.load == "a gas-discharge lamp":
        return "A gas-discharge lamp lights by thousands of volts: not with this lead."
    if answers.load not in ("lamps", "horn, bell or buzzer"):
        return "This check works the relay by its own control, so what it feeds would run: not for what moves or heats."
    if not answers.alone:
        return "A mains earth would be a second way for the vehicle's current, through USB. Unplug the charger first."
    return ""


def hint(answers: SocketAnswers) -> str:
    """Where to look before the socket, by the answers; nothing where the socket is next."""
    if answers.dead == "all":
        return "All dead: look first at what they share, battery, isolator, main fuse and ground strap."
    if answers.dead == "several":
        return "Several dead: look first at what these share, a fuse, a plug or a ground."
    if answers.wiring == "added":
        return "Added wiring: it has its own fuse and one switch, and often ends under a screw. Look at these first."
    return ""
