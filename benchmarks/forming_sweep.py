"""Whether the forming solver finds its answer: random convex outlines, and concave ones.

Run: python benchmarks/forming_sweep.py [first [count]]; 0 and 1000 without any. The concave ones
are run with the first.

Each convex case is drawn from its own seed: seven shapes, depth 5 to 25 mm, radii 1 to 6 mm,
thickness 1 to 3.5 mm, three holds, two laws. A shape that cannot be drawn is drawn again, so that
every seed is a valid case. A concave case may be refused, with a reason; what is answered must be
balanced, with triangles that lie face up and forces that are numbers.
"""

import math
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from itertools import product
from typing import get_args

import numpy as np

from hidewright.errors import RequestError
from hidewright.forming.answers import press_force_N, pull_in, thickness_at_points
from hidewright.forming.law import FibreSheet, Law, NeoHooke
from hidewright.forming.pressing import EdgeHold, Hollow, Pressing
from hidewright.forming.profile import Tools
from hidewright.forming.solve import BALANCE, pressed
from hidewright.forming.solved import Conditions, Pressed
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point
from hidewright.geometry.shapes import (
    circle,
    d_shape,
    ellipse,
    polygon,
    rectangle,
    stadium,
)

COUNT, SIZE_MM = 1000, 4.0
#: Flange of concave cases: parallel to the lip, or at least to a rectangle's edge, mm.
NEAR_MM, FAR_MM = 2.0, 15.0
LAWS: tuple[Law, ...] = (
    NeoHooke(shear_MPa=5.0),
    FibreSheet(
        shear_MPa=2.0, fibre_along_MPa=6.0, rise_along=8.0, fibre_across_MPa=3.0, rise_across=5.0
    ),
)
HOLDS: tuple[EdgeHold, ...] = get_args(EdgeHold)

Case = tuple[Pressing, Conditions]
#: Corners of concave plans for arms so wide and so long, mm.
CONCAVE: dict[str, Callable[[float, float], Sequence[Point]]] = {
    "L": lambda w, a: ((0, 0), (w + a, 0), (w + a, w), (w, w), (w, w + a), (0, w + a)),
    "U": lambda w, a: (
        *((0, 0), (3 * w, 0), (3 * w, w + a), (2 * w, w + a)),
        *((2 * w, w), (w, w), (w, w + a), (0, w + a)),
    ),
    "T": lambda w, a: (
        *((0, 0), (w, 0), (w, a), (2 * w, a), (2 * w, w + a)),
        *((-w, w + a), (-w, a), (0, a)),
    ),
}


def convex(seed: int) -> tuple[str, Case]:
    """Return the name of the shape and a valid case, the same for the same seed."""
    rng = np.random.default_rng(seed)
    while True:
        try:
            return _drawn(rng)
        except RequestError:
            continue


def _drawn(rng: np.random.Generator) -> tuple[str, Case]:
    crown, depth, t = rng.uniform(1, 6), rng.uniform(5, 25), rng.uniform(1, 3.5)
    w, h = rng.uniform(30, 120), rng.uniform(30, 120)
    least = max(crown, 4.0)
    corner = rng.uniform(least, max(least, 0.49 * min(w, h)))
    n, reach = int(rng.integers(3, 8)), rng.uniform(35, 60)
    turn = (np.arange(n) + rng.uniform(-0.3, 0.3, n)) * 2.0 * math.pi / n
    at = [(1.2 * reach * math.cos(a), reach * math.sin(a)) for a in turn.tolist()]
    house = [(-w / 2, 0.0), (w / 2, 0.0), (w / 2, h), (0.0, h + w / 3), (-w / 2, h)]
    shapes: dict[str, Callable[[], Outline]] = {
        "rectangle": lambda: rectangle(w, h, corner),
        "circle": lambda: circle(w / 2),
        "stadium": lambda: stadium(w + h, min(w, h)),
        "house": lambda: polygon(house, least),
        "D": lambda: d_shape(w, w / 2 + h, corner),
        "ellipse": lambda: ellipse(max(w, h), 0.2 * max(w, h) + 0.8 * min(w, h)),
        "polygon": lambda: polygon(at, least),
    }
    kind = list(shapes)[int(rng.integers(len(shapes)))]
    tools = Tools(
        depth_mm=depth,
        crown_radius_mm=crown,
        lip_radius_mm=rng.uniform(1, 6),
        gap_mm=t * rng.uniform(1.0, 1.3),
        thickness_mm=t,
    )
    hold = HOLDS[int(rng.integers(len(HOLDS)))]
    flange = rng.uniform(0, 8) if hold == "clamped" else rng.uniform(3, 25)
    conditions = conditions_of(
        LAWS[int(rng.integers(len(LAWS)))], hold, pressure_MPa=rng.uniform(0.01, 0.1)
    )
    pressing = Pressing(
        hollows=(Hollow(name=kind, outline=shapes[kind](), tools=tools),),
        edge=tools.outer_mm + flange,
        thickness_mm=t,
        hold=hold,
        backbone=rng.uniform(0, math.pi),
    )
    return kind, (pressing, conditions)


