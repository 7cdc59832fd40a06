"""The app: one local server, pages in the order of the work, everything computed beside it."""
