"""Flat-back pouch: a moulded front sewn round its rim to a flat back, with or without a flap."""

from dataclasses import dataclass, replace
from typing import Literal

from hidewright.catalogue.fittings import Fitting
from hidewright.design.carried import Carried
from hidewright.design.design import Design
from hidewright.design.fit import room_for
from hidewright.design.fitting import FittingPlace
from hidewright.design.folds import HingeStrip, hinge_strip
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.kinds.arches import TURNED_OVER, flanged_arch, notched
from hidewright.design.kinds.hinges import HINGE_ROOM_MM, hinge_folds, hinge_panels
from hidewright.design.kinds.rims import mouth_to_mouth, rim_seam
from hidewright.design.measure import check_limits, choice, measure, switch
from hidewright.design.piece import MouldedZone, Piece, PunchedHole
from hidewright.design.pose import Assembly, Panel
from hidewright.design.specification import Brief, Kind
from hidewright.design.states import DryOutline
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point
from hidewright.geometry.shapes import arch, polygon


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatBackPouchMeasures:
    """Measures of a flat-back pouch, all of the dry article."""

    width_mm: float = measure(
        "length", 62.0, "inside width of the hollow at the flange", low=12, high=400
    )
    height_mm: float = measure(
        "length", 101.0, "inside height from the mouth to the bottom", low=15, high=400
    )
    depth_mm: float = measure("length", 12.0, "inside depth of the hollow", low=2, high=60)
    corner_radius_mm: float = measure(
        "length", 10.0, "plan radius of the two bottom corners, inside", low=1, high=200
    )
    crown_radius_mm: float = measure(
        "length",
        3.0,
        "inside radius between wall and crown (the plug's top edge)",
        low=0.5,
        high=30,
    )
    lip_radius_mm: float = measure(
        "length",
        2.0,
        "outside radius between flange and wall (the frame's mouth)",
        low=0.5,
        high=20,
    )
    flange_mm: float = measure(
        "length",
        13.0,
        "width of the flange, from the inside of the wall to the edge",
        low=4,
        high=60,
    )
    inset_mm: float = measure("length", 4.0, "stitch hole to edge", low=2, high=15)
    pitch_mm: float = measure("length", 4.0, "stitch hole to stitch hole", low=2, high=10)
    reverse_stitches: int = measure(
        "count", 3, "stitches sewn back at each end of a seam", low=0, high=8
    )
    notch_radius_mm: float = measure(
        "length", 12.0, "thumb notch in the front's mouth; 0 mm for none", low=0, high=40
    )
    flap: bool = switch(True, "a flap that folds over the mouth, one with the back")
    flap_length_mm: float = measure(
        "length", 38.0, "how far the flap comes down over the front", low=10, high=300
    )
    flap_corner_radius_mm: float = measure("length", 14.0, "corners of the flap", low=1, high=100)
    fold_radius_mm: float = measure(
        "length", 2.5, "inside radius of the two folds of the flap's hinge", low=0.5, high=20
    )
    closing: Literal["strap and stud", "none"] = choice("strap and stud", "what holds the flap")
    strap_width_mm: float = measure("length", 16.0, "width of the flap's strap", low=8, high=60)
    strap_length_mm: float = measure(
        "length", 24.0, "how far the strap stands out below the flap", low=10, high=120
    )
    mouth_waste_mm: float = measure(
        "length", 5.0, "cut away between the mouths of two fronts moulded as a pair", low=3, high=12
    )
    margin_mm: float = measure(
        "length", 20.0, "leather beyond the trimmed front, pulled in or held", low=8, high=80
    )


def construct(brief: Brief[FlatBackPouchMeasures]) -> Design:
    """Return the pouch: front with one open hollow, back with flap, one seam round the rim."""
    m = brief.measures
    check_limits(m, "measures")
    leather = brief.leather("body")
    thickness = leather.thickness_mm
    front = _front(m)
    strip = (
        hinge_strip(
            height_mm=m.depth_mm + thickness + HINGE_ROOM_MM,
            inside_radius_mm=m.fold_radius_mm,
            k_factor=0.5,
            thickness_mm=thickness,
        )
        if m.flap
        else None
    )
    has_stud = m.flap and m.closing == "strap and stud"
    back = _back(m, strip)
    fittings: tuple[FittingPlace, ...] = ()
    if has_stud:
        stud = brief.fitting("stud")
        at = (0.0, -_stud_drop(m))
        front = replace(front, holes=(PunchedHole(name="stud", at=at, diameter_mm=stud.hole_mm),))
        back = replace(back, holes=(_strap_hole(m, back, stud),))
        fittings = (
            FittingPlace(
                name="stud",
                fitting=stud,
                piece="front",
                at=at,
                stack_mm=thickness,
                before_seam="rim",
            ),
        )
    return Design(
        name=brief.name,
        kind=brief.kind,
        carried=brief.carried,
        leathers=brief.leathers,
        pieces=(front, back),
        seams=(rim_seam(m, "front", "back"),),
        blanks=(mouth_to_mouth(m, "pair of fronts", "front", "front"),),
        hollows=(_hollow(m),),
        assembly=_assembly(m, strip),
        thread=brief.thread,
        fittings=fittings,
        held_by="flap with strap and stud" if has_stud else ("flap" if m.flap else ""),
    )


