"""What counts are worth: dividers, ranges, budgets, times of edges; no board is asked."""
