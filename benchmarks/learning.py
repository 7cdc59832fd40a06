"""How often the truth lies in the likely range when workshops are pressed by the solver itself.

Workshops whose leather is drawn from the prior, and as many whose leather is a deviation beside it
in everything; each presses the test plug at two depths, dries a scribed square, and presses three
discs over the sharp top until their grain cracks or they tear. A second set goes without those
discs. Seeds are fixed.

    python benchmarks/learning.py [workshops] [right | wrong]
"""

import math
import sys
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from functools import cache

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.bench_reading import BenchReading, ReadingKind
from hidewright.errors import RequestError
from hidewright.learning.belief import Belief, Values
from hidewright.learning.models import Catalogues, free_shrinkage, observation
from hidewright.learning.priors import leather_prior, leather_with
from hidewright.learning.update import Observation, adapted
from hidewright.tooling.bench_pieces import CRACKS_FROM_MM, CRACKS_TO_MM, SHARP_MM
from hidewright.workshop.learned_pressing import (
    DRY,
    LIE,
    SheetForetold,
    disc,
    measures_of,
    plug_sheet,
    sheet_foretold,
    used_at,
)

LEATHER = find(built_in_catalogue().leathers, "vegetable-tanned shoulder 1.4-1.6 mm")
BELIEF = leather_prior(LEATHER)
NAMES = (*LIE, *DRY, "pull_in_factor")
LIMITS = ("stretch_limit", "grain_limit")
DEPTHS = (6.0, 12.0)
STEPS = np.arange(CRACKS_FROM_MM, CRACKS_TO_MM + 0.5, 1.0).tolist()
DISCS, BEARS = 3, 0.12
SEED = 8
NO_DAY = date(2026, 1, 1)
#: (what, of which size, deviation) read at each depth.
READ = (
    ("along 0", 40.0, 0.15),
    ("across 0", 40.0, 0.15),
    ("pull-in along", 1.0, 0.3),
    ("pull-in across", 1.0, 0.3),
)


@dataclass(frozen=True, kw_only=True)
class Found:
    """Of one workshop: which truths were in their ranges, with the discs and without them."""

    with_discs: list[bool]
    without: list[bool]
    next_inside: bool
    next_off_mm: float
    wider: float


@cache
def plug(depth: float, crown: float) -> SheetForetold:
    """Return the test plug of the catalogue's leather, fitted once."""
    return sheet_foretold(plug_sheet(LEATHER, depth, crown), LEATHER, BELIEF, disc())


def workshop(draw: np.random.Generator, beside: float) -> Found:
    """Return how one workshop fared."""
    logs = BELIEF.mean.copy()
    rows = [BELIEF.place(name) for name in (*NAMES, *LIMITS)]
    logs[rows] += BELIEF.deviations[rows] * (draw.standard_normal(len(rows)) + beside)
    truth = BELIEF.values_at(logs)
    own = leather_with(LEATHER, truth)
    seen = [*_pressed(draw, own), *_dried(draw, truth)]
    _, plain = adapted(BELIEF, seen)
    wider, after = adapted(BELIEF, [*seen, *_cracked(draw, own)])
    dry_size = _times(40.0, plug(DEPTHS[-1], 3.0).prediction("across 0"))
    true = 40.0 * measures_of(plug_sheet(own, DEPTHS[-1]), own)["across 0"]
    following = true + 0.15 * draw.standard_normal()
    told = after.foretold(dry_size, error=0.15)
    return Found(
        with_discs=_inside(after, truth),
        without=_inside(plain, truth),
        next_inside=told.low <= following <= told.high,
        next_off_mm=abs(told.likely - true),
        wider=wider,
    )


def _inside(belief: Belief, truth: Values) -> list[bool]:
    told = [belief.interval(name) for name in (*NAMES, *LIMITS)]
    return [
        one.low <= truth[name] <= one.high
        for one, name in zip(told, (*NAMES, *LIMITS), strict=True)
    ]


