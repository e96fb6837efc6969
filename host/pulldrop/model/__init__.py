"""The nouns that flow between rooms; every one frozen, none imports another room."""
