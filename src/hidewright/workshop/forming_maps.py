"""Maps of a pressed sheet, over the flat blank and over its formed shape, as arrays to be drawn."""

import math
from collections.abc import Sequence

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.drawing.drawing import Layer as Line
from hidewright.drawing.drawing import Stroke
from hidewright.drawing.heat_map import HeatMap, even_classes
from hidewright.forming.answers import flat_from_plan, stretch_in_triangles
from hidewright.forming.mesh import CAP, CROWN, FLANGE, Ints
from hidewright.forming.on_blank import flat_blank
from hidewright.forming.solved import Pressed
from hidewright.geometry.outline import Outline, Path, joined
from hidewright.geometry.refit import points_to_segments
from hidewright.geometry.segment import Floats, Point, line, turn
from hidewright.geometry.shapes import circle
from hidewright.workshop.forming_chain import Layer, PressedBlank
from hidewright.workshop.forming_line import (
    Worst,
    along_column,
    section_places,
    section_track,
    shares_used,
    worst_of,
)

#: The formed shape is looked down at by this angle, radians ...
DOWN = math.radians(38.0)
#: ... from one of these sides, whichever shows the worst place best.
SIDES = tuple(math.radians(a) for a in (-120.0, -60.0, 60.0, 120.0))
#: Hollows are painted in so many slices, the farthest first.
SLICES = 24
#: Least share of the light on a face, and the steps in which it grows: enough to read the shape.
DIM, LIGHT_STEP = 0.70, 0.10
#: Lines over the map are laid through the mesh's points within this, mm.
LAID_MM = 0.05
#: Length of the arrow along the backbone, radius of the ring round the worst place, mm.
ARROW_MM, RING_MM = 24.0, 2.0

EDGE = Line(name="edge of the leather", weight_mm=0.4)
PLUG = Line(name="edge of the plug, where the wall begins", style="dashed", weight_mm=0.25)
LIP = Line(name="where the flange begins", style="dotted", weight_mm=0.25)
CUT = Line(name="where the section is taken", style="dash-dot", weight_mm=0.3)
BACKBONE = Line(name="direction of the backbone", weight_mm=0.3, sample="arrow")


def maps_of(one: PressedBlank, layer: Layer, leather: Leather) -> tuple[tuple[str, HeatMap], ...]:
    """Return maps of reserve, stretch and thickness by name, over the shape and over the flat.

    Args:
        one: The pressed blank.
        layer: The layer of it that is drawn.
        leather: That layer's.
    """
    used = 100.0 * shares_used(layer, leather)
    # where the sheet is only gathered, it is not stretched
    stretch = 100.0 * np.maximum(stretch_in_triangles(layer.sheet).largest - 1.0, 0.0)
    thick = layer.sheet.thickness
    tenths = tuple(float(v) for v in range(0, 101, 10))
    top = math.ceil(float(used.max()) / 10.0) * 10.0
    what = (
        (
            "reserve",
            "used of what the leather bears; the rest to 100 is reserve",
            "%",
            used,
            (*tenths, top) if top > 100.0 else tenths,
        ),
        ("stretch", "largest stretch", "%", stretch, _classes(stretch)),
        ("thickness", "thickness of the formed leather, wet", "mm", thick, _classes(thick)),
    )
    worst, cut = worst_of(layer, leather), section_places(layer, leather)
    flat, formed = _Flat(layer, worst, cut), _Oblique(layer, worst, cut)
    name = layer_name(one, layer)
    return tuple(
        (
            f"{quantity}{view.suffix}",
            HeatMap(
                title=f"{name}: {quantity} {view.words}",
                quantity=words,
                unit=unit,
                points=view.points,
                triangles=layer.sheet.layout.triangles[view.shown],
                values=values[view.shown],
                edges=edges,
                limit=100.0 if quantity == "reserve" else None,
                dark_least=quantity == "thickness",
                order=view.order[view.shown],
                light=view.light[view.shown],
                strokes=view.strokes,
            ),
        )
        for quantity, words, unit, values, edges in what
        for view in (formed, flat)
    )


def layer_name(one: PressedBlank, layer: Layer) -> str:
    """Return the blank's name, and the layer's leather where there are several."""
    return one.blank.name if len(one.layers) == 1 else f"{one.blank.name} - {layer.role}"


class _Flat:
    """The blank as it is laid in, flat and soaked, at full size."""

    suffix, words = " flat", "over the flat blank, soaked, 1 : 1"

    def __init__(self, layer: Layer, worst: Worst, cut: Sequence[Worst]) -> None:
        sheet = layer.sheet
        layout, m = sheet.layout, len(sheet.layout.triangles)
        self.points = sheet.flat
        self.shown = np.arange(m)
        self.order, self.light = np.zeros(m, dtype=np.int64), np.ones(m)
        strokes = [Stroke(curve=flat_blank(sheet), layer=EDGE)]
        for band in layout.bands:
            strokes.append(_ring(self.points[band.grid[:, band.rows.crown]], PLUG))
            strokes.append(_ring(self.points[band.grid[:, -1]], LIP))
        for one in cut:
            track = [
                self.points[part.numbers]
                if part.places is None
                else flat_from_plan(sheet, part.places[:, :2], outside_edge=True)
                for part in section_track(sheet, one)
            ]
            strokes.append(_row(np.concatenate(track), CUT))
        strokes.append(_worst_ring(sheet, self.points, worst))
        strokes += _arrow(self.points, sheet.pressing.backbone)
        self.strokes = tuple(strokes)


