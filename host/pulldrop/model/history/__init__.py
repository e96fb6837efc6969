"""Many runs of a part, and all parts together."""
