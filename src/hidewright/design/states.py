"""The four states of leather; each outline says which it is in, and mixing is a type error.

    cut    dry and flat, as the knife leaves it      hide layouts, scribed marks
    soaked cut x (1 + growth)                        the gap, the pressing
    formed as it lies on the plug, wet               plug, frame
    dry    formed, sprung back and shrunk            pieces, seams, folds, fit, templates

The types are new names for ``Outline``: a craft that wants a ``FormedOutline`` and is given a
``DryOutline`` does not pass the type check. From cut to soaked and from formed to dry leather
changes evenly, here and in ``drying``; from soaked to formed it is pressed.
"""

from typing import NewType

from hidewright.design.size_change import Change
from hidewright.geometry.once import kept
from hidewright.geometry.outline import Outline
from hidewright.geometry.stretch import stretched

CutOutline = NewType("CutOutline", Outline)
SoakedOutline = NewType("SoakedOutline", Outline)
FormedOutline = NewType("FormedOutline", Outline)
DryOutline = NewType("DryOutline", Outline)

#: How far a stretched outline may be from its arcs after refitting, mm.
REFIT_MM = 0.005


def formed_from_dry(dry: DryOutline, drying: Change, within_mm: float = REFIT_MM) -> FormedOutline:
    """Return the outline on the wet, formed leather that dries to a given one.

    Args:
        dry: The outline asked for, mm.
        drying: Formed to dry; both factors 1 minus the shrinkage.
        within_mm: How far its arcs may be from the outline.
    """
    return FormedOutline(_changed(dry, drying.inverse, within_mm))


def dry_from_formed(formed: FormedOutline, drying: Change) -> DryOutline:
    """Return what a formed outline measures when dry: the inverse of ``formed_from_dry``."""
    return DryOutline(_changed(formed, drying))


def cut_from_soaked(
    soaked: SoakedOutline, soaking: Change, within_mm: float = REFIT_MM
) -> CutOutline:
    """Return the outline to cut dry so that it grows to a given one when soaked.

    Args:
        soaked: The outline on the soaked, flat leather, mm.
        soaking: Cut to soaked; both factors 1 plus the growth.
        within_mm: How far its arcs may be from the outline.
    """
    return CutOutline(_changed(soaked, soaking.inverse, within_mm))


def soaked_from_cut(cut: CutOutline, soaking: Change) -> SoakedOutline:
    """Return what a cut outline measures when soaked: the inverse of ``cut_from_soaked``."""
    return SoakedOutline(_changed(cut, soaking))


def _changed(outline: Outline, change: Change, within_mm: float = REFIT_MM) -> Outline:
    if change.is_nothing:
        return outline
    key = ("changed", change, within_mm)
    return kept(outline, key, lambda: stretched(outline, change.matrix, within_mm)[0])
