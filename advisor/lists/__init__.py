"""Lists of callouts as files: read, priced, written."""
