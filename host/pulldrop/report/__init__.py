"""What a person keeps: HTML, PDF and data files; takes finished records only."""
