"""Flat-back pouch: a moulded front sewn round its rim to a flat back, with or without a flap.

A lining lies flesh to flesh on the back and on the flap that is one with it. It is sewn into the
rim and round the flap. Across the hinge it lies inside the two folds, so it is cut shorter than the
back, and its holes are laid so that they meet the back's when the flap is closed. Seen in section,
square to the fold (z from the lining's grain face, t the front's leather, l the lining's)::

    lining of the flap, grain     height = depth + t + room
    flap, flesh                   height + l
    back, flesh                   -l
"""

from dataclasses import dataclass, replace
from typing import Literal

from hidewright.catalogue.fittings import Fitting
from hidewright.design.carried import Carried
from hidewright.design.design import Design
from hidewright.design.fit import corner_going_in, room_for
from hidewright.design.fitting import FittingPlace
from hidewright.design.folds import (
    GLUE_FREE_BESIDE_MM,
    HingeStrip,
    hinge_strip,
    lining_shorter_by,
    strip_round,
)
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.kinds import usual
from hidewright.design.kinds.arches import TURNED_OVER, flanged_arch, notch_going_in, notched
from hidewright.design.kinds.hinges import (
    GRAIN_OUT,
    HINGE_ROOM_MM,
    hinge_folds,
    hinge_panels,
)
from hidewright.design.kinds.limits import about, must_be_at_least, must_be_at_most, raised_to_least
from hidewright.design.kinds.rims import mouth_to_mouth, rim_seam
from hidewright.design.measure import check_limits, choice, measure, switch
from hidewright.design.piece import MouldedZone, Piece, PunchedHole
from hidewright.design.pose import Assembly, Panel, Pose
from hidewright.design.seam import Seam, SeamEdge
from hidewright.design.specification import Brief, Kind
from hidewright.design.states import DryOutline
from hidewright.errors import Remark, RequestError
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
    crown_radius_mm: float = usual.crown_radius(3.0)
    lip_radius_mm: float = usual.lip_radius(2.0)
    flange_mm: float = usual.flange(13.0)
    inset_mm: float = usual.inset()
    pitch_mm: float = usual.pitch()
    reverse_stitches: int = usual.reverse_stitches()
    notch_radius_mm: float = measure(
        "length", 12.0, "thumb notch in the front's mouth; 0 mm for none", low=0, high=40
    )
    flap: bool = switch(True, "a flap that folds over the mouth, one with the back")
    flap_length_mm: float = measure(
        "length", 38.0, "how far the flap comes down over the front", low=10, high=300
    )
    flap_corner_radius_mm: float = measure("length", 14.0, "corners of the flap", low=1, high=100)
    fold_radius_mm: float = usual.fold_radius(
        "inside radius of the two folds of the flap's hinge, on the lining if there is one"
    )
    lined: bool = switch(False, "a lining on the flesh side of back and flap, across the fold")
    closing: Literal["strap and stud", "none"] = choice("strap and stud", "what holds the flap")
    strap_width_mm: float = measure("length", 16.0, "width of the flap's strap", low=8, high=60)
    strap_length_mm: float = measure(
        "length", 24.0, "how far the strap stands out below the flap", low=10, high=120
    )
    mouth_waste_mm: float = usual.mouth_waste("between the mouths of two fronts moulded as a pair")
    margin_mm: float = usual.margin("the trimmed front")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hinge:
    """The strips of back and lining across the flap's hinge, and what is inside them, mm.

    Attributes:
        back: The back's strip.
        lining: The lining's strip; the back's own where there is no lining.
        lining_mm: Thickness of the lining; 0 where there is none.
    """

    back: HingeStrip
    lining: HingeStrip
    lining_mm: float


