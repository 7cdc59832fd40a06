"""The four states of leather; each outline says which it is in, and mixing is a type error.

    cut    dry and flat, as the knife leaves it      hide layouts, scribed marks
    soaked cut x (1 + growth)                        the gap, the pressing
    formed as it lies on the plug, wet               plug, frame
    dry    formed x (1 - shrinkage)                  pieces, seams, folds, fit, templates

The types are new names for ``Outline``: a craft that wants a ``FormedOutline`` and is given a
``DryOutline`` does not pass the type check. The flange is not stretched by the pressing itself, so
on the flange formed and soaked agree; inside a zone the two differ by what the leather stretches.
"""

from dataclasses import dataclass
from typing import NewType

import numpy as np

from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.geometry.refit import map_outline
from hidewright.geometry.segment import Floats

CutOutline = NewType("CutOutline", Outline)
SoakedOutline = NewType("SoakedOutline", Outline)
FormedOutline = NewType("FormedOutline", Outline)
DryOutline = NewType("DryOutline", Outline)

#: How far a stretched outline may be from its arcs after refitting, mm.
REFIT_MM = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """An even change of size along and across the backbone, from one state to the next.

    Attributes:
        along: Size after divided by size before, along the backbone (the piece's y axis turned by
            its stretch angle).
        across: The same across the backbone.
        angle: Direction of the backbone in the piece's frame, radians from its y axis.
    """

    along: float
    across: float
    angle: float = 0.0

    def __post_init__(self) -> None:
        for name, value in (("along", self.along), ("across", self.across)):
            if not 0.5 < value < 2.0:
                raise RequestError(
                    f"size change {name} the backbone of {value:g}",
                    because="leather changes size by a few per cent when it is wetted or dries",
                    mend="Give growth and shrinkage as a few per cent",
                )

    @property
    def inverse(self) -> "Change":
        """The way back."""
        return Change(along=1.0 / self.along, across=1.0 / self.across, angle=self.angle)

    @property
    def is_nothing(self) -> bool:
        """Whether it changes nothing."""
        return self.along == 1.0 and self.across == 1.0

    def of_points(self, points: Floats) -> Floats:
        """Return (n, 2) points moved by the change about the origin, mm."""
        c, s = np.cos(self.angle), np.sin(self.angle)
        turn = np.array([[c, s], [-s, c]])  # into axes with the backbone along y
        stretched: Floats = (points @ turn.T) * np.array([self.across, self.along])
        moved: Floats = stretched @ turn
        return moved


def formed_from_dry(dry: DryOutline, drying: Change) -> FormedOutline:
    """Return the outline on the wet, formed leather that dries to a given one.

    Args:
        dry: The outline asked for, mm.
        drying: Formed to dry; both factors 1 minus the shrinkage.
    """
    return FormedOutline(_changed(dry, drying.inverse))


def dry_from_formed(formed: FormedOutline, drying: Change) -> DryOutline:
    """Return what a formed outline measures when dry: the inverse of ``formed_from_dry``."""
    return DryOutline(_changed(formed, drying))


def cut_from_soaked(soaked: SoakedOutline, soaking: Change) -> CutOutline:
    """Return the outline to cut dry so that it grows to a given one when soaked.

    Args:
        soaked: The outline on the soaked, flat leather, mm.
        soaking: Cut to soaked; both factors 1 plus the growth.
    """
    return CutOutline(_changed(soaked, soaking.inverse))


def soaked_from_cut(cut: CutOutline, soaking: Change) -> SoakedOutline:
    """Return what a cut outline measures when soaked: the inverse of ``cut_from_soaked``."""
    return SoakedOutline(_changed(cut, soaking))


def _changed(outline: Outline, change: Change) -> Outline:
    if change.is_nothing:
        return outline
    if change.along == change.across:
        return outline.scaled(change.along)
    return map_outline(outline, change.of_points, REFIT_MM)[0]
