"""Hides as they are usually bought, drawn by ourselves from memory and scaled to a stated area.

Every outline stands with the backbone along x, the neck at the left. Only proportions are kept;
none is that of a measured hide. Where grades lie is common practice, no source: the bend is the
best, the shoulder next, belly and shanks the worst.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from hidewright.design.hide import Corners, GradeArea, Hide, ThicknessArea, area_of
from hidewright.errors import RequestError
from hidewright.geometry.segment import Point

#: Points drawn between two knots of an outline.
FINE = 5
#: Areas that hides have, m2.
LEAST_M2, MOST_M2 = 0.01, 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HidePreset:
    """A way in which hides are cut and sold.

    Attributes:
        name: Such as ``side``.
        words: What it is.
        usual_m2: An area it often has; from memory.
        knots: What its edge runs through, counter-clockwise, in any unit.
        straight: Numbers of the knots from which the edge runs straight to the next: cuts.
        grades: (grade, from, to) along x and (from, to) along y, as shares of the box.
    """

    name: str
    words: str
    usual_m2: float
    knots: Corners
    straight: frozenset[int]
    grades: tuple[tuple[int, float, float, float, float], ...]


#: Half a hide from neck (left) to tail (right); the backbone is the straight edge below.
_HALF: Corners = (
    (0.0, 0.0),
    (2.30, 0.0),
    (2.36, 0.10),
    (2.26, 0.30),
    (2.20, 0.62),
    (2.34, 0.92),
    (2.22, 1.02),
    (1.98, 0.86),
    (1.60, 0.82),
    (1.15, 0.84),
    (0.82, 0.90),
    (0.66, 1.08),
    (0.52, 1.04),
    (0.50, 0.80),
    (0.36, 0.56),
    (0.10, 0.46),
    (-0.04, 0.22),
)


def _both_sides(half: Corners) -> Corners:
    """Return a half with its mirror image below the backbone, which its first knots lie on."""
    above = [p for p in half if p[1] > 0.0]
    return (*((x, -y) for x, y in reversed(above)), *above)


_SHOULDER: Corners = (
    (0.0, 0.0),
    (0.92, 0.0),
    (0.92, 0.80),
    (0.80, 0.94),
    (0.68, 1.10),
    (0.54, 1.04),
    (0.50, 0.80),
    (0.34, 0.56),
    (0.10, 0.46),
    (-0.03, 0.22),
)
PRESETS: tuple[HidePreset, ...] = (
    HidePreset(
        name="side",
        words="half a hide from neck to tail, cut along the backbone",
        usual_m2=2.0,
        knots=_HALF,
        straight=frozenset({0}),
        grades=(
            (1, 0.40, 1.0, 0.0, 0.56),
            (2, 0.0, 0.40, 0.0, 0.56),
            (3, 0.0, 1.0, 0.56, 1.0),
        ),
    ),
    HidePreset(
        name="shoulder",
        words="one half of the front of a hide, cut along the backbone",
        usual_m2=0.75,
        knots=_SHOULDER,
        straight=frozenset({0, 1}),
        grades=((1, 0.24, 1.0, 0.0, 0.55), (2, 0.0, 0.24, 0.0, 0.55), (3, 0.0, 1.0, 0.55, 1.0)),
    ),
    HidePreset(
        name="double shoulder",
        words="the front of a hide, both halves in one",
        usual_m2=1.5,
        knots=_both_sides(_SHOULDER),
        straight=frozenset({7}),
        grades=(
            (1, 0.24, 1.0, 0.22, 0.78),
            (2, 0.0, 0.24, 0.22, 0.78),
            (3, 0.0, 1.0, 0.0, 0.22),
            (3, 0.0, 1.0, 0.78, 1.0),
        ),
    ),
    HidePreset(
        name="bend",
        words="the back of a side, cut square from shoulder and belly",
        usual_m2=0.9,
        knots=((0.0, 0.0), (1.30, 0.0), (1.36, 0.09), (1.27, 0.30), (1.24, 0.66), (0.0, 0.72)),
        straight=frozenset({0, 4, 5}),
        grades=(),
    ),
    HidePreset(
        name="belly",
        words="the lower edge of a side with its shanks",
        usual_m2=0.5,
        knots=(
            (0.0, 0.0),
            (1.70, 0.06),
            (1.86, 0.26),
            (1.72, 0.36),
            (1.44, 0.26),
            (0.92, 0.24),
            (0.40, 0.28),
            (0.18, 0.44),
            (0.02, 0.38),
        ),
        straight=frozenset({0}),
        grades=((2, 0.0, 1.0, 0.0, 0.45), (3, 0.0, 1.0, 0.45, 1.0)),
    ),
)


def preset_named(name: str) -> HidePreset:
    """Return a preset.

    Raises:
        RequestError: When there is none of that name.
    """
    for preset in PRESETS:
        if preset.name == name.strip().lower():
            return preset
    names = ", ".join(preset.name for preset in PRESETS)
    raise RequestError(f"the hide {name!r}", mend=f"Choose one of: {names}; or bring a drawing")


def hide_of(
    preset: HidePreset,
    area_m2: float,
    *,
    name: str,
    graded: bool = True,
    thickness_mm: float | None = None,
) -> Hide:
    """Return a preset with exactly a stated area.

    Args:
        preset: Whose proportions it has.
        area_m2: What the seller measured.
        name: The maker's own name for it.
        graded: Whether grades lie where they usually do; else all of it is of the best.
        thickness_mm: As measured, the same everywhere; None when it was not.

    Raises:
        RequestError: When no hide has such an area.
    """
    if not LEAST_M2 <= area_m2 <= MOST_M2:
        raise RequestError(
            f"a hide of {area_m2:g} m2",
            mend=f"Give {LEAST_M2:g} to {MOST_M2:g} m2",
        )
    drawn = _drawn(preset)
    scale = math.sqrt(area_m2 * 1e6 / area_of(drawn))
    outline = tuple((x * scale, y * scale) for x, y in drawn)
    return Hide(
        name=name,
        outline=outline,
        areas=_areas(preset, outline) if graded else (),
        thicknesses=measured(outline, thickness_mm),
    )


def measured(outline: Corners, thickness_mm: float | None) -> tuple[ThicknessArea, ...]:
    """Return one thickness measured as the thickness of all within an outline."""
    if thickness_mm is None:
        return ()
    return (ThicknessArea(thickness_mm=thickness_mm, outline=outline),)


def _areas(preset: HidePreset, outline: Corners) -> tuple[GradeArea, ...]:
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    place = (_between(min(xs), max(xs)), _between(min(ys), max(ys)))
    return tuple(
        GradeArea(grade=grade, outline=_box(place[0](a), place[0](b), place[1](c), place[1](d)))
        for grade, a, b, c, d in preset.grades
    )


def _between(low: float, high: float) -> Callable[[float], float]:
    """Return what turns a share into a place; the outermost shares lie a little beyond."""
    beyond = 0.01 * (high - low)

    def at(share: float) -> float:
        place = low + share * (high - low)
        return place - beyond if share <= 0.0 else place + beyond if share >= 1.0 else place

    return at


def _box(left: float, right: float, bottom: float, top: float) -> Corners:
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def _drawn(preset: HidePreset) -> Corners:
    """Return an outline through the knots: straight where it was cut, else smooth.

    Cubic Hermite curves with the slopes of Catmull and Rom (A class of local interpolating
    splines, 1974); a knot beside a cut has the slope of its own smooth side.
    """
    knots, n = preset.knots, len(preset.knots)
    out: list[Point] = []
    for i in range(n):
        a, b = knots[i], knots[(i + 1) % n]
        out.append(a)
        if i in preset.straight:
            continue
        before = a if (i - 1) % n in preset.straight else knots[i - 1]
        after = b if (i + 1) % n in preset.straight else knots[(i + 2) % n]
        out += _curve((before, a, b, after))
    return tuple(out)


def _curve(four: Sequence[Point]) -> list[Point]:
    """Return points between the second and the third of four knots."""
    found = []
    for k in range(1, FINE + 1):
        t = k / (FINE + 1)
        weights = (
            (-t + 2.0 * t**2 - t**3) / 2.0,
            (2.0 - 5.0 * t**2 + 3.0 * t**3) / 2.0,
            (t + 4.0 * t**2 - 3.0 * t**3) / 2.0,
            (t**3 - t**2) / 2.0,
        )
        x = math.fsum(w * p[0] for w, p in zip(weights, four, strict=True))
        y = math.fsum(w * p[1] for w, p in zip(weights, four, strict=True))
        found.append((x, y))
    return found