def _pressed(draw: np.random.Generator, own: Leather) -> Iterator[Observation]:
    for depth in DEPTHS:
        solved = measures_of(plug_sheet(own, depth), own)
        for what, size, error in READ:
            read = size * solved[what] + error * draw.standard_normal()
            yield _reading(read, error, _times(size, plug(depth, 3.0).prediction(what)))


def _dried(draw: np.random.Generator, truth: Values) -> Iterator[Observation]:
    for way in ("along", "across"):
        predict = _free(f"shrinkage_{way}")
        yield _reading(predict(truth) + 0.15 * draw.standard_normal(), 0.15, predict)


def _cracked(draw: np.random.Generator, own: Leather) -> Iterator[Observation]:
    """Yield what three discs tell, pressed by the solver to each depth that matters."""

    @cache
    def used(depth: float) -> tuple[float, float]:
        solved = measures_of(plug_sheet(own, depth, SHARP_MM), own)
        grain = solved["log grain strain"] - math.log(math.log(own.grain_limit))
        return grain, solved["log stretch use"]

    def first(limit: int) -> int:
        bears = BEARS * draw.standard_normal()
        return _first(lambda depth: used(depth)[limit] > bears)

    for _ in range(DISCS):
        grain, sheet = first(0), first(1)
        if grain <= sheet and grain < len(STEPS):
            yield _disc("first crack at depth", grain)
            continue
        if min(grain, sheet) > 0:
            yield _observed("no crack to depth", STEPS[min(grain, sheet) - 1], None)
        if sheet < len(STEPS):
            yield _disc("torn at depth", sheet)


def _first(reached: Callable[[float], bool]) -> int:
    """Return the first step at which a limit is reached; their number where it is at none."""
    low, high = 0, len(STEPS)
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if reached(STEPS[middle]) else (middle + 1, high)
    return low


def _disc(what: ReadingKind, step: int) -> Observation:
    return _observed(what, STEPS[step], STEPS[step - 1] if step else None)


def _observed(what: ReadingKind, value: float, of: float | None) -> Observation:
    reading = BenchReading(what=what, subject=LEATHER.name, value=value, of=of, day=NO_DAY)

    def pressed(one: BenchReading) -> Callable[[Values], float]:
        return used_at(lambda depth: plug(depth, SHARP_MM), one.value, one.kind.cracks)

    return observation("", reading, pressed, Catalogues(), BELIEF.values)


def _reading(value: float, error: float, predict: Callable[[Values], float]) -> Observation:
    return Observation(key="", value=float(value), error=error, predict=predict)


def _times(size: float, predict: Callable[[Values], float]) -> Callable[[Values], float]:
    return lambda values: size * predict(values)


def _free(name: str) -> Callable[[Values], float]:
    return lambda values: 100.0 * free_shrinkage(values[name], values["held_shrinkage"])


#: Which prior: what its leather is, and how many deviations beside.
PRIORS = {"right": ("drawn from the prior", 0.0), "wrong": ("a deviation beside it", 1.0)}


def main(count: int, *priors: str) -> None:
    for words, beside in (PRIORS[one] for one in priors or PRIORS):
        draw = np.random.default_rng(SEED)
        found: list[Found] = []
        for _ in range(count):
            with suppress(RequestError):  # a leather so far out that no sheet of it is in balance
                found.append(workshop(draw, beside))
        print(f"{len(found)} workshops, leather {words}: truth within its 90 % range")
        print("                     with discs  without")
        for k, name in enumerate((*NAMES, *LIMITS)):
            with_discs = np.mean([one.with_discs[k] for one in found])
            without = np.mean([one.without[k] for one in found])
            print(f"  {name:18} {with_discs:10.0%} {without:8.0%}")
        print(f"  next dry size      {np.mean([one.next_inside for one in found]):10.0%}")
        print(
            f"  its error          {np.median([one.next_off_mm for one in found]):.3f} mm, median"
        )
        print(f"  prior taken wider  {np.mean([one.wider for one in found]):.2f} times, mean")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50, *sys.argv[2:])
