"""The plates of a mould but for its plugs, with holes, lines and words, in the tool's frame."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.design.choices import ToolingChoice
from hidewright.design.part import Easing, Label, Part, PartHole
from hidewright.design.pressed_zone import PressedZone
from hidewright.design.states import SoakedOutline
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.offset import offset, offset_all
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point, line
from hidewright.geometry.shapes import circle, rectangle
from hidewright.tooling.dowels import dowel_places
from hidewright.tooling.marks import LETTER_WIDTH
from hidewright.tooling.stacks import Layer, packing

#: Plates slide over their dowels with this much room in diameter, mm; from memory 0.15 to 0.25.
SLIDING_MM = 0.2
#: Holes for water, mm.
DRAIN_MM = 4.0
DRAINS = 6
#: The ring keeps at least this far outside the frame's window, mm.
RING_MM = 1.0
PLATE_CORNER_MM = 4.0
#: Largest common round-over cutter, mm; common practice, no source.
LARGEST_CUTTER_MM = 12.7
SEAL = "Sand off the char and seal the board before wet leather touches it."


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What all plates of one tool have in common.

    Attributes:
        blank: Name of the blank.
        outline: Outline of every plate.
        dowels: Centres of the dowels.
        choice: Board, border and dowel diameter.
    """

    blank: str
    outline: Outline
    dowels: tuple[Point, ...]
    choice: ToolingChoice

    def dowel_holes(self, room_mm: float) -> tuple[PartHole, ...]:
        """Return the dowel holes of a plate, so much wider than the dowel."""
        radius = (self.choice.dowel_mm + room_mm) / 2.0
        return tuple(
            PartHole(outline=circle(radius, place), purpose="dowel") for place in self.dowels
        )

    def words(self, text: str) -> tuple[Label, ...]:
        """Return a line of words in the lower border, between the dowels."""
        left, bottom, right, _ = self.outline.bounds
        border = self.choice.plate_border_mm
        room = right - left - 2.0 * border - 4.0
        height = min(4.0, room / (LETTER_WIDTH * len(text)))
        at = ((left + right) / 2.0, bottom + border / 2.0)
        return (Label(words=text, at=at, height_mm=height),)

    def up_mark(self) -> tuple[Path, ...]:
        """Return a chevron in the left border that points to the upper edge of the plate.

        It stands above the middle, where the base has a centre mark.
        """
        left, bottom, _, top = self.outline.bounds
        x, y = left + self.choice.plate_border_mm / 2.0, (bottom + top) / 2.0 + 8.0
        tip = (x, y + 2.0)
        return (Path((line((x - 4.0, y - 2.0), tip), line(tip, (x + 4.0, y - 2.0)))),)


def ground_for(blank: str, soaked: SoakedOutline, choice: ToolingChoice) -> Ground:
    """Return the plate outline and the dowels, outside the blank on every side."""
    left, bottom, right, top = soaked.bounds
    border = choice.plate_border_mm
    plate = (left - border, bottom - border, right + border, top + border)
    outline = rectangle(plate[2] - plate[0], plate[3] - plate[1], PLATE_CORNER_MM)
    return Ground(
        blank=blank,
        outline=outline.moved((plate[0] + plate[2]) / 2.0, (plate[1] + plate[3]) / 2.0),
        dowels=dowel_places(plate, border, choice.dowel_mm),
        choice=choice,
    )


def window_at(zone: PressedZone, gap_mm: float, height_mm: float) -> Outline:
    """Return the frame's window at a height: one gap from the plug's wall, square to the wall."""
    lean = zone.wall_angle
    inwards = min(height_mm, zone.height_mm) * math.tan(lean)
    return offset(zone.plug, gap_mm / math.cos(lean) - inwards)


