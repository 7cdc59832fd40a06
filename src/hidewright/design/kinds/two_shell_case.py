"""Two-shell case: two moulded shells sewn flange to flange round the rim, open at a mouth.

Both shells of a case are moulded as one pair, mouth to mouth, on one blank. The strap is riveted
to the back shell, climbs over the mouth and snaps over a stud in the front shell. Rivets and stud
are set before the rim is sewn; covers of thin leather are glued over their inner ends, and the
room inside is reckoned without them.
"""

from dataclasses import dataclass, replace
from typing import Literal

from hidewright.design.carried import Carried
from hidewright.design.design import Design
from hidewright.design.fit import corner_going_in, room_for
from hidewright.design.fitting import FittingPlace
from hidewright.design.folds import hinge_strip
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.kinds import usual
from hidewright.design.kinds.arches import TURNED_OVER, flanged_arch, notch_going_in, notched
from hidewright.design.kinds.hinges import HINGE_ROOM_MM, hinge_folds, hinge_panels
from hidewright.design.kinds.limits import (
    about,
    must_be_at_least,
    must_be_at_most,
    raised_to_least,
)
from hidewright.design.kinds.rims import mouth_to_mouth, rim_seam
from hidewright.design.measure import check_limits, choice, measure
from hidewright.design.piece import MouldedZone, Piece, PunchedHole
from hidewright.design.pose import Assembly, Panel, Pose
from hidewright.design.specification import Brief, Kind
from hidewright.design.states import DryOutline
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point
from hidewright.geometry.shapes import arch, polygon
from hidewright.units.length import WRITTEN_TO_MM

#: A fit holds what is carried by itself with no more room than this, mm (common practice).
SNUG_MM = 0.5
#: Leather between a fitting's head and the edge of a notch, and between two rivets' heads, mm.
BESIDE_HEAD_MM = 3.0
#: A flat crown lower than this has no room for a riveted strap and its stud, mm.
STRAPPED_MM = 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoShellCaseMeasures:
    """Measures of a two-shell case, all of the dry article."""

    width_mm: float = measure(
        "length", 44.5, "inside width of the hollow at the flange", low=12, high=400
    )
    height_mm: float = measure(
        "length", 44.0, "inside height from the mouth to the bottom", low=15, high=400
    )
    depth_mm: float = measure(
        "length", 8.1, "inside depth of each shell as it is moulded", low=2, high=60
    )
    corner_radius_mm: float = measure(
        "length",
        14.0,
        "plan radius of the two bottom corners, inside; half the width makes a round end",
        low=1,
        high=200,
    )
    crown_radius_mm: float = usual.crown_radius(3.0)
    lip_radius_mm: float = usual.lip_radius(2.0)
    flange_mm: float = usual.flange(13.0)
    inset_mm: float = usual.inset()
    pitch_mm: float = usual.pitch()
    reverse_stitches: int = usual.reverse_stitches()
    notch: Literal["front", "both", "none"] = choice("front", "which shells have a thumb notch")
    notch_radius_mm: float = measure(
        "length", 10.0, "thumb notch in the mouth of a shell", low=3, high=40
    )
    closing: Literal["strap and stud", "snug fit", "none"] = choice(
        "strap and stud", "what holds the things in"
    )
    strap_width_mm: float = measure("length", 14.0, "width of the strap", low=8, high=60)
    stud_drop_mm: float = measure(
        "length", 22.0, "how far below the mouth the stud sits on the front", low=6, high=300
    )
    cover_mm: float = measure(
        "length",
        0.8,
        "leather glued over the inner ends of rivets and stud; only with a strap",
        low=0,
        high=3,
    )
    fold_radius_mm: float = usual.fold_radius("inside radius of the two folds of the strap")
    mouth_waste_mm: float = usual.mouth_waste("between the mouths of the two shells")
    margin_mm: float = usual.margin("the trimmed shells")

    @property
    def has_strap(self) -> bool:
        """Whether a strap closes it."""
        return self.closing == "strap and stud"

    @property
    def room_depth_mm(self) -> float:
        """Inside depth of one shell that is left for what is carried."""
        return self.depth_mm - (self.cover_mm if self.has_strap else 0.0)


