"""Whether holes keep clear of a moulded wall, and the tools beside them too."""

import math

import numpy as np

from hidewright.design.choices import SewingChoice
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.seam import Seam
from hidewright.errors import Remark, Remedy
from hidewright.geometry.crossing import Distances
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.segment import Floats

#: A hole may be nearer to the wall than the limit by this much, mm.
SLACK_MM = 1e-6


def check_walls(
    seam: Seam, piece: Piece, points: Floats, thickness_mm: float, choice: SewingChoice
) -> list[Remark]:
    """Return remarks on holes in a moulded wall or too near to it for the tools.

    The zone's outline is the inside of its wall. Outside it stand the leather and the rounded lip;
    from there on the flange is flat. A hole nearer than leather + lip radius cannot be made; an
    iron, awl or clamp needs its clearance beyond that. Only walls that end in a flange count; the
    inside of a zone always does.

    Args:
        seam: Asked for.
        piece: The layer that has the zones.
        points: (n, 2) holes of that layer, mm.
        thickness_mm: Of the layer, dry.
        choice: How the workshop sews.
    """
    out: list[Remark] = []
    for zone in piece.zones:
        found = _check_zone(seam, piece, zone, points, thickness_mm, choice)
        if found is not None:
            out.append(found)
    return out


def _check_zone(
    seam: Seam,
    piece: Piece,
    zone: MouldedZone,
    points: Floats,
    thickness_mm: float,
    choice: SewingChoice,
) -> Remark | None:
    walls = [s for s in zone.outline.segments if zone.ending(s.span) == "flange"]
    inside = signed_distances(zone.outline, points) > 0.0
    away = Distances(walls).least(points) if walls else np.full(len(points), math.inf)
    all_round = Distances(zone.outline.segments).least(points)
    away = np.where(inside, -all_round, away)
    k = int(np.argmin(away))
    nearest, at = float(away[k]), (float(points[k, 0]), float(points[k, 1]))
    foot = thickness_mm + zone.lip_radius_mm
    room = foot + choice.tool_clearance_mm
    if nearest >= room - SLACK_MM:
        return None
    flange = math.ceil((seam.inset_mm + room) * 10 - 1e-9) / 10
    in_wall = nearest < foot - SLACK_MM
    where = "inside the wall" if nearest < 0 else f"{nearest:.1f} mm from the inside of the wall"
    why = (
        f"the wall and its lip take {foot:.1f} mm"
        if in_wall
        else f"iron, awl and clamp need {room:.1f} mm"
    )
    return Remark(
        code="hole-in-wall" if in_wall else "no-room-for-tool",
        severity="forbids" if in_wall else "warning",
        place=f"{piece.name}/{zone.name}",
        point=at,
        amount=nearest,
        limit=foot if in_wall else room,
        sentence=f"seam {seam.name}: a hole is {where}, but {why}; a flange of {flange:g} mm "
        "does it",
        remedies=(Remedy(field="measures.flange", value=f"{flange:g} mm"),),
    )
