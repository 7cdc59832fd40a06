"""Which hollows one blank is pressed into, as they lie on the plug, in the blank's frame."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.drying import BlankDrying, even_drying
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.pressed_zone import PressedIsland, PressedZone
from hidewright.design.states import FormedOutline
from hidewright.errors import Remark, Remedy, RequestError
from hidewright.geometry.outline import Outline
from hidewright.tooling.mouths import (
    USUAL_WASTE_MM,
    ends_of,
    joined_at_mouths,
    mouth_path,
    run_on_past,
)

#: Walls of a pair may bend this much where the waste is bridged, radians: half a degree.
STRAIGHT = math.radians(0.5)
#: Measures of the two halves of a pair may differ by this much, mm.
ALIKE_MM = 0.05
#: Walls of a pair may lean by this much differently, degrees.
ALIKE_DEG = 0.05
#: Leather cut away between the mouths of a pair, mm; common practice.
LEAST_WASTE_MM, MOST_WASTE_MM = 3.0, 6.0


def pressed_zones(
    blank: Blank,
    pieces: Sequence[Piece],
    leather: Leather,
    drying: BlankDrying | None = None,
) -> tuple[tuple[PressedZone, ...], tuple[Remark, ...]]:
    """Return the hollows pressed into a blank, corrected for drying, pairs joined.

    A zone with a mouth and no partner runs on straight past its mouth, as far as the waste and the
    corner at its new end need, so that the cut meets a full section.

    Args:
        blank: Its places are read as turn, then shift, of each piece's formed frame.
        pieces: All pieces it names, perhaps more.
        leather: What the blank is cut from.
        drying: How what is formed changes as it dries; by the leather's even shrinkage when None.

    Raises:
        RequestError: When a piece is missing, or a pair's mouths touch or look away.
    """
    placed: list[_Placed] = []
    remarks: list[Remark] = []
    by_name = {piece.name: piece for piece in pieces}
    dries = drying or even_drying(blank, pieces, leather)
    for place in blank.places:
        if place.piece not in by_name:
            raise RequestError(
                f"blank {blank.name}: no piece {place.piece!r}",
                mend=f"The pieces are: {', '.join(by_name)}",
            )
        piece = by_name[place.piece]
        found = _placed(place, piece, dries)
        if blank.over:  # the frame's lip meets the outermost layer
            outer = by_name[blank.over[-1]]
            found = [
                replace(one, lip_radius_mm=outer.zone(one.zone.name).lip_radius_mm) for one in found
            ]
        placed += found
    remarks += _one_backbone(blank, by_name, leather)
    remarks += _one_face(blank, placed)
    zones: list[PressedZone] = []
    while placed:
        one = placed.pop(0)
        partner = _partner(one, placed, blank.mouth_waste_mm)
        if partner is None:
            zones.append(_single(one, blank.mouth_waste_mm))
            continue
        placed.remove(partner[0])
        pair, about = _pair(one, *partner)
        zones.append(pair)
        remarks += about
    return _named_apart(zones), tuple(remarks)


def put(outline: Outline, place: PiecePlace) -> Outline:
    """Return an outline of a piece's frame where the piece lies on its blank."""
    return outline.rotated(place.turn).moved(*place.shift)


@dataclass(frozen=True, eq=False)
class _Placed:
    """One zone of one placed piece, formed, in the blank's frame."""

    piece: str
    zone: MouldedZone
    outline: Outline
    height_mm: float
    height_dries: float
    lip_radius_mm: float
    islands: tuple[PressedIsland, ...] = ()

    @property
    def place(self) -> str:
        return f"{self.piece}/{self.zone.name}"


