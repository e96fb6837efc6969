"""Parts as they are kept, and what their runs say over the years."""
