"""Design files, read and written."""
