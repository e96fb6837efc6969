"""Views over many runs: lists, histories, the fleet."""
