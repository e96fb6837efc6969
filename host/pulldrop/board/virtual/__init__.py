"""The board without a board: the plant behind the contract, with the firmware's guard, latency and scan."""
