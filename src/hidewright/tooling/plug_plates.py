"""The plates of a plug, each with its holes, lines and words, in the tool's frame."""

import math
from collections.abc import Sequence
from dataclasses import replace

from hidewright.catalogue.boards import Board
from hidewright.design.part import Easing, Part, PartHole
from hidewright.design.pressed_zone import PressedZone
from hidewright.geometry.offset import offset, offset_all
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.shapes import circle
from hidewright.tooling.crowns import crown_come_in, proud_mm
from hidewright.tooling.dowels import hole_places, pin_places
from hidewright.tooling.marks import marked
from hidewright.tooling.plates import SEAL, easing_words
from hidewright.tooling.stacks import Layer

#: Screws that hold a plug on the base, holes to push the leather off, mm.
SCREW_MM, PUSH_OUT_MM = 3.0, 8.0
#: Flat crown left between its rounding and a hole, mm.
FLAT_MM = 1.0
#: What is marked on a plate of a crown cut in steps, and how its rounding is finished.
LOWER_EDGE = ", lower edge stays"
SANDED = (
    "glue the stack, then sand the steps of the crown until every plate's lower edge just stays, "
    "120 and 180 grit, until the gauge shows no light"
)


def plug_at(zone: PressedZone, height_mm: float, *, stepped: bool = False) -> Outline:
    """Return the plug's outline at a height of its wall: a leaning wall has come in there.

    Args:
        zone: What it presses.
        height_mm: Over the base.
        stepped: Whether the crown is cut too, in steps.
    """
    lean = height_mm * math.tan(zone.wall_angle)
    return offset(zone.plug, -(crown_come_in(zone, height_mm) if stepped else lean))


def plug_holes(
    zone: PressedZone, layers: Sequence[Layer], board: Board, *, stepped: bool
) -> tuple[PartHole, ...]:
    """Return where the plug is screwed on and where the leather is pushed off it.

    Every hole keeps the board's web from the edge and lies within the flat of the crown.
    """
    web = board.min_web_mm
    height = layers[-1].bottom_mm if stepped else zone.height_mm
    rounding = _rounding_left(zone, layers, stepped=stepped)
    flat = offset_all(plug_at(zone, height, stepped=stepped), -max(rounding + FLAT_MM - web, 0.0))
    if len(flat) != 1:
        return ()
    top, pockets = flat[0].outer, [island.pocket for island in zone.islands]
    pins = pin_places(top, SCREW_MM, web, pockets)
    taken = [(place, SCREW_MM) for place in pins]
    pushes = hole_places(top, PUSH_OUT_MM, web, taken, 2, pockets)
    return (
        *(PartHole(outline=circle(SCREW_MM / 2, p), purpose="screw") for p in pins),
        *(PartHole(outline=circle(PUSH_OUT_MM / 2, p), purpose="push-out") for p in pushes),
    )


def _rounding_left(zone: PressedZone, layers: Sequence[Layer], *, stepped: bool) -> float:
    """Return how far in from its top plate's edge the flat of the crown begins, mm."""
    if not stepped:
        return zone.crown_radius_mm
    whole = crown_come_in(zone, zone.height_mm)
    return whole - crown_come_in(zone, layers[-1].bottom_mm)


def plug_parts(
    blank: str,
    zone: PressedZone,
    layers: Sequence[Layer],
    holes: Sequence[PartHole],
    *,
    stepped: bool,
) -> tuple[Part, ...]:
    """Return a plug's plates and shim, lowest first; the highest is eased at its upper edge.

    Pockets of dividers go through all of them; the highest is eased round them too.
    """
    boards = [layer for layer in layers if not layer.is_shim]
    holes = (*holes, *(PartHole(outline=i.pocket, purpose="pocket") for i in zone.islands))
    inner = [hole.outline for hole in holes]
    stem = f"{blank} plug {zone.name}"
    # words on what stays flat of the smallest plate lie clear of edges on all of them
    longest = f"{stem} {len(boards)} of {len(boards)} up" + (LOWER_EDGE if stepped else "")
    smallest = plug_at(zone, layers[-1].bottom_mm, stepped=stepped)
    rounding = _rounding_left(zone, layers, stepped=stepped)
    flat = offset_all(smallest, -rounding)
    widest = max((region.outer for region in flat), key=lambda o: o.area, default=smallest)
    marks = marked(widest, inner, (longest,))
    parts: list[Part] = []
    for layer in layers:
        outline = plug_at(zone, layer.bottom_mm, stepped=stepped)
        proud = proud_mm(zone, layer) if stepped else 0.0
        number = f"{boards.index(layer) + 1} of {len(boards)}" if not layer.is_shim else "shim"
        name = f"{stem} {number}"
        is_top = layer is layers[-1]
        line_up = _line_inside(outline, rounding) if is_top else ()
        eased = Easing(
            radius_mm=zone.crown_radius_mm,
            face="top",
            edge="outline",
            how=SANDED if stepped else easing_words(zone.crown_radius_mm),
        )
        feet = [
            Easing(radius_mm=r, face="top", edge="window", how=f"and its pocket: {easing_words(r)}")
            for r in dict.fromkeys(island.foot_radius_mm for island in zone.islands)
        ]
        words = f"{name} up" + (LOWER_EDGE if proud else "")
        parts.append(
            Part(
                name=name,
                role="shim" if layer.is_shim and boards else "plug",
                board=layer.board,
                outline=outline,
                holes=holes,
                scores=(*marks.scores, *line_up),
                labels=tuple(replace(label, words=words) for label in marks.labels),
                bottom_mm=layer.bottom_mm,
                easings=(eased, *feet) if is_top else (),
                note=_stepped_note(proud)
                if proud
                else _plug_note(zone, layer, is_top=is_top and not stepped),
            )
        )
    return tuple(parts)


def _stepped_note(proud_mm: float) -> str:
    return (
        f"Cut for its lower face, so its upper edge stands {proud_mm:.2f} mm proud: glue the "
        f"stack, then sand the steps until every lower edge just stays. {SEAL}"
    )


def _plug_note(zone: PressedZone, layer: Layer, *, is_top: bool) -> str:
    if layer.is_shim:
        return (
            f"Lies under the plug's boards and is {layer.board.thickness_mm:.2f} mm thick. {SEAL}"
        )
    if is_top and zone.crown_radius_mm > layer.board.thickness_mm:
        return f"The rounding is deeper than the board: ease it after gluing the stack. {SEAL}"
    if zone.wall_angle:
        return f"Sand the steps of the stack to one slope, down to the next board's edge. {SEAL}"
    return SEAL


def _line_inside(outline: Outline, radius_mm: float) -> tuple[Path, ...]:
    return tuple(region.outer.as_path() for region in offset_all(outline, -radius_mm))
