"""Holes on mating edges, reverse stitches, thread, needle and awl."""
