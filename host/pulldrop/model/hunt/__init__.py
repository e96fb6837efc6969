"""The nouns of a hunt: controls, what is asked of a person, what the wire showed, rules, and what came out."""
