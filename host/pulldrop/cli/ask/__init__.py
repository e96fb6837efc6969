"""What a person gives at a terminal: options, keys, and answers to questions."""
