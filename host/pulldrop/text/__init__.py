"""Text a person wrote: YAML into checked shapes, with file, line and column for every complaint."""
