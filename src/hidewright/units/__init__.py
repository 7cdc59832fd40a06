"""Text to mm, N, MPa, radians, minutes and cents, and back; the one place where units are read.

``quantity`` chooses by name (``parse("length", "3 1/8 in")``); the other files hold one quantity
each. A unit is never guessed: a bare number is refused, except for counts.
"""
