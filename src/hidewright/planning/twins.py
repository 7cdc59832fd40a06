"""Chains of operations that are the same: whole loads, and the parts of a load between two steps.

Two chains are twins when they can be exchanged, step by step, and the problem is the same. If x
ends before y starts in each of some twins, then the k-th x to end does so before the k-th y starts;
so the twins may be put in order at every step at once, and the waits, holds and hands are as good
as before. What may be split is given out anew then: the first twin has the first minutes worked on
any of them. That keeps all but the rule of the shortest piece, and needs one pair of hands.
Twins within twins stay in order: sorting the rows of a table leaves its columns sorted.
"""

from collections import Counter
from itertools import pairwise

from hidewright.planning.problem import Problem

#: Operations of two twins, step by step.
Twins = tuple[list[int], list[int]]


def twins(problem: Problem) -> list[Twins]:
    """Return twins; of three that are the same, the first and second, and second and third."""
    loads: dict[int, list[int]] = {}
    for i, one in enumerate(problem.operations):
        loads.setdefault(one.load, []).append(i)
    same: dict[tuple[object, ...], list[list[int]]] = {}
    for load in loads.values():
        same.setdefault(tuple(_mark(problem, i) for i in load), []).append(load)
    parts = (chains for load in loads.values() for chains in _parts(problem, load))
    chains = [*same.values(), *parts]
    return [pair for some in chains for pair in pairwise(some) if _alike(problem, *pair)]


def _parts(problem: Problem, load: list[int]) -> list[list[list[int]]]:
    """Return the chains of the steps that a load does in as many parts."""
    steps: dict[str, list[int]] = {}
    for i in load:
        steps.setdefault(problem.operations[i].step, []).append(i)
    counts = sorted({len(some) for some in steps.values()} - {1})
    return [
        [list(chain) for chain in zip(*(s for s in steps.values() if len(s) == n), strict=True)]
        for n in counts
    ]


def _mark(problem: Problem, i: int) -> tuple[object, ...]:
    one = problem.operations[i]
    return (
        one.step,
        one.minutes,
        one.kind,
        one.least_part,
        one.colour,
        one.machine,
        one.order,
        one.hands,
    )


def _alike(problem: Problem, first: list[int], second: list[int]) -> bool:
    """Whether the problem is the same with two chains exchanged, and nothing ties them together."""
    if [_mark(problem, i) for i in first] != [_mark(problem, i) for i in second]:
        return False
    other = dict(zip(first, second, strict=True)) | dict(zip(second, first, strict=True))
    ties: list[tuple[int, int, object]] = [
        (one.before, one.after, (one.least, one.most)) for one in problem.waits
    ]
    ties += [(one.first, one.last, (one.station, one.amount)) for one in problem.holds]
    here = [tie for tie in ties if tie[0] in other or tie[1] in other]
    if any((a in first and b in second) or (a in second and b in first) for a, b, _ in here):
        return False
    swapped = Counter((other.get(a, a), other.get(b, b), what) for a, b, what in here)
    return swapped == Counter(here)


#: Place in a chain, and whether it is the end of that operation.
Side = tuple[int, bool]


def in_order(problem: Problem, chain: list[int]) -> list[tuple[list[int], Side]]:
    """Return the places of a chain in groups that can be put in order apart, and by what.

    The shortest piece is kept: what may be split stays as it is. Operations in one go that hang
    together are put in order one by one. What else there is hangs on one side of one operation of
    its own, and goes along in the order of that; where it does not, the chain goes as a whole.
    """
    splits = {k for k, i in enumerate(chain) if not problem.in_one_go(i)}
    places, ties = set(range(len(chain))), _ties(problem, chain)
    for some in sorted(_groups(places - splits, ties), key=len, reverse=True):
        rest = [(group, _touches(group, some, ties)) for group in _groups(places - some, ties)]
        if all(len(sides) <= 1 for _, sides in rest):
            return [([k], (k, False)) for k in sorted(some)] + [
                (sorted(group), min(sides, default=(min(group), False))) for group, sides in rest
            ]
    return [(sorted(places), (0, False))]


def _ties(problem: Problem, chain: list[int]) -> list[tuple[Side, Side]]:
    place = {i: k for k, i in enumerate(chain)}
    pairs = [((one.before, True), (one.after, False)) for one in problem.waits]
    pairs += [((one.first, False), (one.last, True)) for one in problem.holds]
    return [
        ((place[a], x), (place[b], y))
        for (a, x), (b, y) in pairs
        if a in place and b in place and a != b
    ]


def _groups(places: set[int], ties: list[tuple[Side, Side]]) -> list[set[int]]:
    """Return places as groups that ties hold together."""
    groups = [{k} for k in sorted(places)]
    for (a, _), (b, _) in ties:
        if a in places and b in places:
            one = next(group for group in groups if a in group)
            two = next(group for group in groups if b in group)
            if one is not two:
                one |= two
                groups = [group for group in groups if group is not two]
    return groups


def _touches(group: set[int], some: set[int], ties: list[tuple[Side, Side]]) -> set[Side]:
    """Return the sides of a group's operations that are tied to some others."""
    ends = {a for a, b in ties if a[0] in group and b[0] in some}
    return ends | {b for a, b in ties if b[0] in group and a[0] in some}