def _placed(place: PiecePlace, piece: Piece, drying: BlankDrying) -> list[_Placed]:
    found: list[_Placed] = []
    for zone in piece.zones:
        dries = drying.zone(piece.name, zone.name)
        found.append(
            _Placed(
                piece=piece.name,
                zone=zone,
                outline=put(dries.formed(zone.outline), place),
                height_mm=zone.depth_mm / dries.height,
                height_dries=dries.height,
                lip_radius_mm=zone.lip_radius_mm,
                islands=tuple(
                    PressedIsland(
                        name=island.name,
                        pocket=FormedOutline(put(dries.formed(island.outline), place)),
                        height_mm=island.height_mm / dries.height,
                        top_radius_mm=island.top_radius_mm,
                        foot_radius_mm=island.foot_radius_mm,
                    )
                    for island in zone.islands
                ),
            )
        )
    return found


def _single(one: _Placed, waste_mm: float) -> PressedZone:
    plug = one.outline
    corner = max(one.zone.crown_radius_mm + 1.0, 4.0)
    cuts = tuple(mouth_path(plug, mouth) for mouth in one.zone.mouths)
    for mouth in one.zone.mouths:
        plug = run_on_past(plug, mouth, waste_mm or USUAL_WASTE_MM, corner)
    return PressedZone(
        name=one.zone.name,
        sources=((one.piece, one.zone.name),),
        plug=FormedOutline(plug),
        height_mm=one.height_mm,
        height_dries=one.height_dries,
        crown_radius_mm=one.zone.crown_radius_mm,
        lip_radius_mm=one.lip_radius_mm,
        wall_angle=one.zone.wall_angle,
        cut_lines=cuts,
        grain_out=one.zone.grain_out,
        islands=one.islands,
    )


def _partner(
    one: _Placed, others: Sequence[_Placed], waste_mm: float
) -> tuple[_Placed, str, str] | None:
    """Return the zone whose mouth faces one's, with the two mouths, if any is near enough."""
    if waste_mm <= 0:
        return None
    best: tuple[float, _Placed, str, str] | None = None
    for mouth in one.zone.mouths:
        start, end = ends_of(one.outline, mouth)
        for other in others:
            for other_mouth in other.zone.mouths:
                other_start, other_end = ends_of(other.outline, other_mouth)
                away = max(math.dist(start, other_end), math.dist(end, other_start))
                if away <= 2.0 * waste_mm + 10.0 and (best is None or away < best[0]):
                    best = (away, other, mouth, other_mouth)
    return best[1:] if best else None


