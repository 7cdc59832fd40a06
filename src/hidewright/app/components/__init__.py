"""Our own parts of a page where the library has none that serve."""
