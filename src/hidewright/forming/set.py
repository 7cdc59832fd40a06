"""What stays of the stretch when formed leather dries, and how the maker's test pieces tell.

Strains are logarithmic, in grain axes: 1 along the backbone, 2 across, referred to the soaked,
flat leather. With eps the formed strain, S the set ratio, s the free shrinkage, R the restraint
and D the share of the drying done while held, the leather that nothing holds any more measures

    natural    S eps - (1 - D R) diag(s1, s2)          when dry
    unmoulded  S eps - D (1 - R) diag(s1, s2)          as it comes off the plug
    thickness  t exp(-S tr eps - s3)                   when dry

Published: vegetable-tanned upper leather formed moist over a hemisphere and set by heat keeps
83 % of the form, as a ratio of radii (pigskin; doi 10.30857/1813-6796.2019.3.6, read as abstract).
It stands here for both set ratios, of stretch and of bending: a choice, for the two were not told
apart. That leather dried under strain keeps a high set is published too, without a ratio for
vegetable tannage (J. Mater. Sci. 35, 2000; abstract). All other defaults are assumed.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from hidewright.catalogue.checks import must_be_positive
from hidewright.errors import Remark, RequestError
from hidewright.forming.drying_time import DryingStage, TimeLaw, tau_from_dryness
from hidewright.geometry.segment import Floats

Direction = Literal["along", "across"]

#: What test pieces can measure; each is assumed until one has.
PARAMETERS = (
    "set_ratio",
    "bending_set",
    "restraint",
    "shrink_along",
    "shrink_across",
    "shrink_thickness",
    "tau_hours",
    "thickness_slope",
)
#: Readings of the test plug may contradict the strips by this strain: the size promised, 0.5 %.
CONTRADICTS = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class DryingBehaviour:
    """How a leather shrinks, sets and springs back. All defaults are assumed until measured.

    Attributes:
        set_ratio: S, how much of the formed stretch stays; 0.83 is the published retention of
            vegetable tannage taken as a set ratio.
        bending_set: How much of the wall's bend stays; the same figure.
        restraint: R, share of the shrinkage that drying while held takes away.
        shrink_along: s1, ln(wet length / dry length), dried free, along the backbone.
        shrink_across: s2, the same across. 4 and 6 % are assumed.
        shrink_thickness: s3, the same through the thickness; about what soaking adds.
        time: How long drying takes.
        measured: Names of ``PARAMETERS`` that come from test pieces.
    """

    set_ratio: float = 0.83
    bending_set: float = 0.83
    restraint: float = 0.80
    shrink_along: float = 0.04
    shrink_across: float = 0.06
    shrink_thickness: float = 0.05
    time: TimeLaw = field(default_factory=TimeLaw)
    measured: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        for name, value, low, high in (
            ("set_ratio", self.set_ratio, 0.1, 1.0),
            ("bending_set", self.bending_set, 0.0, 1.0),
            ("restraint", self.restraint, 0.0, 1.0),
            ("shrink_along", self.shrink_along, 0.0, 0.3),
            ("shrink_across", self.shrink_across, 0.0, 0.3),
            ("shrink_thickness", self.shrink_thickness, 0.0, 0.5),
        ):
            if not low <= value <= high:
                raise RequestError(
                    f"drying behaviour: {name} is {value:.4g}",
                    because=f"it lies between {low:g} and {high:g}",
                    mend="Write 4 % as 0.04; if it was measured, measure the test piece again",
                )
        unknown = self.measured - set(PARAMETERS)
        if unknown:
            raise RequestError(
                f"drying behaviour: measured names {', '.join(sorted(unknown))}",
                mend=f"Choose among: {', '.join(PARAMETERS)}",
            )

    @property
    def assumed(self) -> tuple[str, ...]:
        """The parameters that no test piece has measured."""
        return tuple(p for p in PARAMETERS if p not in self.measured)

    def shrinkage(self, direction: Direction) -> float:
        """Return the free shrinkage in a direction."""
        return self.shrink_along if direction == "along" else self.shrink_across


def log_strain(cauchy_green: Floats) -> Floats:
    """Return the logarithmic strain of a right Cauchy-Green tensor, log(C) / 2.

    Args:
        cauchy_green: (..., 2, 2) symmetric, in grain axes; F^T F of the way from flat to formed.
    """
    values, axes = np.linalg.eigh(cauchy_green)
    strain: Floats = np.einsum("...ik,...k,...jk->...ij", axes, np.log(values) / 2.0, axes)
    return strain


def natural_strain(formed: Floats, behaviour: DryingBehaviour, dryness: Floats | float) -> Floats:
    """Return the strain of dry leather that nothing holds any more.

    Args:
        formed: (..., 2, 2) logarithmic strains on the plug, grain axes.
        behaviour: Of this leather.
        dryness: Share of the drying done while held, 0 to 1, from ``held_dryness``: one number, or
            one a point. 0 where the leather never was held.

    Returns:
        (..., 2, 2) strains, from the soaked, flat leather.
    """
    natural: Floats = behaviour.set_ratio * formed - _shrunk(behaviour, dryness)
    return natural


def formed_strain(natural: Floats, behaviour: DryingBehaviour, dryness: Floats | float) -> Floats:
    """Return the strain to form so that it dries to a given one: inverse of ``natural_strain``."""
    formed: Floats = (natural + _shrunk(behaviour, dryness)) / behaviour.set_ratio
    return formed


def spring_back(formed: Floats, behaviour: DryingBehaviour, dryness: Floats | float) -> Floats:
    """Return the strain from the mould to the dry leather, -(1 - S) eps - (1 - D R) diag(s).

    Args:
        formed: As for ``natural_strain``.
        behaviour: As for ``natural_strain``.
        dryness: As for ``natural_strain``.

    Returns:
        (..., 2, 2) strains; below 0 where the leather becomes smaller than the mould.
    """
    return natural_strain(formed, behaviour, dryness) - formed


def formed_from_spring_back(
    back: Floats, behaviour: DryingBehaviour, dryness: Floats | float
) -> Floats:
    """Return the formed strain that springs back by a given strain: inverse of ``spring_back``.

    Raises:
        RequestError: All the stretch stays (set ratio 1), so spring-back does not tell it.
    """
    if behaviour.set_ratio == 1.0:
        raise RequestError(
            "spring-back of leather whose stretch stays wholly",
            because="it is then the shrinkage alone, whatever the stretch was",
        )
    formed: Floats = -(back + _shrunk(behaviour, dryness)) / (1.0 - behaviour.set_ratio)
    return formed


def unmoulded_strain(formed: Floats, behaviour: DryingBehaviour, dryness: Floats | float) -> Floats:
    """Return the strain of the leather just off the plug, before the rest of it dries.

    The shrinkage held back so far, less what restraint took away, comes out at once; the rest,
    (1 - D) diag(s), comes while it dries free. Arguments as for ``natural_strain``.
    """
    to_come = (1.0 - np.asarray(dryness, dtype=np.float64))[..., None, None]
    shrinkage = np.diag([behaviour.shrink_along, behaviour.shrink_across])
    strain: Floats = natural_strain(formed, behaviour, dryness) + to_come * shrinkage
    return strain


def dry_thickness(soaked_mm: Floats, formed: Floats, behaviour: DryingBehaviour) -> Floats:
    """Return the thickness of the dry leather, t exp(-S tr eps - s3), mm.

    Args:
        soaked_mm: (...) thickness of the soaked, flat leather.
        formed: (..., 2, 2) logarithmic strains on the plug.
        behaviour: Of this leather.
    """
    dry: Floats = soaked_mm * np.exp(-_thinning(formed, behaviour))
    return dry


def soaked_thickness(dry_mm: Floats, formed: Floats, behaviour: DryingBehaviour) -> Floats:
    """Return the soaked thickness that dries to a given one: the inverse of ``dry_thickness``."""
    soaked: Floats = dry_mm * np.exp(_thinning(formed, behaviour))
    return soaked


def wall_opening(behaviour: DryingBehaviour) -> float:
    """Return by how much a square wall leans outwards when dry, (1 - S_b) 90 degrees, radians.

    Of a wall that no corner holds; near corners it opens less.
    """
    return (1.0 - behaviour.bending_set) * math.pi / 2.0


def bending_set_from(opening: float) -> float:
    """Return the bending set of a wall seen to open by an angle: inverse of ``wall_opening``.

    Args:
        opening: Radians from square, outwards.
    """
    return 1.0 - opening / (math.pi / 2.0)


def dryness_to_unmould(
    behaviour: DryingBehaviour, along_mm: float, across_mm: float, allowed_mm: float
) -> float:
    """Return how dry a part must be so that unmoulding it costs less than a length.

    The cost is the size it loses against waiting until it is dry: L [exp(-(1-R) s) -
    exp(-(1 - D R) s)], solved for D along and across; the stretch that springs back does so anyway.

    Args:
        behaviour: Of this leather.
        along_mm: Length of the part along the backbone.
        across_mm: The same across.
        allowed_mm: What may be lost, in each direction.

    Returns:
        0 to below 1; 0 when it may come off at once.
    """
    must_be_positive("part", along_mm=along_mm, across_mm=across_mm, allowed_mm=allowed_mm)
    needed = 0.0
    for size, shrinks in (
        (along_mm, behaviour.shrink_along),
        (across_mm, behaviour.shrink_across),
    ):
        least = math.exp(-(1.0 - behaviour.restraint) * shrinks) - allowed_mm / size
        if least > math.exp(-shrinks):
            needed = max(needed, (1.0 + math.log(least) / shrinks) / behaviour.restraint)
    return needed


@dataclass(frozen=True, slots=True, kw_only=True)
class ScribedSquare:
    """A square scribed on wet leather that dries free.

    Attributes:
        wet_along_mm: Scribed length along the backbone.
        wet_across_mm: The same across.
        wet_thickness_mm: Thickness, wet.
        dry_along_mm: What the length along has become.
        dry_across_mm: What the length across has become.
        dry_thickness_mm: Thickness, dry.
    """

    wet_along_mm: float
    wet_across_mm: float
    wet_thickness_mm: float
    dry_along_mm: float
    dry_across_mm: float
    dry_thickness_mm: float

    def __post_init__(self) -> None:
        must_be_positive(
            "scribed square",
            wet_along_mm=self.wet_along_mm,
            wet_across_mm=self.wet_across_mm,
            wet_thickness_mm=self.wet_thickness_mm,
            dry_along_mm=self.dry_along_mm,
            dry_across_mm=self.dry_across_mm,
            dry_thickness_mm=self.dry_thickness_mm,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """Two marks on a strip cut along the backbone, dried wholly and then released.

    Attributes:
        wet_mm: Between the marks, wet and slack.
        dry_mm: Between them, dry and released.
        held_mm: Between them while it is clamped to dry; None when it dries free.
    """

    wet_mm: float
    dry_mm: float
    held_mm: float | None = None

    def __post_init__(self) -> None:
        must_be_positive("strip", wet_mm=self.wet_mm, dry_mm=self.dry_mm)
        if self.held_mm is not None:
            must_be_positive("strip", held_mm=self.held_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlugReadings:
    """A part formed on the test plug, its rim measured three times in one direction.

    Attributes:
        direction: Of the measured length, to the backbone.
        formed_mm: Length on the plug, formed.
        unmoulded_mm: The same just off the plug.
        dry_mm: The same when dry.
        formed_strain: ln(formed / soaked) of that length; 0 on a flange that cannot move.
        wall_opening_deg: By how much a wall away from corners leans out of square when dry.
        thickness_mm: Of the wet leather.
        stages: What it went through until it came off, held all the while.
    """

    direction: Direction
    formed_mm: float
    unmoulded_mm: float
    dry_mm: float
    formed_strain: float = 0.0
    wall_opening_deg: float
    thickness_mm: float
    stages: Sequence[DryingStage]

    def __post_init__(self) -> None:
        must_be_positive(
            "test plug",
            formed_mm=self.formed_mm,
            unmoulded_mm=self.unmoulded_mm,
            dry_mm=self.dry_mm,
            thickness_mm=self.thickness_mm,
        )


def calibrate(
    start: DryingBehaviour,
    *,
    square: ScribedSquare,
    free: Strip,
    clamped: Strip,
    stretched: Strip,
    plug: PlugReadings,
) -> tuple[DryingBehaviour, tuple[Remark, ...]]:
    """Return what the maker's test pieces say of a leather, in closed form.

    The square gives s2 and s3, and s1 together with the free strip (their mean); the strip
    clamped at its wet length R; the strip clamped stretched (by a tenth, say) S. On the test plug,
    what the rim loses after unmoulding is (1 - D) s, so D, and from D the time constant; the wall's
    opening gives the bending set. The first move of the rim is not needed: it tells whether the
    readings agree.

    Args:
        start: What was believed; it gives the thickness slope, which these pieces do not measure.
        square: Scribed wet, dried free.
        free: A strip dried free.
        clamped: A strip clamped at its wet length.
        stretched: A strip clamped stretched.
        plug: A part of the test plug, taken off before it was dry.

    Returns:
        The behaviour, and a remark if the rim contradicts the strips.

    Raises:
        RequestError: A reading gives a figure outside its limits, or none.
    """
    s1 = (_log(free.wet_mm, free.dry_mm) + _log(square.wet_along_mm, square.dry_along_mm)) / 2.0
    s2 = _log(square.wet_across_mm, square.dry_across_mm)
    shrinks = s1 if plug.direction == "along" else s2
    if not (s1 > 0.0 and shrinks > 0.0):
        raise RequestError(
            "the free test pieces did not shrink",
            because="restraint and drying time show only in shrinkage",
            mend="Scribe them on wet leather and let them dry wholly",
        )
    if stretched.held_mm is None or stretched.held_mm == stretched.wet_mm:
        raise RequestError(
            "the stretched strip was not stretched", mend="Give its length while it is clamped"
        )
    clamped_loss = _log(clamped.wet_mm, clamped.dry_mm)
    kept = _log(stretched.dry_mm, stretched.wet_mm) + clamped_loss
    dryness = 1.0 - _log(plug.unmoulded_mm, plug.dry_mm) / shrinks
    slope = start.time.thickness_slope
    behaviour = DryingBehaviour(
        set_ratio=kept / _log(stretched.held_mm, stretched.wet_mm),
        bending_set=bending_set_from(math.radians(plug.wall_opening_deg)),
        restraint=1.0 - clamped_loss / s1,
        shrink_along=s1,
        shrink_across=s2,
        shrink_thickness=_log(square.wet_thickness_mm, square.dry_thickness_mm),
        time=replace(
            start.time,
            tau_hours=tau_from_dryness(dryness, plug.stages, plug.thickness_mm, slope),
        ),
        measured=start.measured | (set(PARAMETERS) - {"thickness_slope"}),
    )
    return behaviour, _contradictions(plug, behaviour, dryness)


def _contradictions(
    plug: PlugReadings, behaviour: DryingBehaviour, dryness: float
) -> tuple[Remark, ...]:
    strain = np.diag([plug.formed_strain] * 2)
    axis = 0 if plug.direction == "along" else 1
    foretold = (unmoulded_strain(strain, behaviour, dryness) - strain)[axis, axis]
    seen = _log(plug.unmoulded_mm, plug.formed_mm)
    if abs(seen - foretold) <= CONTRADICTS:
        return ()
    return (
        Remark(
            code="test-pieces-disagree",
            severity="warning",
            place="test plug",
            amount=100.0 * abs(seen - foretold),
            limit=100.0 * CONTRADICTS,
            sentence=(
                f"Off the plug the rim changed by {100 * seen:.1f} %; the strips say "
                f"{100 * foretold:.1f} %. Measure both again, or cut the strips beside the part."
            ),
        ),
    )


def _shrunk(behaviour: DryingBehaviour, dryness: Floats | float) -> Floats:
    """Return (..., 2, 2) shrinkage that is left, (1 - D R) diag(s1, s2)."""
    free = 1.0 - np.asarray(dryness, dtype=np.float64) * behaviour.restraint
    shrinkage = np.diag([behaviour.shrink_along, behaviour.shrink_across])
    shrunk: Floats = free[..., None, None] * shrinkage
    return shrunk


def _thinning(formed: Floats, behaviour: DryingBehaviour) -> Floats:
    trace: Floats = np.trace(formed, axis1=-2, axis2=-1)
    thinning: Floats = behaviour.set_ratio * trace + behaviour.shrink_thickness
    return thinning


def _log(one_mm: float, other_mm: float) -> float:
    return math.log(one_mm / other_mm)
