"""How far an answer may be off for what is not known of the leather: intervals, not figures."""

import math
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.errors import RequestError
from hidewright.forming.answers import press_force_N, pull_in, stretch_in_triangles
from hidewright.forming.limits import use_of
from hidewright.forming.on_blank import wet_law
from hidewright.forming.pressing import Pressing
from hidewright.forming.solve import Pressed, pressed
from hidewright.geometry.segment import Floats

#: Plausible ends, all assumed: fibres and matrix this much softer and stiffer than said ...
STIFFNESS = (0.6, 1.6)
#: ... friction this much less and more ...
FRICTION = (-0.15, 0.15)
#: ... and limits (as logarithmic strain) this much lower and higher.
LIMITS = (0.8, 1.2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A figure with its plausible ends."""

    likely: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Answers with their plausible ends.

    Attributes:
        force_N: What presses on the plugs together.
        thinnest: Least thickness formed over thickness laid in.
        largest_stretch: Largest stretch of the middle of the sheet.
        most_pull_in_mm: Where the edge is drawn in furthest.
        use: Largest share of a limit of the leather that is used.
    """

    force_N: Interval
    thinnest: Interval
    largest_stretch: Interval
    most_pull_in_mm: Interval
    use: Interval


def spread_of(sheet: Pressed, leather: Leather, grain_out: Sequence[bool]) -> Spread:
    """Return answers at the plausible ends of stiffness, friction, thickness and limits.

    One is changed at a time, by a warm solve; what each shifts up or down is added in squares, as
    for independent errors.

    Args:
        sheet: Solved at the likely values.
        leather: Gives them.
        grain_out: For each hollow, whether the grain faces away from the plug.
    """
    here = _figures(sheet, leather, grain_out)
    up, down = np.zeros(len(here)), np.zeros(len(here))
    for solved, changed in _ends(sheet, leather):
        shift = _figures(solved, changed, grain_out) - here
        up += np.maximum(shift, 0.0) ** 2
        down += np.minimum(shift, 0.0) ** 2
    return Spread(
        **{
            name: Interval(likely=float(a), low=float(a - lo), high=float(a + hi))
            for name, a, lo, hi in zip(
                Spread.__dataclass_fields__, here, np.sqrt(down), np.sqrt(up), strict=True
            )
        }
    )


def _ends(sheet: Pressed, leather: Leather) -> list[tuple[Pressed, Leather]]:
    pressing, conditions = sheet.pressing, sheet.conditions
    assert isinstance(pressing, Pressing)
    found: list[tuple[Pressed, Leather]] = []

    def solve(form: Pressing, leather: Leather, friction: float) -> None:
        changed = replace(conditions, law=wet_law(leather), friction=friction)
        with suppress(RequestError):  # an end that no sheet reaches tells nothing
            found.append((pressed(form, changed, sheet.warm.size_mm, sheet.warm), leather))

    for factor in STIFFNESS:
        stiff = replace(
            leather,
            wet_matrix_MPa=factor * leather.wet_matrix_MPa,
            wet_fibre_along_MPa=factor * leather.wet_fibre_along_MPa,
            wet_fibre_across_MPa=factor * leather.wet_fibre_across_MPa,
        )
        solve(pressing, stiff, conditions.friction)
    for more in FRICTION:
        solve(pressing, leather, min(max(conditions.friction + more, 0.0), 1.0))
    for thickness in (leather.thickness_min_mm, leather.thickness_max_mm):
        soaked = thickness * (1.0 + leather.soak_growth_thickness)
        if not math.isclose(soaked, pressing.thickness_mm):
            solve(_of_thickness(pressing, soaked), leather, conditions.friction)
    for factor in LIMITS:
        found.append((sheet, _with_limits(leather, factor)))
    return found


def _of_thickness(pressing: Pressing, thickness_mm: float) -> Pressing:
    return replace(
        pressing,
        thickness_mm=thickness_mm,
        hollows=tuple(
            replace(one, tools=replace(one.tools, thickness_mm=thickness_mm))
            for one in pressing.hollows
        ),
    )


def _with_limits(leather: Leather, factor: float) -> Leather:
    return replace(
        leather,
        stretch_limit_along=min(leather.stretch_limit_along**factor, 2.0),
        stretch_limit_across=min(leather.stretch_limit_across**factor, 2.0),
        grain_limit=min(leather.grain_limit**factor, 2.0),
    )


def _figures(sheet: Pressed, leather: Leather, grain_out: Sequence[bool]) -> Floats:
    use = max(float(use_of(sheet, leather, out).most.max()) for out in sorted(set(grain_out)))
    return np.array(
        [
            sum(press_force_N(sheet)),
            sheet.thickness.min() / sheet.pressing.thickness_mm,
            stretch_in_triangles(sheet).largest.max(),
            pull_in(sheet)[1].max(),
            use,
        ]
    )
