"""What decides in a crate: bins, quick screens, repeated makes, and whether a part is known already."""