def frame_parts(
    ground: Ground, zones: Sequence[PressedZone], gap_mm: float, layers: Sequence[Layer]
) -> tuple[Part, ...]:
    """Return the frame's plates, lowest first; the lowest is eased at its lower window edge."""
    parts: list[Part] = []
    boards = [layer for layer in layers if not layer.is_shim]
    for layer in layers:
        windows = [window_at(zone, gap_mm, layer.top_mm) for zone in zones]
        is_lowest = layer is layers[0]
        if layer.is_shim:
            short = "frame shim"
        else:
            short = f"frame {boards.index(layer) + 1} of {len(boards)}"
        easings, lines = [], list(ground.up_mark())
        if is_lowest:
            for zone, window in zip(zones, windows, strict=True):
                lip = zone.lip_radius_mm
                how = easing_words(lip)
                easings.append(Easing(radius_mm=lip, face="bottom", edge="window", how=how))
                lines.append(offset(window, lip).as_path())
        words = "this side down" if is_lowest else "this side up"
        parts.append(
            Part(
                name=f"{ground.blank} {short}",
                role="shim" if layer.is_shim and boards else "frame",
                board=layer.board,
                outline=ground.outline,
                holes=(
                    *(PartHole(outline=window, purpose="window") for window in windows),
                    *ground.dowel_holes(SLIDING_MM),
                ),
                scores=tuple(lines),
                labels=ground.words(f"{ground.blank} {short} {words}"),
                bottom_mm=layer.bottom_mm,
                easings=tuple(easings),
                note=_frame_note(zones, layer, is_lowest=is_lowest),
            )
        )
    return tuple(parts)


def floor_part(
    ground: Ground, bottom_mm: float, zones: Sequence[PressedZone], gap_mm: float
) -> Part:
    """Return the floor that closes the cavity and presses the crown flat.

    Where dividers' blocks hang from it they are scored: on the lower face, which is marked then.
    """
    blocks = [island.block(gap_mm) for zone in zones for island in zone.islands]
    side = "down" if blocks else "up"
    return Part(
        name=f"{ground.blank} cavity floor",
        role="cavity floor",
        board=ground.choice.mould_board,
        outline=ground.outline,
        holes=ground.dowel_holes(SLIDING_MM),
        scores=(*ground.up_mark(), *(block.as_path() for block in blocks)),
        labels=ground.words(f"{ground.blank} cavity floor this side {side}"),
        bottom_mm=bottom_mm,
        note=f"Marked on its lower face, where dividers are glued on. {SEAL}" if blocks else SEAL,
    )


def base_part(
    ground: Ground,
    zones: Sequence[PressedZone],
    holes: Sequence[PartHole],
    soaked: SoakedOutline,
    drains: Sequence[Point],
) -> Part:
    """Return the base: dowels tight in it, plug screwed on it, the blank's place scored on it."""
    return Part(
        name=f"{ground.blank} base",
        role="base",
        board=ground.choice.mould_board,
        outline=ground.outline,
        holes=(
            *ground.dowel_holes(0.0),
            *holes,
            *(PartHole(outline=circle(DRAIN_MM / 2, p), purpose="drain") for p in drains),
        ),
        scores=(
            soaked.as_path(),
            *_centre_marks(ground, soaked),
            *(zone.plug.as_path() for zone in zones),
            *ground.up_mark(),
        ),
        labels=ground.words(f"{ground.blank} base this side up"),
        bottom_mm=-ground.choice.mould_board.thickness_mm,
        note=(
            "Glue the dowels into it, glue and screw the plug on within its scored outline, screws "
            "from below and shorter than the stack; lay the soaked blank to the outer line. "
            f"{SEAL}"
        ),
    )


def ring_part(ground: Ground, zones: Sequence[PressedZone], gap_mm: float) -> Part:
    """Return the ring that keeps the flange flat while the leather dries on the plug."""
    windows = [
        offset(zone.plug, gap_mm / math.cos(zone.wall_angle) + ring_room_mm(zone)) for zone in zones
    ]
    return Part(
        name=f"{ground.blank} hold-down ring",
        role="hold-down ring",
        board=ground.choice.mould_board,
        outline=ground.outline,
        holes=(
            *(PartHole(outline=window, purpose="window") for window in windows),
            *ground.dowel_holes(SLIDING_MM),
        ),
        scores=ground.up_mark(),
        labels=ground.words(f"{ground.blank} hold-down ring this side up"),
        note=f"Takes the frame's place while the leather dries on the plug. {SEAL}",
    )


