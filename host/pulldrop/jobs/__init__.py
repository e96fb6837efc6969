"""What a person sets out to do; the only place that wires rooms together."""
