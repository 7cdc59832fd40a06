"""Measures of an open tray."""

from dataclasses import dataclass
from typing import Literal

from hidewright.design.kinds import usual
from hidewright.design.kinds.plans import Plan
from hidewright.design.measure import choice, listed, measure


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenTrayMeasures:
    """Measures of an open tray, all of the dry article, inside on the lining if it has one."""

    plan: Plan = choice("rectangle", "shape seen from above")
    length_mm: float = measure(
        "length", 120.0, "inside length; a circle takes the width alone", low=15, high=500
    )
    width_mm: float = measure("length", 80.0, "inside width", low=15, high=500)
    depth_mm: float = measure("length", 18.0, "inside depth, from floor to rim", low=3, high=60)
    corner_radius_mm: float = measure(
        "length", 14.0, "plan radius of the corners of a rectangle, inside", low=1, high=250
    )
    crown_radius_mm: float = usual.crown_radius(7.0, "inside radius between wall and floor")
    lip_radius_mm: float = usual.lip_radius(2.5)
    rim: Literal["cut at height", "flange"] = choice("cut at height", "how the wall ends")
    cut_height_mm: float = measure(
        "length",
        6.0,
        "how far above the flange a wall is cut that is cut at height",
        low=2,
        high=40,
    )
    flange_mm: float = measure(
        "length",
        10.0,
        "width of a flange that stays, from the inside of the wall to the edge",
        low=6,
        high=60,
    )
    lining: Literal["none", "flat", "moulded", "pressed together"] = choice(
        "none", "flat on the floor, moulded on its own plug, or pressed in one mould with the outer"
    )
    glue_mm: float = measure("length", 0.1, "thickness of the glue under a lining", low=0, high=0.5)
    dividers_mm: tuple[float, ...] = listed(
        "length",
        "how far the middle of each divider across the tray is from the near end of its length",
    )
    divider_height_mm: float = measure(
        "length", 6.0, "of a divider's top over the floor", low=1, high=60
    )
    divider_width_mm: float = measure(
        "length", 18.0, "of a divider's foot on the floor, along the tray", low=4, high=100
    )
    divider_top_radius_mm: float = measure(
        "length",
        2.5,
        "round a divider's top on the far side (the block that presses it back)",
        low=0.5,
        high=20,
    )
    divider_foot_radius_mm: float = measure(
        "length", 5.0, "inside radius between floor and divider", low=0.5, high=20
    )
    held_mm: float = usual.held()