def construct(brief: Brief[TwoShellCaseMeasures]) -> Design:
    """Return the case: two shells with one hollow, one seam round the rim, a strap over it."""
    m = brief.measures
    check_limits(m, "measures")
    must_be_at_most(
        "crown_radius", m.crown_radius_mm, m.depth_mm, f"each shell is {m.depth_mm:g} mm deep"
    )
    with about("corner_radius"):
        front, back = _shell(m, "front"), _shell(m, "back")
    assembly = Assembly(
        panels=(
            Panel(name="front", piece="front"),
            Panel(name="back", piece="back", pose=TURNED_OVER),
        )
    )
    pieces: tuple[Piece, ...] = (front, back)
    fittings: tuple[FittingPlace, ...] = ()
    if m.has_strap:
        pieces, fittings, panels = _strapped(brief, front, back)
        assembly = Assembly(panels=(*assembly.panels, *panels))
    return Design(
        name=brief.name,
        kind=brief.kind,
        carried=brief.carried,
        leathers=brief.leathers,
        pieces=pieces,
        seams=(rim_seam(m, "front", "back"),),
        blanks=(mouth_to_mouth(m, "pair of shells", "front", "back"),),
        hollows=(_hollow(m),),
        assembly=assembly,
        thread=brief.thread,
        fittings=fittings,
        cover_mm=m.cover_mm,
        held_by=_held_by(m, brief.carried),
    )


def sized_for(m: TwoShellCaseMeasures, carried: tuple[Carried, ...]) -> TwoShellCaseMeasures:
    """Return the measures with the hollow made to fit what is carried, half in each shell.

    Corners and notch are made smaller where they would not go into so small a case, the stud is
    drawn up onto its crown; one that has no room for a strap is held by its snug fit.
    """
    corner = corner_going_in(m.corner_radius_mm, m.crown_radius_mm, carried)

    def sized(width: float, height: float, depth: float) -> TwoShellCaseMeasures:
        flat = height - m.crown_radius_mm
        no_room = flat < STRAPPED_MM or width - 2 * m.crown_radius_mm < m.strap_width_mm
        cased = replace(
            m,
            width_mm=width,
            height_mm=height,
            corner_radius_mm=corner,
            notch_radius_mm=notch_going_in(m.notch_radius_mm, width, m.crown_radius_mm),
            closing="snug fit" if m.has_strap and no_room else m.closing,
            stud_drop_mm=min(m.stud_drop_mm, flat - m.strap_width_mm / 2),
        )
        cover = cased.depth_mm - cased.room_depth_mm
        each = max(depth / 2 + cover, m.crown_radius_mm)
        return raised_to_least(replace(cased, depth_mm=each))

    room = room_for(carried, lambda r: _hollow(sized(r.width_mm, r.height_mm, r.depth_mm)))
    return sized(room.width_mm, room.height_mm, room.depth_mm)


def _hollow(m: TwoShellCaseMeasures) -> Hollow:
    shell = Shell(depth_mm=m.room_depth_mm, crown_radius_mm=m.crown_radius_mm)
    return Hollow(
        name="front/hollow",
        outline=DryOutline(arch(m.width_mm, m.height_mm, m.corner_radius_mm)),
        shells=(shell, shell),
        mouth="mouth",
        grip_mm=0.0 if m.notch == "none" else m.notch_radius_mm,
    )


def _held_by(m: TwoShellCaseMeasures, carried: tuple[Carried, ...]) -> str:
    """Return what holds the things in; a loose fit does not, whatever was chosen."""
    if m.has_strap:
        return "strap with stud"
    loose = any(
        max(c.side_clearance_mm, c.depth_clearance_mm) > SNUG_MM + WRITTEN_TO_MM for c in carried
    )
    return "snug fit" if m.closing == "snug fit" and not loose else ""


def _shell(m: TwoShellCaseMeasures, name: Literal["front", "back"]) -> Piece:
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(arch(m.width_mm, m.height_mm, m.corner_radius_mm)),
        depth_mm=m.depth_mm,
        crown_radius_mm=m.crown_radius_mm,
        lip_radius_mm=m.lip_radius_mm,
        edges=(("mouth", "mouth"), ("rim", "flange")),
    )
    trimmed = flanged_arch(m.width_mm, m.height_mm, m.corner_radius_mm, m.flange_mm)
    if _notch_of(m, name):
        must_be_at_most(
            "notch_radius",
            m.notch_radius_mm,
            m.height_mm - m.crown_radius_mm,
            f"the flat crown is {m.height_mm - m.crown_radius_mm:.1f} mm high",
        )
        trimmed = notched(trimmed, m.notch_radius_mm, m.width_mm / 2 - m.crown_radius_mm)
    return Piece(name=name, role="body", outline=DryOutline(trimmed), zones=(zone,))


def _notch_of(m: TwoShellCaseMeasures, shell: Literal["front", "back"]) -> float:
    """Return how deep the notch in a shell's mouth is, mm."""
    return m.notch_radius_mm if m.notch in (shell, "both") else 0.0


