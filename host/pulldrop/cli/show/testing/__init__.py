"""What a test, a look, a calibration and a board show on the terminal."""
