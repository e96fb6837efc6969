"""Settings of the steps that ask a contact."""
