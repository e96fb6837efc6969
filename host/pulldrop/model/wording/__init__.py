"""What people read, each thing worded once: values, outcomes, cautions, hints, signs; text of others made harmless."""