def _pair(
    one: _Placed, other: _Placed, mouth: str, other_mouth: str
) -> tuple[PressedZone, list[Remark]]:
    joint = joined_at_mouths(one.outline, mouth, other.outline, other_mouth)
    remarks: list[Remark] = []
    off = abs(joint.widths_mm[0] - joint.widths_mm[1])
    if joint.kink > STRAIGHT + 1e-9 or off > ALIKE_MM:
        remarks.append(
            Remark(
                code="pair-walls-do-not-meet",
                severity="forbids",
                place=one.place,
                amount=math.degrees(joint.kink),
                limit=math.degrees(STRAIGHT),
                sentence=(
                    f"The walls of the pair are {joint.widths_mm[0]:.2f} and "
                    f"{joint.widths_mm[1]:.2f} mm apart at the mouths and bend by "
                    f"{math.degrees(joint.kink):.2f} degrees between them: both must be equally "
                    "wide and straight on, within 0.05 mm and half a degree"
                ),
            )
        )
    a, b = one.zone, other.zone
    lean, other_lean = math.degrees(a.wall_angle), math.degrees(b.wall_angle)
    for label, left, right, unit, alike in (
        ("depth", a.depth_mm, b.depth_mm, "mm", ALIKE_MM),
        ("crown radius", a.crown_radius_mm, b.crown_radius_mm, "mm", ALIKE_MM),
        ("lip radius", a.lip_radius_mm, b.lip_radius_mm, "mm", ALIKE_MM),
        ("wall angle", lean, other_lean, "deg", ALIKE_DEG),
    ):
        if abs(left - right) <= alike:
            continue
        remarks.append(
            Remark(
                code="pair-differs",
                severity="forbids",
                place=one.place if left < right else other.place,
                amount=abs(left - right),
                limit=alike,
                sentence=(
                    f"The two halves of the pair differ: {label} {left:.2f} {unit} and "
                    f"{right:.2f} {unit}, but they are moulded over one plug"
                ),
                remedies=(
                    Remedy(
                        field=f"measures.{label.replace(' ', '_')}",
                        value=f"{max(left, right):.2f} {unit}",
                    ),
                ),
            )
        )
    low, high = joint.waste_mm
    if low < LEAST_WASTE_MM - 0.25 or high > MOST_WASTE_MM + 0.25:
        wanted = LEAST_WASTE_MM if low < LEAST_WASTE_MM else MOST_WASTE_MM
        remarks.append(
            Remark(
                code="pair-waste",
                severity="warning",
                place=one.place,
                amount=low if low < LEAST_WASTE_MM else high,
                limit=wanted,
                sentence=(
                    f"Between the mouths of the pair lie {low:.1f} to {high:.1f} mm: under "
                    f"{LEAST_WASTE_MM:g} mm the saw or knife spoils a mouth, over "
                    f"{MOST_WASTE_MM:g} mm is wasted"
                ),
                remedies=(Remedy(field="measures.mouth_waste", value=f"{wanted:g} mm"),),
            )
        )
    same = one.place == other.place
    zone = PressedZone(
        name=f"{a.name} pair" if a.name == b.name else f"{a.name} and {b.name}",
        sources=((one.piece, a.name), (other.piece, b.name)),
        plug=FormedOutline(joint.outline),
        height_mm=one.height_mm if same else max(one.height_mm, other.height_mm),
        height_dries=one.height_dries,
        crown_radius_mm=min(a.crown_radius_mm, b.crown_radius_mm),
        lip_radius_mm=min(a.lip_radius_mm, b.lip_radius_mm),
        wall_angle=min(a.wall_angle, b.wall_angle),
        cut_lines=(mouth_path(one.outline, mouth), mouth_path(other.outline, other_mouth)),
        grain_out=a.grain_out,
        islands=(*one.islands, *other.islands),
    )
    return zone, remarks


def _named_apart(zones: Sequence[PressedZone]) -> tuple[PressedZone, ...]:
    names = [zone.name for zone in zones]
    return tuple(
        zone
        if names.count(zone.name) == 1
        else replace(zone, name=f"{zone.name} {names[: i + 1].count(zone.name)}")
        for i, zone in enumerate(zones)
    )


def _one_backbone(blank: Blank, pieces: dict[str, Piece], leather: Leather) -> list[Remark]:
    """Forbid pieces that lie differently to the backbone on one blank of uneven leather."""
    even = (
        leather.shrinkage_along == leather.shrinkage_across
        and leather.soak_growth_along == leather.soak_growth_across
    )
    angles = [place.turn + pieces[place.piece].stretch_angle for place in blank.places]
    # a backbone has no head or tail here: half a turn changes nothing
    off = max(abs(math.remainder(angle - angles[0], math.pi)) for angle in angles)
    if even or off < math.radians(1.0):
        return []
    return [
        Remark(
            code="pieces-across-one-another",
            severity="forbids",
            place=blank.name,
            amount=math.degrees(off),
            limit=1.0,
            sentence=(
                f"The pieces on this blank are turned {math.degrees(off):.0f} degrees to one "
                "another against the backbone, but one blank lies one way on the hide and shrinks "
                "more across than along"
            ),
        )
    ]


def _one_face(blank: Blank, placed: Sequence[_Placed]) -> list[Remark]:
    if len({one.zone.grain_out for one in placed}) < 2:
        return []
    return [
        Remark(
            code="pressed-both-ways",
            severity="forbids",
            place=blank.name,
            sentence=(
                "Some zones of this blank stand out on the grain side and some on the flesh side: "
                "one plug presses one way only, give them blanks of their own"
            ),
        )
    ]
