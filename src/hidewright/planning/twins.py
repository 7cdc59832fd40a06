"""Chains of operations that are the same: whole loads, and the parts of a load between two steps.

Two chains are twins when they can be exchanged, step by step, and the problem is the same. If x
ends before y starts in each of some twins, then the k-th x to end does so before the k-th y starts;
so the twins may be put in order at every step at once, and the waits, holds and hands are as good
as before. What may be split is given out anew then: the first twin has the first minutes worked on
any of them. That keeps all but the rule of the shortest piece, and needs one pair of hands.
Twins within twins stay in order: sorting the rows of a table leaves its columns sorted.

Colours that nothing else at their machine has are as good as the same: whichever of them comes
first, the machine is set up before each but the very first.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from hidewright.planning.problem import Problem

#: Operations of two twins, step by step.
Twins = tuple[list[int], list[int]]


def twins(problem: Problem) -> list[Twins]:
    """Return twins; of three that are the same, the first and second, and second and third."""
    loads = loads_of(problem)
    marks = marks_of(problem)
    same: dict[tuple[object, ...], list[list[int]]] = {}
    for load in loads:
        same.setdefault(tuple(marks[i] for i in load), []).append(load)
    parts = (chains for load in loads for chains in _parts(problem, load))
    chains = [*same.values(), *parts]
    return [pair for some in chains for pair in pairwise(some) if _alike(problem, marks, *pair)]


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


def loads_of(problem: Problem) -> list[list[int]]:
    """Return the operations of each load."""
    loads: dict[int, list[int]] = {}
    for i, one in enumerate(problem.operations):
        loads.setdefault(one.load, []).append(i)
    return list(loads.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """All that counts of an operation but its ties.

    Attributes:
        shape: What it is.
        order: Of what nothing waits for; what is waited for is not the last of its order.
        minutes: Of it.
        colour: None for none, True for one that no other operation at its machine has.
    """

    shape: tuple[object, ...]
    order: int | None
    minutes: int
    colour: str | bool | None


def marks_of(problem: Problem) -> list[Mark]:
    """Return the mark of each operation."""
    waited_for = {one.before for one in problem.waits if one.least >= 0}
    count = Counter((one.machine, one.colour) for one in problem.operations)
    return [
        Mark(
            shape=(
                one.step,
                one.kind,
                one.least_part,
                one.hands,
                one.machine,
                one.colour is None,
                i in waited_for,
                problem.orders[one.order].release,
            ),
            order=None if i in waited_for else one.order,
            minutes=one.minutes,
            colour=True if one.colour and count[one.machine, one.colour] == 1 else one.colour,
        )
        for i, one in enumerate(problem.operations)
    ]


def _alike(problem: Problem, marks: Sequence[Mark], first: list[int], second: list[int]) -> bool:
    """Whether the problem is the same with two chains exchanged, and nothing ties them together."""
    return [marks[i] for i in first] == [marks[i] for i in second] and tied_alike(
        problem, first, second
    )


def tied_alike(problem: Problem, first: list[int], second: list[int]) -> bool:
    """Whether all ties are the same with two chains exchanged, and none ties them together."""
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
    places, ties = set(range(len(chain))), ties_of(problem, chain)
    for some in sorted(groups_of(places - splits, ties), key=len, reverse=True):
        rest = [(group, touches(group, some, ties)) for group in groups_of(places - some, ties)]
        if all(len(sides) <= 1 for _, sides in rest):
            return [([k], (k, False)) for k in sorted(some)] + [
                (sorted(group), min(sides, default=(min(group), False))) for group, sides in rest
            ]
    return [(sorted(places), (0, False))]


def ties_of(problem: Problem, chain: list[int]) -> list[tuple[Side, Side]]:
    """Return what ties the operations of a chain together."""
    place = {i: k for k, i in enumerate(chain)}
    pairs = [((one.before, True), (one.after, False)) for one in problem.waits]
    pairs += [((one.first, False), (one.last, True)) for one in problem.holds]
    return [
        ((place[a], x), (place[b], y))
        for (a, x), (b, y) in pairs
        if a in place and b in place and a != b
    ]


def groups_of(places: set[int], ties: list[tuple[Side, Side]]) -> list[set[int]]:
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


def touches(group: set[int], some: set[int], ties: list[tuple[Side, Side]]) -> set[Side]:
    """Return the sides of a group's operations that are tied to some others."""
    ends = {a for a, b in ties if a[0] in group and b[0] in some}
    return ends | {b for a, b in ties if b[0] in group and a[0] in some}
