"""Parts with two terminals, put in at 30 and 87."""
