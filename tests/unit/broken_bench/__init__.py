"""A bench with broken wires, and with faults that nothing shows: what only tests and campaigns do to one."""
