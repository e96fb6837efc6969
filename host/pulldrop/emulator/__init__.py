"""The compiled firmware in an AVR emulator, its pins driven by the plant, behind a pty."""
