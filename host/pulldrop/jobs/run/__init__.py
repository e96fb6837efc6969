"""One part through one protocol, and what that needs around it."""
