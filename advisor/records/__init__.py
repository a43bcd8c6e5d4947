"""Jobs that were done, and what they make of the starting values."""
