"""Outlines of lines and true arcs, offsets, refits and triangle surfaces; no leather in here.

All lengths are mm, all angles radians, x to the right and y up. ``segment`` holds one line or arc,
``outline`` chains them into closed outlines and open paths; every other file is one thing done
with them. Shapely is used in this room alone, and only to decide topology: what comes out is
always lines and true arcs again.
"""
