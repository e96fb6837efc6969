"""The bench that measured: its identity, calibration and references."""
