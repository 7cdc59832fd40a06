"""Spans cut into pieces for the solver, and its pieces made into spans again."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from hidewright.planning.problem import Problem, Span

#: Start, end, number of the operation, and of the crew that does it (see ``Problem.crews``).
Piece = tuple[int, int, int, int]


def cut_up(spans: list[Span], shortest: int) -> list[Span]:
    """Return spans cut into pieces, none shorter than the shortest nor as long as two of them."""
    out = []
    for one in spans:
        count = (one.end - one.start) // shortest
        ends = [one.start + (one.end - one.start) * k // count for k in range(count + 1)]
        out += [replace(one, start=begin, end=end) for begin, end in pairwise(ends)]
    return out


def joined_up(raw: Sequence[Piece]) -> list[Piece]:
    """Return pieces in order, those of an operation that touch made one if one crew does both."""
    out: list[Piece] = []
    last: dict[int, int] = {}
    for start, end, i, crew in sorted(raw):
        at = last.get(i)
        if at is not None and out[at][1] == start and out[at][3] == crew:
            out[at] = (out[at][0], end, i, crew)
        else:
            last[i] = len(out)
            out.append((start, end, i, crew))
    return out


def given_out(pieces: list[Piece], problem: Problem) -> tuple[Span, ...]:
    """Return spans with persons: of each crew whoever has been free the longest.

    What pauses over breaks is not handed over.
    """
    free = [0] * len(problem.persons)
    in_order = sorted(pieces)
    last = {i: end for _, end, i, _ in in_order}
    by: dict[int, int] = {}
    crews, out = problem.crews, []
    for start, end, i, crew in in_order:
        person, operation = -1, problem.operations[i]
        if operation.hands:
            pauses = operation.kind == "breaks"
            person = by[i] if pauses and i in by else min(crews[crew], key=free.__getitem__)
            by[i], free[person] = person, last[i] if pauses else end
        out.append(Span(start=start, end=end, operation=i, person=person))
    return tuple(sorted(out))