def conditions_of(law: Law, hold: EdgeHold, pressure_MPa: float) -> Conditions:
    """Return friction and corrections that belong to a hold."""
    under = hold == "plate"
    return Conditions(
        law=law,
        friction=0.3 if under else 0.0,
        plate_pressure_MPa=pressure_MPa if under else 0.0,
        level=3 if hold == "free" else 2,
    )


def concave() -> list[tuple[str, Case]]:
    """Return L, U and T plans: two depths, two sizes of corner, three holds, two laws, two edges.

    The leather's edge runs parallel to the lip near it, or is a rectangle far round the hollow.
    """
    cases = []
    for (name, corners), depth, corner, hold, law, far in product(
        CONCAVE.items(), (8.0, 16.0), (8.0, 12.0), HOLDS, LAWS, (False, True)
    ):
        tools = Tools(
            depth_mm=depth, crown_radius_mm=3.0, lip_radius_mm=3.0, gap_mm=1.8, thickness_mm=1.6
        )
        outline = polygon(corners(30.0, 35.0), corner)
        left, bottom, right, top = (
            v + sign * (tools.outer_mm + FAR_MM)
            for v, sign in zip(outline.bounds, (-1, -1, 1, 1), strict=True)
        )
        around = polygon([(left, bottom), (right, bottom), (right, top), (left, top)], 10.0)
        pressing = Pressing(
            hollows=(Hollow(name=name, outline=outline, tools=tools),),
            edge=around if far else tools.outer_mm + NEAR_MM,
            thickness_mm=1.6,
            hold=hold,
        )
        said = f"{name} corners {corner:g}"
        cases.append((said, (pressing, conditions_of(law, hold, pressure_MPa=0.05))))
    return cases


def wrong(sheet: Pressed) -> str:
    """Return what is wrong with an answer, or nothing."""
    plan, tri = sheet.flat, sheet.layout.triangles
    u, v = plan[tri[:, 1]] - plan[tri[:, 0]], plan[tri[:, 2]] - plan[tri[:, 0]]
    said = {
        f"out of balance by {sheet.residual:.1e}": sheet.residual <= BALANCE,
        "a flat triangle lies face down": (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).min() > 0,
        "a formed triangle has no area": sheet.sheet.metric.area.min() > 0,
        "a force is no number or not upward": all(
            math.isfinite(f) and f > 0 for f in press_force_N(sheet)
        ),
        "a thickness is no number or nought": np.isfinite(thickness_at_points(sheet)).all()
        and thickness_at_points(sheet).min() > 0,
        "a pull-in is no number": np.isfinite(pull_in(sheet)[1]).all(),
    }
    return "; ".join(words for words, good in said.items() if not good)


def told(case: Case) -> str:
    """Return a case in a few words."""
    pressing, conditions = case
    tools = pressing.hollows[0].tools
    edge = pressing.edge
    flange = "rectangle" if isinstance(edge, Outline) else f"{edge - tools.outer_mm:.1f}"
    return (
        f"{pressing.hold}, {type(conditions.law).__name__}, thickness {tools.thickness_mm:.2f}, "
        f"depth {tools.depth_mm:.1f}, crown {tools.crown_radius_mm:.2f}, "
        f"lip {tools.lip_radius_mm:.2f}, flange {flange}"
    )


def run(cases: Sequence[tuple[str, Case]], may_refuse: bool) -> int:
    """Solve cases, print what failed, and return how many did."""
    rounds: list[int] = []
    seconds: list[float] = []
    refused = failed = 0
    for name, case in cases:
        begin = time.perf_counter()
        try:
            sheet = pressed(*case, SIZE_MM)
            fault = wrong(sheet)
            rounds.append(sheet.rounds)
        except RequestError as no:
            fault = "" if may_refuse else f"refused: {no}"
            refused += 1
            if may_refuse:
                print(f"  {name}: {told(case)}: refused: {no}")
        except Exception as odd:  # whatever it is, it is to be seen with its case
            fault = f"broke: {odd!r}"
        seconds.append(time.perf_counter() - begin)
        if fault:
            failed += 1
            print(f"  FAILED {name}: {told(case)}: {fault}", flush=True)
    print(
        f"{len(rounds)} of {len(cases)} solved, {refused} refused, {failed} failed; "
        f"rounds {statistics.median(rounds or [0]):g} in the middle, "
        f"{max(rounds, default=0)} at worst; "
        f"{statistics.mean(seconds):.2f} s each, {max(seconds):.2f} s at worst",
        flush=True,
    )
    return failed


def main() -> None:
    first = int(sys.argv[1]) if len(sys.argv) > 1 else 0
    count = int(sys.argv[2]) if len(sys.argv) > 2 else COUNT
    print(f"convex, seeds {first} to {first + count - 1}")
    drawn = [(seed, *convex(seed)) for seed in range(first, first + count)]
    failed = run([(f"seed {seed} {kind}", case) for seed, kind, case in drawn], may_refuse=False)
    if first == 0:
        print("concave")
        failed += run(concave(), may_refuse=True)
    sys.exit(failed > 0)


if __name__ == "__main__":
    main()
