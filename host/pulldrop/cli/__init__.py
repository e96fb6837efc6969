"""One command a file: it parses, calls a job, and shows the result."""
