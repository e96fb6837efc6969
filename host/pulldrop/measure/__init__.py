"""One procedure a file: from board counts to readings, without a limit in sight."""