def construct(brief: Brief[FlatBackPouchMeasures]) -> Design:
    """Return the pouch: front with one open hollow, back with flap, one seam round the rim."""
    m = brief.measures
    check_limits(m, "measures")
    thickness = brief.leather("body").thickness_mm
    lining_mm = brief.leather("lining").thickness_mm if m.lined else 0.0
    hinge = _hinge(m, thickness, lining_mm) if m.flap else None
    stud = brief.fitting("stud") if m.flap and m.closing == "strap and stud" else None
    front = _front(m)
    flat = [_flat(m, hinge.back if hinge else None, "back", "body", GRAIN_OUT)]
    if m.lined:
        flat.append(_flat(m, hinge.lining if hinge else None, "lining", "lining", -GRAIN_OUT))
    fittings: tuple[FittingPlace, ...] = ()
    if stud:
        _must_hold(m, stud)
        at = (0.0, -_stud_drop(m))
        front = replace(front, holes=(PunchedHole(name="stud", at=at, diameter_mm=stud.hole_mm),))
        flat = [replace(piece, holes=(_strap_hole(m, piece, stud),)) for piece in flat]
        fittings = (
            FittingPlace(
                name="stud",
                fitting=stud,
                piece="front",
                at=at,
                stack_mm=2 * thickness + lining_mm,
                before_seam="rim",
            ),
        )
    pieces = (front, *flat)
    return Design(
        name=brief.name,
        kind=brief.kind,
        carried=brief.carried,
        leathers=tuple((r, x) for r, x in brief.leathers if r in {p.role for p in pieces}),
        pieces=pieces,
        seams=_seams(m, hinge),
        blanks=(mouth_to_mouth(m, "pair of fronts", "front", "front"),),
        hollows=(_hollow(m),),
        assembly=_assembly(m, hinge, lining_mm),
        thread=brief.thread,
        fittings=fittings,
        held_by="flap with strap and stud" if stud else ("flap" if m.flap else ""),
        notes=_about_lining(hinge, thickness) if hinge and m.lined else (),
    )


def sized_for(m: FlatBackPouchMeasures, carried: tuple[Carried, ...]) -> FlatBackPouchMeasures:
    """Return the measures with the hollow made to fit what is carried.

    Corners, notch, flap and strap are made smaller where they would not go on so small a pouch.
    """
    corner = corner_going_in(m.corner_radius_mm, m.crown_radius_mm, carried)

    def sized(width: float, height: float, depth: float) -> FlatBackPouchMeasures:
        deep = max(depth, m.crown_radius_mm)
        sizes = replace(m, width_mm=width, height_mm=height, depth_mm=deep)
        return raised_to_least(_within(replace(sizes, corner_radius_mm=corner)))

    room = room_for(carried, lambda r: _hollow(sized(r.width_mm, r.height_mm, r.depth_mm)))
    return sized(room.width_mm, room.height_mm, room.depth_mm)


def _within(m: FlatBackPouchMeasures) -> FlatBackPouchMeasures:
    """Return the measures with notch, flap and strap kept within the front.

    A strap whose end would come below the front's edge is drawn up onto the flat crown: the flap
    is made shorter first, then the strap.
    """
    beside = m.width_mm / 2 + m.flange_mm - m.strap_width_mm / 2 - 3.0
    m = replace(
        m,
        notch_radius_mm=notch_going_in(m.notch_radius_mm, m.width_mm, m.crown_radius_mm),
        flap_corner_radius_mm=min(m.flap_corner_radius_mm, beside),
    )
    end = _stud_drop(m) + m.strap_width_mm / 2
    if end < m.height_mm + m.flange_mm:
        return m
    up = end - (m.height_mm - m.crown_radius_mm)
    flap = max(m.flap_length_mm - up, 10.0)
    strap = max(m.strap_length_mm - (up - (m.flap_length_mm - flap)), m.strap_width_mm / 2 + 2.0)
    return replace(m, flap_length_mm=flap, strap_length_mm=strap)


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
    with about("corner_radius"):
        inside = arch(m.width_mm, m.height_mm, m.corner_radius_mm)
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(inside),
        depth_mm=m.depth_mm,
        crown_radius_mm=m.crown_radius_mm,
        lip_radius_mm=m.lip_radius_mm,
        edges=(("mouth", "mouth"), ("rim", "flange")),
    )
    trimmed = flanged_arch(m.width_mm, m.height_mm, m.corner_radius_mm, m.flange_mm)
    if m.notch_radius_mm > 0:
        trimmed = notched(trimmed, m.notch_radius_mm, m.width_mm / 2 - m.crown_radius_mm)
    return Piece(name="front", role="body", outline=DryOutline(trimmed), zones=(zone,))


