"""A hunt with a wire and a person: what is asked, what the wire shows, and the log that it is kept in."""
