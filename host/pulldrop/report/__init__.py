"""What a person keeps: one-file HTML; takes finished records only."""
