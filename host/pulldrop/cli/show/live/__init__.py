"""What is seen while work goes on: one run, or a crate that is sorted with its keys."""
