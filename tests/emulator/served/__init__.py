"""The emulated board behind a pseudo-terminal, in real time: what a serial port has that the stepped board lacks."""