def sized_for(m: FlatBackPouchMeasures, carried: tuple[Carried, ...]) -> FlatBackPouchMeasures:
    """Return the measures with the hollow made to fit what is carried."""
    room = room_for(
        carried,
        lambda r: _hollow(
            replace(m, width_mm=r.width_mm, height_mm=r.height_mm, depth_mm=r.depth_mm)
        ),
    )
    return replace(m, width_mm=room.width_mm, height_mm=room.height_mm, depth_mm=room.depth_mm)


def _hollow(m: FlatBackPouchMeasures) -> Hollow:
    return Hollow(
        name="front/hollow",
        outline=DryOutline(arch(m.width_mm, m.height_mm, m.corner_radius_mm)),
        shells=(
            Shell(depth_mm=m.depth_mm, crown_radius_mm=m.crown_radius_mm),
            Shell(depth_mm=0.0, crown_radius_mm=0.0),
        ),
        mouth="mouth",
        grip_mm=m.notch_radius_mm,
    )


def _front(m: FlatBackPouchMeasures) -> Piece:
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(arch(m.width_mm, m.height_mm, m.corner_radius_mm)),
        depth_mm=m.depth_mm,
        crown_radius_mm=m.crown_radius_mm,
        lip_radius_mm=m.lip_radius_mm,
        edges=(("mouth", "mouth"), ("rim", "flange")),
    )
    trimmed = flanged_arch(m.width_mm, m.height_mm, m.corner_radius_mm, m.flange_mm)
    if m.notch_radius_mm > 0:
        trimmed = notched(trimmed, m.notch_radius_mm, m.width_mm / 2 - m.crown_radius_mm)
    return Piece(name="front", role="body", outline=DryOutline(trimmed), zones=(zone,))


def _back(m: FlatBackPouchMeasures, strip: HingeStrip | None) -> Piece:
    """Return the back, seen on its own grain side, with the flap upwards of the mouth."""
    below = flanged_arch(m.width_mm, m.height_mm, m.corner_radius_mm, m.flange_mm)
    if strip is None:
        return Piece(name="back", role="body", outline=DryOutline(below))
    x = m.width_mm / 2 + m.flange_mm
    low = HINGE_ROOM_MM + strip.developed_mm
    top = low + m.flap_length_mm
    r = m.flap_corner_radius_mm
    points: list[Point] = [(x, 0.0), (x, top)]
    radii, spans = [0.0, r], ["flap", "flap"]
    if m.closing == "strap and stud":
        s, tip = m.strap_width_mm / 2, top + m.strap_length_mm
        if r > x - s - 3.0:
            raise RequestError(
                f"flap corner radius {r:g} mm",
                because=f"beside the strap the flap is only {x - s:.1f} mm wide",
                mend=f"Give at most {max(x - s - 3.0, 1.0):.1f} mm",
                where="measures.flap_corner_radius",
            )
        inner = min(3.0, m.strap_length_mm - s - 0.5)
        if inner <= 0:
            raise RequestError(
                f"strap length {m.strap_length_mm:g} mm",
                because=f"its round end alone is {s:g} mm long",
                mend=f"Give at least {s + 1:g} mm",
                where="measures.strap_length",
            )
        points += [(s, top), (s, tip), (-s, tip), (-s, top)]
        radii += [inner, s, s, inner]
        spans += ["flap"] * 4
    points += [(-x, top), (-x, 0.0)]
    radii += [r, 0.0]
    spans += ["flap", "rim"]
    # polygon() starts at (x, 0) and would close along y = 0: take its flap, then the arch's rim
    flap = polygon(tuple(points), tuple(radii), tuple(spans))
    upper = [seg for seg in flap.segments if seg.span == "flap"]
    trimmed = Outline((*upper, *below.segments[1:]))
    folds = hinge_folds(strip, x)
    return Piece(name="back", role="body", outline=DryOutline(trimmed), folds=folds)


def _stud_drop(m: FlatBackPouchMeasures) -> float:
    """Return how far below the mouth the stud sits on the front, mm.

    The closed flap begins at the hinge, half a mm before the mouth; the stud's hole is in the
    middle of the strap's round end.
    """
    return m.flap_length_mm + m.strap_length_mm - m.strap_width_mm / 2 - HINGE_ROOM_MM


def _strap_hole(m: FlatBackPouchMeasures, back: Piece, stud: Fitting) -> PunchedHole:
    tip = back.outline.bounds[3]
    y = tip - m.strap_width_mm / 2
    return PunchedHole(
        name="strap",
        at=(0.0, y),
        diameter_mm=stud.head_diameter_mm / 2,
        slit=(0.0, y - m.strap_width_mm / 2 + 1.0),
    )


def _assembly(m: FlatBackPouchMeasures, strip: HingeStrip | None) -> Assembly:
    """Return front and back flesh to flesh, the flap rolled over the mouth by its two folds."""
    front = Panel(name="front", piece="front")
    if strip is None:
        return Assembly(panels=(front, Panel(name="back", piece="back", pose=TURNED_OVER)))
    back = hinge_panels("back", strip, TURNED_OVER, ("back", "hinge", "flap"))
    return Assembly(panels=(front, *back))


FLAT_BACK_POUCH = Kind(
    name="flat-back pouch",
    title="a moulded front on a flat back, with or without a flap",
    leathers=(("body", "vegetable-tanned shoulder 1.4-1.6 mm"),),
    fittings=(("stud", "solid brass stud 6 mm"),),
    carries=("sighting compass",),
    measures=FlatBackPouchMeasures,
    construct=construct,
    sized_for=sized_for,
)
