"""What the part is, at a few milliamps and then at a volt or two, before anything is energised."""
