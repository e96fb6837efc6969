"""Physics of switches: contacts by the angle of the knob, what is built in beside them, and the hand that turns it."""
