"""How often the truth lies in the likely range when workshops are pressed by the solver itself.

Fifty workshops whose leather is drawn from the prior, and fifty whose leather is a deviation beside
it in everything; each presses the test plug at two depths and dries a scribed square. Seeds are
fixed.

    python benchmarks/learning.py [workshops]
"""

import sys
from collections.abc import Callable

import numpy as np

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.learning.belief import Belief, Values
from hidewright.learning.models import free_shrinkage
from hidewright.learning.priors import leather_prior, leather_with
from hidewright.learning.update import Observation, adapted
from hidewright.workshop.learned_pressing import (
    DRY,
    LIE,
    SheetForetold,
    disc,
    measures_of,
    plug_sheet,
    sheet_foretold,
)

LEATHER = find(built_in_catalogue().leathers, "vegetable-tanned shoulder 1.4-1.6 mm")
NAMES = (*LIE, *DRY, "pull_in_factor")
DEPTHS = (6.0, 12.0)
SEED = 8
#: (what, of which size, deviation) read at each depth.
READ = (
    ("along 0", 40.0, 0.15),
    ("across 0", 40.0, 0.15),
    ("pull-in along", 1.0, 0.3),
    ("pull-in across", 1.0, 0.3),
)


def workshop(
    draw: np.random.Generator, beside: float, belief: Belief, plugs: dict[float, SheetForetold]
) -> tuple[list[bool], bool, float]:
    """Return which truths were within their ranges, whether the dry size was, and its error, mm."""
    logs = belief.mean.copy()
    rows = [belief.place(name) for name in NAMES]
    logs[rows] += belief.deviations[rows] * (draw.standard_normal(len(rows)) + beside)
    truth = belief.values_at(logs)
    own = leather_with(LEATHER, truth)
    seen: list[Observation] = []
    for depth, plug in plugs.items():
        solved = measures_of(plug_sheet(own, depth), own)
        for what, size, error in READ:
            read = size * solved[what] + error * draw.standard_normal()
            seen.append(_reading(read, error, _times(size, plug.prediction(what))))
    for way in ("along", "across"):
        predict = _free(f"shrinkage_{way}")
        seen.append(_reading(predict(truth) + 0.15 * draw.standard_normal(), 0.15, predict))
    _, after = adapted(belief, seen)
    inside = []
    for name in NAMES:
        told = after.interval(name)
        inside.append(told.low <= truth[name] <= told.high)
    dry_size = _times(40.0, plugs[DEPTHS[-1]].prediction("across 0"))
    true = 40.0 * measures_of(plug_sheet(own, DEPTHS[-1]), own)["across 0"]
    following = true + 0.15 * draw.standard_normal()
    told = after.foretold(dry_size, error=0.15)
    return inside, told.low <= following <= told.high, abs(told.likely - true)


def _reading(value: float, error: float, predict: Callable[[Values], float]) -> Observation:
    return Observation(key="", value=float(value), error=error, predict=predict)


def _times(size: float, predict: Callable[[Values], float]) -> Callable[[Values], float]:
    return lambda values: size * predict(values)


def _free(name: str) -> Callable[[Values], float]:
    return lambda values: 100.0 * free_shrinkage(values[name], values["held_shrinkage"])


def main(count: int) -> None:
    belief = leather_prior(LEATHER)
    plugs = {d: sheet_foretold(plug_sheet(LEATHER, d), LEATHER, belief, disc()) for d in DEPTHS}
    for words, beside in (("drawn from the prior", 0.0), ("a deviation beside it", 1.0)):
        draw = np.random.default_rng(SEED)
        found = [workshop(draw, beside, belief, plugs) for _ in range(count)]
        print(f"{count} workshops, leather {words}: truth within its 90 % range")
        for k, name in enumerate(NAMES):
            print(f"  {name:18} {np.mean([one[0][k] for one in found]):.0%}")
        print(f"  next dry size      {np.mean([one[1] for one in found]):.0%}")
        print(f"  its error          {np.median([one[2] for one in found]):.3f} mm, median")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50)
