"""What stays of the stretch when formed leather dries.

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
from dataclasses import dataclass, field

import numpy as np

from hidewright.catalogue.checks import must_be_positive
from hidewright.errors import RequestError
from hidewright.forming.drying_time import TimeLaw
from hidewright.geometry.segment import Floats

#: What test pieces can measure; each is assumed until one has.
PARAMETERS = (
    "set_ratio",
    "restraint",
    "shrink_along",
    "shrink_across",
    "shrink_thickness",
    "tau_hours",
    "thickness_slope",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DryingBehaviour:
    """How a leather shrinks, sets and springs back. All defaults are assumed until measured.

    Attributes:
        set_ratio: S, how much of the formed stretch stays; 0.83 is the published retention of
            vegetable tannage taken as a set ratio.
        restraint: R, share of the shrinkage that drying while held takes away.
        shrink_along: s1, ln(wet length / dry length), dried free, along the backbone.
        shrink_across: s2, the same across. 4 and 6 % are assumed.
        shrink_thickness: s3, the same through the thickness; about what soaking adds.
        time: How long drying takes.
        measured: Names of ``PARAMETERS`` that come from test pieces.
    """

    set_ratio: float = 0.83
    restraint: float = 0.80
    shrink_along: float = 0.04
    shrink_across: float = 0.06
    shrink_thickness: float = 0.05
    time: TimeLaw = field(default_factory=TimeLaw)
    measured: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        for name, value, low, high in (
            ("set_ratio", self.set_ratio, 0.1, 1.0),
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


def log_strain(cauchy_green: Floats) -> Floats:
    """Return the logarithmic strain of a right Cauchy-Green tensor, log(C) / 2.

    Args:
        cauchy_green: (..., 2, 2) symmetric, in grain axes; F^T F of the way from flat to formed.
    """
    mean = 0.5 * (cauchy_green[..., 0, 0] + cauchy_green[..., 1, 1])
    rest = cauchy_green - mean[..., None, None] * np.eye(2)
    size = np.hypot(rest[..., 0, 0], rest[..., 0, 1])
    # its eigenvalues are mean + size and mean - size
    middle = 0.5 * np.log((mean - size) * (mean + size))
    slope = np.divide(np.arctanh(size / mean), size, out=1.0 / mean, where=size > 0.0)
    strain: Floats = 0.5 * (middle[..., None, None] * np.eye(2) + slope[..., None, None] * rest)
    return strain


def natural_strain(formed: Floats, behaviour: DryingBehaviour, dryness: Floats | float) -> Floats:
    """Return the strain of dry leather that nothing holds any more.

    Args:
        formed: (..., 2, 2) logarithmic strains on the plug, grain axes.
        behaviour: Of this leather.
        dryness: Share of the drying done while held, 0 to 1: one number, or one a point. 0 where
            the leather never was held.

    Returns:
        (..., 2, 2) strains, from the soaked, flat leather.
    """
    natural: Floats = behaviour.set_ratio * formed - _shrunk(behaviour, dryness)
    return natural


def formed_strain(natural: Floats, behaviour: DryingBehaviour, dryness: Floats | float) -> Floats:
    """Return the strain to form so that it dries to a given one: inverse of ``natural_strain``."""
    formed: Floats = (natural + _shrunk(behaviour, dryness)) / behaviour.set_ratio
    return formed


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
