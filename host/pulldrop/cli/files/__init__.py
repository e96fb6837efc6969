"""Commands about the files that people write: protocols, specimens and their schemas."""
