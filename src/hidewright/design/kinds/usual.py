"""Measures that most kinds have: what each means and its limits, said once."""

from typing import Any

from hidewright.design.measure import measure


def crown_radius(
    default_mm: float, says: str = "inside radius between wall and crown (the plug's top edge)"
) -> Any:
    """Declare the radius between wall and crown or floor."""
    return measure("length", default_mm, says, low=0.5, high=30)


def lip_radius(
    default_mm: float, says: str = "outside radius between flange and wall (the frame's mouth)"
) -> Any:
    """Declare the radius between flange and wall."""
    return measure("length", default_mm, says, low=0.5, high=20)


def flange(
    default_mm: float, says: str = "width of the flange, from the inside of the wall to the edge"
) -> Any:
    """Declare the width of a flange that is sewn."""
    return measure("length", default_mm, says, low=4, high=60)


def fold_radius(says: str) -> Any:
    """Declare the inside radius of a fold."""
    return measure("length", 2.5, says, low=0.5, high=20)


def inset() -> Any:
    """Declare how far stitches are from the edge."""
    return measure("length", 4.0, "stitch hole to edge", low=2, high=15)


def pitch() -> Any:
    """Declare how far stitches are apart."""
    return measure("length", 4.0, "stitch hole to stitch hole", low=2, high=10)


def reverse_stitches() -> Any:
    """Declare how many stitches are sewn back."""
    return measure("count", 3, "stitches sewn back at each end of a seam", low=0, high=8)


def mouth_waste(where: str) -> Any:
    """Declare what is cut away, such as ``between the mouths of the two shells``."""
    return measure("length", 5.0, f"cut away {where}", low=3, high=12)


def margin(beyond: str) -> Any:
    """Declare the leather beyond what stays, such as ``the trimmed front``."""
    says = f"leather beyond {beyond} after drawing in, held"
    return measure("length", 20.0, says, low=8, high=80)


def held() -> Any:
    """Declare the flat leather that is held round a mould whose rim is cut."""
    says = "flat leather held round the mould when it has been drawn in"
    return measure("length", 12.0, says, low=5, high=60)
