"""When a problem without hands can be finished at the soonest, or that it never can."""

import numpy as np

from hidewright.planning.deadline_kernels import fits
from hidewright.planning.problem import Problem


def soonest_finish(problem: Problem) -> int | None:
    """Return a minute before which nothing finishes; None when the waits contradict one another.

    The longest chain of waits; and, for each station, its operations split at will, each counted
    with what it takes (fully elastic relaxation; Baptiste, Le Pape and Nuijten, Annals of
    Operations Research 92 (1999) 305-333).
    """
    heads = _longest(problem, backwards=False)
    tails = _longest(problem, backwards=True)
    if heads is None or tails is None:
        return None
    minutes = [one.minutes for one in problem.operations]
    low = max((h + m + t for h, m, t in zip(heads, minutes, tails, strict=True)), default=0)
    high = low + sum(minutes)
    while low < high:
        middle = (low + high) // 2
        if _possible(problem, middle, heads, tails):
            high = middle
        else:
            low = middle + 1
    return low


def _possible(problem: Problem, finish: int, heads: list[int], tails: list[int]) -> bool:
    for station in problem.stations:
        jobs = [
            (
                station.capacity * heads[one.first],
                station.capacity * (finish - tails[one.last]),
                one.amount * problem.operations[one.first].minutes,
            )
            for one in problem.holds
            if one.station == station.name and one.first == one.last
        ]
        if not fits(np.array([job for job in jobs if job[2]], np.int64).reshape(-1, 3)):
            return False
    return True


def _longest(problem: Problem, *, backwards: bool) -> list[int] | None:
    """Return the soonest starts, or the minutes that must follow each end; None for a circle.

    Longest paths by going over all waits again and again (Bellman 1958, Ford 1956).
    """
    minutes = [one.minutes for one in problem.operations]
    if backwards:
        out = [0] * len(minutes)
    else:
        out = [max(problem.now, problem.orders[one.order].release) for one in problem.operations]
    arcs: list[tuple[int, int, int]] = []
    for wait in problem.waits:
        a, b = (wait.after, wait.before) if backwards else (wait.before, wait.after)
        arcs.append((a, b, minutes[a] + wait.least))
        if wait.most is not None:
            arcs.append((b, a, -minutes[a] - wait.most))
    for _ in range(len(minutes) + 1):
        moved = False
        for a, b, length in arcs:
            if out[a] + length > out[b]:
                out[b] = out[a] + length
                moved = True
        if not moved:
            return out
    return None
