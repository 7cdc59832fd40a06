"""Spans cut into pieces for the solver, and its pieces made into spans again."""

from collections.abc import Sequence
from itertools import pairwise

from hidewright.planning.problem import Problem, Span


def cut_up(spans: list[Span], shortest: int) -> list[tuple[int, int]]:
    """Return spans cut into pieces, none shorter than the shortest nor as long as two of them."""
    out = []
    for one in spans:
        count = (one.end - one.start) // shortest
        ends = [one.start + (one.end - one.start) * k // count for k in range(count + 1)]
        out += list(pairwise(ends))
    return out


def joined_up(raw: Sequence[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    """Return pieces in order, those of an operation that touch made one."""
    out: list[tuple[int, int, int]] = []
    last: dict[int, int] = {}
    for start, end, i in sorted(raw):
        at = last.get(i)
        if at is not None and out[at][1] == start:
            out[at] = (out[at][0], end, i)
        else:
            last[i] = len(out)
            out.append((start, end, i))
    return out


def given_out(pieces: list[tuple[int, int, int]], problem: Problem) -> tuple[Span, ...]:
    """Return spans with persons who keep the same hours: whoever has been free the longest.

    What pauses over breaks is not handed over.
    """
    free = [0] * len(problem.persons)
    in_order = sorted(pieces)
    last = {i: end for _, end, i in in_order}
    by: dict[int, int] = {}
    out = []
    for start, end, i in in_order:
        person, operation = -1, problem.operations[i]
        if operation.hands:
            pauses = operation.kind == "breaks"
            person = by[i] if pauses and i in by else min(range(len(free)), key=free.__getitem__)
            by[i], free[person] = person, last[i] if pauses else end
        out.append(Span(start=start, end=end, operation=i, person=person))
    return tuple(sorted(out))
