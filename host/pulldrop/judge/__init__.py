"""Where limits enter: reading and limit to outcome, outcomes to verdict."""
