"""The measures of a pocket with a tray that folds over it."""

from dataclasses import dataclass
from typing import Literal

from hidewright.design.kinds import usual
from hidewright.design.measure import choice, measure


@dataclass(frozen=True, slots=True, kw_only=True)
class PocketWithTrayMeasures:
    """Measures of a pocket with a tray, all of the dry article."""

    width_mm: float = measure("length", 90.0, "inside width of the pocket", low=12, high=400)
    height_mm: float = measure(
        "length", 110.0, "inside height of the pocket from mouth to bottom", low=15, high=400
    )
    depth_mm: float = measure("length", 16.0, "inside depth of the pocket", low=2, high=60)
    tray_depth_mm: float = measure(
        "length",
        13.7,
        "inside depth of the tray; pocket depth and slide together let the flanges meet",
        low=2,
        high=60,
    )
    slide_mm: float = measure(
        "length",
        0.5,
        "room between tray and pocket, at the walls and over the crown",
        low=0.1,
        high=5,
    )
    corner_radius_mm: float = measure(
        "length", 14.0, "plan radius of the pocket's two bottom corners, inside", low=1, high=200
    )
    crown_radius_mm: float = usual.crown_radius(
        4.0, "inside radius between wall and crown of the pocket; the tray's follows it"
    )
    lip_radius_mm: float = usual.lip_radius(
        2.0, "outside radius between flange and wall, pocket and tray"
    )
    flange_mm: float = usual.flange(
        15.0,
        "width of the pocket's flange, from the inside of the wall to the edge; "
        "the end with magnets is as much wider as they need",
    )
    mouth_room_mm: float = measure(
        "length",
        12.0,
        "how far the tray reaches beyond the pocket's mouth; its corners there have this radius, "
        "or half its width",
        low=3,
        high=80,
    )
    hinge_flange_mm: float = measure(
        "length", 7.0, "flat leather from the inside of the tray's wall to the fold", low=3, high=40
    )
    fold_radius_mm: float = usual.fold_radius(
        "inside radius of the hinge's two bends; half the height of the hinge at most"
    )
    inset_mm: float = usual.inset()
    pitch_mm: float = usual.pitch()
    reverse_stitches: int = usual.reverse_stitches()
    notch_radius_mm: float = measure(
        "length", 18.0, "thumb notch in the pocket's mouth; 0 mm for none", low=0, high=40
    )
    closing: Literal["magnets", "none"] = choice("magnets", "what holds the tray shut")
    cover_mm: float = measure(
        "length", 0.8, "thin leather glued over the tray's magnet", low=0.3, high=3
    )
    mouth_waste_mm: float = usual.mouth_waste("between the mouths of two pockets moulded as a pair")
    margin_mm: float = usual.margin("the trimmed pieces")
