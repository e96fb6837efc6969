"""History on disk: parts, runs, measurements, raw data; append only."""
