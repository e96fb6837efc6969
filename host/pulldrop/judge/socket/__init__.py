"""Which leg behind a relay's socket is dead: `roles` and `legs` make legs of looks, `table` says what to do."""
