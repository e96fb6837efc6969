"""YAML test protocols and ratings: their shape and how they become a plan."""
