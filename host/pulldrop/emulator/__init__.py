"""The compiled firmware in an AVR emulator, its pins driven by the plant, in the process of the host."""