class _Oblique:
    """The formed leather, seen from above and one side, without perspective."""

    suffix, words = "", "over the formed leather"

    def __init__(self, layer: Layer, worst: Worst, cut: Sequence[Worst]) -> None:
        sheet = layer.sheet
        layout, at = sheet.layout, sheet.shape.points
        triangles = layout.triangles
        side = _side(sheet, worst)
        right = np.array([-math.sin(side), math.cos(side), 0.0])
        toward = np.array([math.cos(side), math.sin(side), 0.0])
        up = np.array([0.0, 0.0, math.cos(DOWN)]) - math.sin(DOWN) * toward
        self.points = at @ np.column_stack([right, up])
        u, v = (self.points[triangles[:, i]] - self.points[triangles[:, 0]] for i in (1, 2))
        self.shown = np.flatnonzero(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0] > 1e-9)
        self.order = _painted(sheet, at[triangles].mean(axis=1) @ toward)
        self.light = _light(at[triangles], 0.5 * toward - 0.4 * right)
        tracks = [
            [
                self.points[part.numbers]
                if part.places is None
                else part.places @ np.column_stack([right, up])
                for part in section_track(sheet, one)
            ]
            for one in cut
        ]
        backbone = sheet.pressing.backbone
        lies = np.array([math.cos(backbone), math.sin(backbone), 0.0])
        self.strokes = (
            *(_row(np.concatenate(track), CUT) for track in tracks),
            _worst_ring(sheet, self.points, worst),
            *_arrow(self.points, math.atan2(float(lies @ up), float(lies @ right))),
        )


def _side(sheet: Pressed, worst: Worst) -> float:
    """Direction in plan from which the formed shape is seen: where the worst place faces us."""
    start, ahead = along_column(sheet, worst.hollow, worst.column, np.array([0.0, 1.0]))
    out = ahead - start
    return max(SIDES, key=lambda a: float(out[0] * math.cos(a) + out[1] * math.sin(a)))


def _painted(sheet: Pressed, near: Floats) -> Ints:
    """(m,) order of painting: the flange, then the hollows from the farthest slice to the nearest.

    Over a plan that no part of the sheet overhangs, what is nearer in plan hides what is farther;
    within a slice tops hide walls.
    """
    region = sheet.layout.region
    low, high = float(near.min()), float(near.max())
    slices = np.floor((near - low) / (high - low) * SLICES).astype(np.int64)
    top = np.isin(region, (CAP, CROWN))
    return np.where(region == FLANGE, 0, 1 + 2 * slices + top)


def _light(corners: Floats, lean: Floats) -> Floats:
    """(m,) light on triangles (m, 3, 3) from above and a side, 1 on level ones, in steps."""
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    falls = np.clip(normal @ (lean + np.array([0.0, 0.0, 0.75])) / 0.75, 0.0, 1.0)
    light: Floats = np.round((DIM + (1.0 - DIM) * falls) / LIGHT_STEP) * LIGHT_STEP
    return light


def _classes(values: Floats) -> tuple[float, ...]:
    return even_classes(float(values.min()), float(values.max()))


def _ring(points: Floats, layer: Line) -> Stroke:
    segments, _ = points_to_segments(points, LAID_MM, closed=True)
    return Stroke(curve=Outline(joined(segments)), layer=layer)


def _row(points: Floats, layer: Line) -> Stroke:
    segments, _ = points_to_segments(points, LAID_MM)
    return Stroke(curve=Path(joined(segments)), layer=layer)


def _worst_ring(sheet: Pressed, points: Floats, worst: Worst) -> Stroke:
    x, y = points[sheet.layout.triangles[worst.triangle]].mean(axis=0).tolist()
    layer = Line(name=f"worst place: {100 * worst.share:.0f} % used", weight_mm=0.5)
    return Stroke(curve=circle(RING_MM, (x, y)), layer=layer)


def _arrow(points: Floats, angle: float) -> list[Stroke]:
    """Return a double arrow left of the picture, in a direction."""
    (left, bottom), top = points.min(axis=0).tolist(), float(points[:, 1].max())
    half = ARROW_MM / 2.0
    centre = (left - half * abs(math.cos(angle)) - 6.0, (bottom + top) / 2.0)
    ends: list[Point] = [
        turn((centre[0] + sense * half, centre[1]), angle, centre) for sense in (1.0, -1.0)
    ]
    strokes = [Stroke(curve=Path((line(ends[0], ends[1]),)), layer=BACKBONE)]
    for tip, sense in zip(ends, (-1.0, 1.0), strict=True):
        for lean in (-0.4, 0.4):
            dx, dy = turn((sense * 3.0, 0.0), angle + lean)
            barb = Path((line((tip[0] + dx, tip[1] + dy), tip),))
            strokes.append(Stroke(curve=barb, layer=BACKBONE))
    return strokes