def _strapped(
    brief: Brief[TwoShellCaseMeasures], front: Piece, back: Piece
) -> tuple[tuple[Piece, ...], tuple[FittingPlace, ...], tuple[Panel, ...]]:
    """Return the pieces with a strap and the holes for it, its fittings, and its panels."""
    m = brief.measures
    stud, rivet = brief.fitting("stud"), brief.fitting("rivet")
    thickness = brief.leather("body").thickness_mm
    with about("fold_radius"):
        strip = hinge_strip(
            height_mm=2 * (m.depth_mm + thickness) + HINGE_ROOM_MM,
            inside_radius_mm=m.fold_radius_mm,
            k_factor=0.5,
            thickness_mm=thickness,
        )
    first = _notch_of(m, "back") + BESIDE_HEAD_MM + rivet.head_diameter_mm / 2
    rivets = (-first, -first - rivet.head_diameter_mm - BESIDE_HEAD_MM)
    end = rivets[1] - m.strap_width_mm / 2
    _must_lie_on_the_crown(m, end, stud.head_diameter_mm)
    at_stud: Point = (0.0, -m.stud_drop_mm)
    punched = tuple(
        PunchedHole(name=f"rivet {i + 1}", at=(0.0, y), diameter_mm=rivet.hole_mm)
        for i, y in enumerate(rivets)
    )
    front = replace(front, holes=(PunchedHole(name="stud", at=at_stud, diameter_mm=stud.hole_mm),))
    # the strap comes down in front from the hinge, which begins half a mm above the mouth
    y = HINGE_ROOM_MM + strip.developed_mm + HINGE_ROOM_MM + m.stud_drop_mm
    button = PunchedHole(
        name="strap",
        at=(0.0, y),
        diameter_mm=stud.head_diameter_mm / 2,
        slit=(0.0, y - m.strap_width_mm / 2 + 1.0),
    )
    strap = Piece(
        name="strap",
        role="body",
        outline=DryOutline(_strap(m.strap_width_mm, end, y + m.strap_width_mm / 2)),
        folds=hinge_folds(strip, m.strap_width_mm / 2),
        holes=(*punched, button),
    )
    # its flesh side lies on the grain of the back's crown
    behind = TURNED_OVER.then(Pose(shift=(0.0, 0.0, -(m.depth_mm + thickness))))
    fittings = (
        FittingPlace(
            name="stud",
            fitting=stud,
            piece="front",
            at=at_stud,
            stack_mm=2 * thickness,
            before_seam="rim",
        ),
        *(
            FittingPlace(
                name=hole.name,
                fitting=rivet,
                piece="back",
                at=hole.at,
                stack_mm=2 * thickness,
                before_seam="rim",
            )
            for hole in punched
        ),
    )
    panels = hinge_panels("strap", strip, behind, ("strap", "strap over the mouth", "strap end"))
    return (front, replace(back, holes=punched), strap), fittings, panels


def _must_lie_on_the_crown(m: TwoShellCaseMeasures, end: float, head_mm: float) -> None:
    """Refuse a strap that does not lie on the flat of both crowns, clear of the notches."""
    flat = m.height_mm - m.crown_radius_mm
    must_be_at_least(
        "height", flat, -end, f"the strap's riveted end reaches {-end:.1f} mm down the flat crown"
    )
    must_be_at_most(
        "strap_width",
        m.strap_width_mm,
        m.width_mm - 2 * m.crown_radius_mm,
        f"the flat crown is {m.width_mm - 2 * m.crown_radius_mm:.1f} mm wide",
    )
    must_be_at_least(
        "stud_drop",
        m.stud_drop_mm,
        _notch_of(m, "front") + BESIDE_HEAD_MM + head_mm / 2,
        "the stud needs leather between its head and the mouth or its notch",
    )
    must_be_at_most(
        "stud_drop",
        m.stud_drop_mm,
        flat - m.strap_width_mm / 2,
        f"the strap's end must lie on the flat crown, {flat:.1f} mm high",
    )


def _strap(width: float, low: float, high: float) -> Outline:
    """Return a strap with two round ends, its length along y."""
    x = width / 2
    return polygon(((-x, low), (x, low), (x, high), (-x, high)), x, ("edge",) * 4)


TWO_SHELL_CASE = Kind(
    name="two-shell case",
    title="two moulded shells sewn round the rim, open at a mouth, with or without a strap",
    leathers=(("body", "vegetable-tanned shoulder 1.4-1.6 mm"),),
    fittings=(("stud", "solid brass stud 6 mm"), ("rivet", "solid brass rivet 7 x 5 mm")),
    carries=("folding hand lens",),
    measures=TwoShellCaseMeasures,
    construct=construct,
    sized_for=sized_for,
)
