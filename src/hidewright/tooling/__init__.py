"""Plug, frame and cavity plates, templates, blocks and jigs, and the checker that accepts them."""
