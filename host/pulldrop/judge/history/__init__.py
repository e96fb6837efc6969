"""What the runs of a part, and of a whole fleet, say of wear."""
