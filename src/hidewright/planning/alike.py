"""Loads that differ in some steps, colours that may change names: how some best plan has them.

Two loads are alike if all ties are the same with them exchanged, and each step but for its minutes
and its colour. What lies between the steps that differ is the same, so it may change loads: where
the steps beside it have the first load before the second, it may be in this order too, as twins are
(see ``twins.py``): sorted, each wait is kept, and as much is held at each time. If two steps beside
it have them in different orders, nothing is known.

That holds for all pairs at once. Draw each load as a line through its times, from step to step:
each such exchange undoes a crossing of two lines, and none begins to cross a third one more often
(of lines with the same ends two that do not cross each other cross a third one the least). A best
plan with the fewest crossings is in order everywhere. Where one pair of hands gives out what may be
split anew, that is done in the best plan whose spans are shortest in all: to give out never makes
them longer, nor does to uncross them (see ``exact_spans.py``), which always makes them shorter.

Last, colours that the same loads have may change names throughout.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

from hidewright.planning.problem import MACHINES, Machine, Problem
from hidewright.planning.twins import (
    Twins,
    groups_of,
    loads_of,
    marks_of,
    tied_alike,
    ties_of,
    touches,
    twins,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Steps of two loads that are in the order of the steps beside them, if those agree.

    Attributes:
        rows: Operations of the first and of the second load, step by step.
        beside: (operation of the first load, that of the second, whether it is by their ends).
    """

    rows: tuple[tuple[int, int], ...]
    beside: tuple[tuple[int, int, bool], ...]


def stretches(problem: Problem, *, in_pieces: bool) -> Iterator[Stretch]:
    """Yield the stretches of loads that are alike, but are no twins.

    Args:
        problem: Nothing is fixed.
        in_pieces: Whether the shortest piece is kept: what may be split then stays as it is.
    """
    marks = marks_of(problem)
    within = {tie for chains in twins(problem) for tie in zip(*chains, strict=True)}
    shapes: dict[tuple[object, ...], list[list[int]]] = {}
    for load in loads_of(problem):
        shapes.setdefault(tuple(marks[i].shape for i in load), []).append(load)
    for loads in shapes.values():
        for first, second in combinations(loads, 2):
            rows = list(zip(first, second, strict=True))
            apart = {k for k, (a, b) in enumerate(rows) if marks[a] != marks[b]}
            if not apart or not tied_alike(problem, first, second):
                continue
            if in_pieces:
                apart |= {k for k, i in enumerate(first) if not problem.in_one_go(i)}
            apart = _with_twins(apart, rows, within)
            ties = ties_of(problem, first)
            for group in groups_of(set(range(len(first))) - apart, ties):
                beside = touches(apart, group, ties)
                if beside:
                    yield Stretch(
                        rows=tuple(rows[k] for k in sorted(group)),
                        beside=tuple((*rows[k], end) for k, end in sorted(beside)),
                    )


def _with_twins(
    places: set[int], rows: list[tuple[int, int]], within: set[tuple[int, int]]
) -> set[int]:
    """Return places of two loads, with those of their twins: what is in order there stays so."""
    out, count = set(places), 0
    while len(out) != count:
        count = len(out)
        for k, (a, b) in enumerate(rows):
            for x, (c, d) in enumerate(rows):
                if k in out and ({(a, c), (c, a), (b, d), (d, b)} & within):
                    out.add(x)
    return out


def colours_alike(problem: Problem) -> list[Twins]:
    """Return the operations of colours that may change names, those at the machine first.

    Of three, the first and second, and second and third. What has a colour of its own is left to
    ``twins``.
    """
    return [pair for machine in MACHINES for pair in _colours_alike(problem, machine)]


def _colours_alike(problem: Problem, machine: Machine) -> Iterator[Twins]:
    marks = marks_of(problem)
    here = set(problem.at(machine))
    of_colour: dict[str | None, list[list[int]]] = {}
    mixed: set[str | None] = set()
    for load in loads_of(problem):
        colours = {problem.operations[i].colour for i in load if i in here}
        mixed |= colours if len(colours) > 1 else set()
        for colour in colours:
            of_colour.setdefault(colour, []).append(load)
    same: dict[tuple[object, ...], list[list[int]]] = {}
    for colour, loads in of_colour.items():
        if colour in mixed or sum(i in here for load in loads for i in load) < 2:
            continue
        told = sorted(
            (repr([replace(marks[i], colour=i in here or marks[i].colour) for i in load]), load)
            for load in loads
        )
        chain = [i for _, load in told for i in load]
        chain.sort(key=lambda i: i not in here)
        same.setdefault(tuple(mark for mark, _ in told), []).append(chain)
    for chains in same.values():
        for first, second in pairwise(chains):
            if tied_alike(problem, first, second):
                yield first, second
