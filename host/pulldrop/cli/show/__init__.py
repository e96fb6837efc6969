"""What a terminal shows: screens, pictures, words, errors and exit codes."""
