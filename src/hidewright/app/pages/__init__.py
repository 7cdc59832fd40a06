"""The pages: the list of designs, the start, and the stages of one design in order of the work."""
