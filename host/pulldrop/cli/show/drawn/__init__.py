"""What is drawn in letters: the big verdict, a series over time, the coil current."""