def ring_room_mm(zone: PressedZone) -> float:
    """Return how far the ring's window lies outside the frame's: clear of the leather's lip."""
    return max(RING_MM, zone.lip_radius_mm + 0.5)


def stop_parts(ground: Ground, flange_gap_mm: float) -> tuple[Part, ...]:
    """Return one stop block round each dowel, as thick as the flange gap."""
    choice = ground.choice
    half = min(choice.plate_border_mm / 2.0 - 1.0, choice.dowel_mm / 2.0 + 8.0)
    hole = circle(choice.dowel_mm / 2.0, (0.0, 0.0))
    words = f"stop {flange_gap_mm:.2f}"
    height = min(2.0, 1.6 * half / (LETTER_WIDTH * len(words)))
    low = -(half + choice.dowel_mm / 2.0) / 2.0
    return tuple(
        Part(
            name=f"{ground.blank} stop block {i + 1}",
            role="stop block",
            board=packing(choice.mould_board, flange_gap_mm),
            outline=rectangle(2 * half, 2 * half, 2.0).moved(x, y),
            holes=(PartHole(outline=hole.moved(x, y), purpose="dowel"),),
            labels=(Label(words=words, at=(x, y + low), height_mm=height),),
            bottom_mm=0.0,
            note=(
                f"Glue it round its dowel on the base; measured, it is {flange_gap_mm:.2f} mm "
                "thick and keeps the frame that far off the base."
            ),
        )
        for i, (x, y) in enumerate(ground.dowels)
    )


def drain_places(
    soaked: SoakedOutline, margin_mm: float, zones: Sequence[PressedZone], keep_off_mm: float
) -> tuple[Point, ...]:
    """Return where water drains: under the margin, which is trimmed off and may show the holes."""
    regions = offset_all(soaked, -margin_mm / 2.0)
    if len(regions) != 1:
        return ()
    way = regions[0].outer
    places = [way.point_at(way.length * (i + 0.5) / DRAINS) for i in range(DRAINS)]
    return tuple(place for place in places if _is_off(place, zones, keep_off_mm))


def easing_words(radius_mm: float) -> str:
    """Return how an edge is eased: tool and grit."""
    finish = "then 120 and 180 grit until the gauge shows no light"
    if radius_mm <= LARGEST_CUTTER_MM:
        return (
            f"round over with a {radius_mm:g} mm cutter, or the nearest, or file to the scored "
            f"line, {finish}"
        )
    return f"file to the scored line, {finish}"


def _frame_note(zones: Sequence[PressedZone], layer: Layer, *, is_lowest: bool) -> str:
    if layer.is_shim:
        return f"Lies under the cavity floor, {layer.board.thickness_mm:.2f} mm thick. {SEAL}"
    if is_lowest:
        deep = max(zone.lip_radius_mm for zone in zones) > layer.board.thickness_mm
        after = ", after gluing the stack" if deep else ""
        return f"Marked on its lower face, whose window edge is eased{after}. {SEAL}"
    if any(zone.wall_angle for zone in zones):
        return f"Sand the steps of the windows to one slope. {SEAL}"
    return SEAL


def _centre_marks(ground: Ground, soaked: SoakedOutline) -> tuple[Path, ...]:
    """Return short lines outside the blank at the middle of its four sides."""
    left, bottom, right, top = soaked.bounds
    x, y = (left + right) / 2.0, (bottom + top) / 2.0
    near, far = 1.0, ground.choice.plate_border_mm / 2.0 - ground.choice.dowel_mm / 2.0 - 1.0
    ends = (
        ((x, bottom - near), (x, bottom - far)),
        ((x, top + near), (x, top + far)),
        ((left - near, y), (left - far, y)),
        ((right + near, y), (right + far, y)),
    )
    return tuple(Path((line(a, b),)) for a, b in ends)


def _is_off(place: Point, zones: Sequence[PressedZone], keep_off_mm: float) -> bool:
    at = np.array([place])
    return all(float(signed_distances(zone.plug, at)[0]) < -keep_off_mm for zone in zones)