def _hinge(m: FlatBackPouchMeasures, thickness_mm: float, lining_mm: float) -> Hinge:
    """Return how back and lining climb over the front.

    The innermost layer has the fold radius asked for; where it is the lining, the back lies round
    it.
    """
    with about("fold_radius"):
        inside = hinge_strip(
            height_mm=m.depth_mm + thickness_mm + HINGE_ROOM_MM,
            inside_radius_mm=m.fold_radius_mm,
            k_factor=0.5,
            thickness_mm=lining_mm or thickness_mm,
        )
    if not lining_mm:
        return Hinge(back=inside, lining=inside, lining_mm=0.0)
    back = strip_round(inside, lining_mm=lining_mm, outer_mm=thickness_mm)
    return Hinge(back=back, lining=inside, lining_mm=lining_mm)


def _flat(
    m: FlatBackPouchMeasures, strip: HingeStrip | None, name: str, role: str, angle: float
) -> Piece:
    """Return back or lining, seen on its own grain side, with the flap upwards of the mouth.

    Args:
        m: The measures.
        strip: Its own strip across the hinge; None without a flap.
        name: Of the piece.
        role: Of its leather.
        angle: Of its two folds, positive towards its flesh side.
    """
    below = flanged_arch(m.width_mm, m.height_mm, m.corner_radius_mm, m.flange_mm)
    if strip is None:
        return Piece(name=name, role=role, outline=DryOutline(below))
    x = m.width_mm / 2 + m.flange_mm
    low = HINGE_ROOM_MM + strip.developed_mm
    top = low + m.flap_length_mm
    r = m.flap_corner_radius_mm
    points: list[Point] = [(x, 0.0), (x, top)]
    radii, spans = [0.0, r], ["flap", "flap"]
    if m.closing == "strap and stud":
        s, tip = m.strap_width_mm / 2, top + m.strap_length_mm
        must_be_at_most(
            "flap_corner_radius",
            r,
            x - s - 3.0,
            f"beside the strap the flap is {x - s:.1f} mm wide, and its rounding takes 3 mm",
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
    folds = hinge_folds(strip, x, angle=angle, lined=m.lined)
    return Piece(name=name, role=role, outline=DryOutline(trimmed), folds=folds)


def _stud_drop(m: FlatBackPouchMeasures) -> float:
    """Return how far below the mouth the stud sits on the front, mm.

    The closed flap begins at the hinge, half a mm before the mouth; the stud's hole is in the
    middle of the strap's round end.
    """
    return m.flap_length_mm + m.strap_length_mm - m.strap_width_mm / 2 - HINGE_ROOM_MM


def _must_hold(m: FlatBackPouchMeasures, stud: Fitting) -> None:
    """Refuse a strap with no leather round the stud's hole, or that ends below the front."""
    must_be_at_least(
        "strap_width",
        m.strap_width_mm,
        stud.head_diameter_mm / 2 + 2.0,
        f"the hole for the stud's head of {stud.head_diameter_mm:g} mm needs leather beside it",
    )
    below = m.height_mm + m.flange_mm - stud.hole_mm / 2 - 1.0 - _stud_drop(m)
    must_be_at_most(
        "flap_length",
        m.flap_length_mm,
        m.flap_length_mm + below,
        f"with its strap it comes {-below:.1f} mm too far down: the stud would have no leather",
    )


def _strap_hole(m: FlatBackPouchMeasures, flat: Piece, stud: Fitting) -> PunchedHole:
    tip = flat.outline.bounds[3]
    y = tip - m.strap_width_mm / 2
    return PunchedHole(
        name="strap",
        at=(0.0, y),
        diameter_mm=stud.head_diameter_mm / 2,
        slit=(0.0, y - m.strap_width_mm / 2 + 1.0),
    )


def _seams(m: FlatBackPouchMeasures, hinge: Hinge | None) -> tuple[Seam, ...]:
    """Return the rim, through the lining too, and the seam round a lined flap.

    That one begins and ends where the hinge's strip free of glue does: it is not sewn through.
    """
    rim = rim_seam(m, "front", "back")
    if not m.lined:
        return (rim,)
    front, back = rim.edges
    rim = replace(rim, edges=(front, SeamEdge(piece="lining", span="rim"), back))
    if hinge is None:
        return (rim,)
    if m.closing == "strap and stud":
        least = 2 * m.inset_mm + m.pitch_mm / 2
        why = "both its edges are sewn to the lining, half a stitch or more apart"
        must_be_at_least("strap_width", m.strap_width_mm, least, why)
    flap = replace(
        rim, name="flap", edges=(_flap_edge("back", hinge.back), _flap_edge("lining", hinge.lining))
    )
    return (rim, flap)


def _flap_edge(piece: str, strip: HingeStrip) -> SeamEdge:
    unsewn = HINGE_ROOM_MM + strip.developed_mm + GLUE_FREE_BESIDE_MM
    return SeamEdge(
        piece=piece, span="flap", runs_backwards=piece == "lining", skip_mm=(unsewn, unsewn)
    )


def _assembly(m: FlatBackPouchMeasures, hinge: Hinge | None, lining_mm: float) -> Assembly:
    """Return front and back flesh to flesh, the flap rolled over the mouth by its two folds.

    A lining lies between them, its grain on the front's flesh side.
    """
    under = Pose(shift=(0.0, 0.0, -lining_mm)) if m.lined else Pose()
    panels = [Panel(name="front", piece="front")]
    behind = TURNED_OVER.then(under)
    if hinge is None:
        panels.append(Panel(name="back", piece="back", pose=behind))
        if m.lined:
            panels.append(Panel(name="lining", piece="lining", pose=under))
        return Assembly(panels=tuple(panels))
    panels += hinge_panels("back", hinge.back, behind, ("back", "hinge", "flap"))
    if m.lined:
        names = ("lining", "lining's hinge", "lining's flap")
        panels += hinge_panels("lining", hinge.lining, under, names, -GRAIN_OUT)
    return Assembly(panels=tuple(panels))


def _about_lining(hinge: Hinge, thickness_mm: float) -> tuple[Remark, ...]:
    """Say how the lining is glued across the fold."""
    shorter = lining_shorter_by(2 * GRAIN_OUT, thickness_mm, hinge.lining_mm)
    return (
        Remark(
            code="lining-across-fold",
            severity="note",
            place="lining",
            amount=shorter,
            sentence=(
                "Glue the lining to the back with the flap closed, round a block "
                f"{hinge.lining.height_mm:.1f} mm high whose end is rounded to "
                f"{hinge.lining.inside_radius_mm:g} mm. Across the fold keep "
                f"{hinge.back.glue_free_mm:.1f} mm of the back and "
                f"{hinge.lining.glue_free_mm:.1f} mm of the lining free of glue: flat, the lining "
                f"is {shorter:.1f} mm shorter there, so the back bulges a little when it is open"
            ),
        ),
    )


FLAT_BACK_POUCH = Kind(
    name="flat-back pouch",
    title="a moulded front on a flat back, with or without a flap",
    leathers=(
        ("body", "vegetable-tanned shoulder 1.4-1.6 mm"),
        ("lining", "chrome-tanned lining 0.6-0.8 mm"),
    ),
    fittings=(("stud", "solid brass stud 6 mm"),),
    carries=("sighting compass",),
    measures=FlatBackPouchMeasures,
    construct=construct,
    sized_for=sized_for,
)
