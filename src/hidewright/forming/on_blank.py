"""A blank of the design as a pressing, and what its solved sheet says of blank and drying."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.dart import Dart
from hidewright.design.drying import BlankDrying, ZoneDrying
from hidewright.design.piece import Piece
from hidewright.design.pressed_zone import PressedZone
from hidewright.design.size_change import Change
from hidewright.design.states import FormedOutline, SoakedOutline
from hidewright.errors import RequestError
from hidewright.forming.answers import flat_edge
from hidewright.forming.darts import with_corners_at
from hidewright.forming.drying import DryShape, FormedSheet, dry_shape
from hidewright.forming.drying_time import TimeLaw
from hidewright.forming.law import FibreSheet
from hidewright.forming.pressing import Hollow, Pressing
from hidewright.forming.profile import Tools
from hidewright.forming.set import (
    DryingBehaviour,
    dry_thickness,
    log_strain,
    natural_strain,
)
from hidewright.forming.solved import Conditions, Pressed
from hidewright.geometry.once import kept
from hidewright.geometry.outline import Outline, joined
from hidewright.geometry.refit import points_to_segments
from hidewright.geometry.segment import Floats, Point

#: Pressure of plate or ring on the flange, MPa: hand-tight on its stop blocks. Assumed.
PLATE_MPA = 0.02
#: Triangles of the standard mesh, about, on hollows with a strip so wide round them, mm; at most
#: so many times as many on a wide piece of leather.
STANDARD_TRIANGLES, STRIP_MM, MOST_TIMES = 3000, 25.0, 4.0
#: A knife follows the blank's outline this well, mm.
KNIFE_MM = 0.1


def soaked_mm(leather: Leather) -> float:
    """Return the thickness of the leather as it is laid in, mm: the middle of its range, soaked."""
    return leather.thickness_mm * (1.0 + leather.soak_growth_thickness)


def wet_law(leather: Leather) -> FibreSheet:
    """Return how a leather resists stretching when soaked."""
    return FibreSheet(
        shear_MPa=leather.wet_matrix_MPa,
        fibre_along_MPa=leather.wet_fibre_along_MPa,
        rise_along=leather.wet_rise_along,
        fibre_across_MPa=leather.wet_fibre_across_MPa,
        rise_across=leather.wet_rise_across,
    )


def conditions_for(blank: Blank, leather: Leather) -> Conditions:
    """Return how a blank is pressed: bending counts where its edge may slide."""
    return Conditions(
        law=wet_law(leather),
        friction=leather.wet_friction,
        plate_pressure_MPa=PLATE_MPA if blank.hold == "plate" else 0.0,
        level=2 if blank.hold == "clamped" else 3,
        pull_in_factor=leather.pull_in_factor,
    )


def pressing_of(
    blank: Blank,
    zones: Sequence[PressedZone],
    edge: FormedOutline,
    leather: Leather,
    gap_mm: float,
    backbone: float,
    darts: Sequence[Dart] = (),
) -> Pressing:
    """Return the form a blank's leather takes.

    Args:
        blank: Gives how the edge is held.
        zones: What is pressed, in the blank's frame.
        edge: The leather's edge as it lies pressed.
        leather: Its middle thickness, soaked, is pressed.
        gap_mm: Between plug and frame.
        backbone: Direction of the backbone, radians from the blank's y axis.
        darts: Cut into the leather's edge, as they lie closed.
    """
    thickness = soaked_mm(leather)
    divided, mouths = with_corners_at(edge, [dart.mouth for dart in darts])
    pressed_up = tuple(
        Hollow(
            name=zone.name,
            outline=zone.plug,
            tools=Tools(
                depth_mm=zone.height_mm,
                crown_radius_mm=zone.crown_radius_mm,
                lip_radius_mm=zone.lip_radius_mm,
                gap_mm=gap_mm,
                thickness_mm=thickness,
                wall_angle=zone.wall_angle,
            ),
        )
        for zone in zones
    )
    return Pressing(
        hollows=(
            *pressed_up,
            *(one for zone in zones for one in _islands(zone, gap_mm, thickness)),
        ),
        edge=divided,
        thickness_mm=thickness,
        hold=blank.hold,
        backbone=math.pi / 2.0 + backbone,
        darts=tuple(replace(dart, mouth=at) for dart, at in zip(darts, mouths, strict=True)),
    )


def _islands(zone: PressedZone, gap_mm: float, thickness_mm: float) -> Iterator[Hollow]:
    """Yield the dividers of a zone: its bottom is pressed back over their blocks."""
    for island in zone.islands:
        yield Hollow(
            name=f"{zone.name}/{island.name}",
            outline=island.block(gap_mm),
            tools=Tools(
                depth_mm=island.height_mm,
                crown_radius_mm=island.top_radius_mm,
                lip_radius_mm=island.foot_radius_mm,
                gap_mm=gap_mm,
                thickness_mm=thickness_mm,
            ),
            within=zone.name,
        )


def standard_size_mm(zones: Sequence[PressedZone], edge: Outline) -> float:
    """Return the side of a triangle that gives about the standard number of them, mm.

    It goes by the hollows and a strip round each, not by the leather's edge: what is reckoned of a
    hollow must not change with the margin. Only where the leather is very much wider than its
    hollows are triangles larger, so that they do not become too many. An equilateral triangle of
    side s covers sqrt(3)/4 s^2; bands round zones take half as many again.
    """
    near = math.fsum(zone.plug.area + zone.plug.length * STRIP_MM for zone in zones)
    counted = max(near, edge.area / MOST_TIMES)
    return math.sqrt(counted * 4.0 / math.sqrt(3.0) * 1.5 / STANDARD_TRIANGLES)


def flat_blank(pressed: Pressed, within_mm: float = KNIFE_MM) -> SoakedOutline:
    """Return the outline of the flat, soaked blank whose edge comes to lie where it was asked.

    Args:
        pressed: The solved sheet.
        within_mm: How far its lines and arcs may be from the computed edge.
    """
    return kept(pressed, ("flat blank", within_mm), lambda: _flat_blank(pressed, within_mm))


def _flat_blank(pressed: Pressed, within_mm: float) -> SoakedOutline:
    around = flat_edge(pressed, pressed.layout.rim)
    segments, _ = points_to_segments(around, within_mm, closed=True)
    try:
        return SoakedOutline(Outline(joined(segments)))
    except RequestError as refused:
        raise RequestError(
            "the flat blank's edge crosses itself",
            because=f"{refused}",
            mend="Give a wider margin, or less depth",
        ) from None


def behaviour_of(leather: Leather) -> DryingBehaviour:
    """Return how a leather dries: its shrinkage as given is what is left when it dries held."""
    left = 1.0 - leather.held_shrinkage
    return DryingBehaviour(
        set_ratio=leather.set_ratio,
        restraint=leather.held_shrinkage,
        shrink_along=-math.log(1.0 - leather.shrinkage_along) / left,
        shrink_across=-math.log(1.0 - leather.shrinkage_across) / left,
        shrink_thickness=math.log(1.0 + leather.soak_growth_thickness),
        time=TimeLaw(tau_hours=leather.drying_hours),
    )


def dried(pressed: Pressed, leather: Leather, backbone: float) -> DryShape:
    """Return the shape a blank dries to when it stays on its plug until it is dry.

    Args:
        pressed: The solved sheet.
        leather: Gives set and shrinkage.
        backbone: Direction of the backbone, radians from the blank's y axis.
    """
    key = ("dried", leather, backbone)
    return kept(pressed, key, lambda: _dried(pressed, leather, backbone))


def _dried(pressed: Pressed, leather: Leather, backbone: float) -> DryShape:
    strain = _strains(pressed)
    sheet = FormedSheet(
        points=pressed.shape.points,
        flat=pressed.flat,
        triangles=pressed.layout.triangles,
        strain=strain,
        regions=pressed.layout.hollow + 1,
        angle=backbone,
    )
    return dry_shape(sheet, natural_strain(strain, behaviour_of(leather), 1.0))


def thinnest_dry_mm(pressed: Pressed, leather: Leather) -> float:
    """Return the least thickness of a solved sheet when it has dried, mm."""
    dry = dry_thickness(
        np.full(len(pressed.thickness), pressed.pressing.thickness_mm),
        _strains(pressed),
        behaviour_of(leather),
    )
    return float(dry.min())


def _strains(pressed: Pressed) -> Floats:
    """(m, 2, 2) logarithmic strains of the triangles in the leather's axes."""
    c11, c22, c12 = pressed.state.c
    return log_strain(
        np.stack([np.stack([c11, c12], axis=-1), np.stack([c12, c22], axis=-1)], axis=-2)
    )


