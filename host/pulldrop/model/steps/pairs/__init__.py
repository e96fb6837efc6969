"""Settings of the steps for parts with two terminals."""