def drying_of(
    blank: Blank, pieces: Sequence[Piece], zones: Sequence[PressedZone], dry: DryShape
) -> BlankDrying:
    """Return a dried blank piece by piece: each change in the frame of its piece."""
    by_name = {piece.name: piece for piece in pieces}
    region = {source: k for k, zone in enumerate(zones, 1) for source in zone.sources}
    flanges: dict[str, Change] = {}
    found: dict[tuple[str, str], ZoneDrying] = {}
    for place in blank.places:
        piece = by_name[place.piece]
        angle = piece.stretch_angle
        flanges[piece.name] = _in_frame(dry.change(0), angle)
        for zone in piece.zones:
            k = region[(piece.name, zone.name)]
            x, y = dry.middles[k].tolist()
            found[(piece.name, zone.name)] = ZoneDrying(
                piece=piece.name,
                zone=zone.name,
                flange=flanges[piece.name],
                plan=_in_frame(dry.change(k), angle),
                middle=_back(place, (x, y)),
                height=float(dry.scales[k, 2]),
            )
    return BlankDrying(
        blank=blank.name, flanges=tuple(flanges.items()), zones=tuple(found.values())
    )


def _in_frame(change: Change, angle: float) -> Change:
    return Change(along=change.along, across=change.across, angle=angle)


def _back(place: PiecePlace, at: Point) -> Point:
    """Return a point of the blank's frame in the frame of a piece that lies on it."""
    dx, dy = at[0] - place.shift[0], at[1] - place.shift[1]
    c, s = math.cos(place.turn), math.sin(place.turn)
    return (c * dx + s * dy, c * dy - s * dx)
