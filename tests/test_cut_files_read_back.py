"""Cut files, read again with other means, hold the parts: closed loops of lines and true arcs."""

import io
import math
import random
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest

from coarse_cache import CACHE
from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.part import Part
from hidewright.drawing.dxf import to_dxf
from hidewright.drawing.svg import to_svg
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path, outline
from hidewright.geometry.probe import dense_points, distances, signed
from hidewright.geometry.segment import Point, Segment, arc, line
from hidewright.tooling.acceptance.cut import drawn_twice
from hidewright.tooling.sheets import Placed, Sheet
from hidewright.workshop.article import CORNER_SHOWN, NODES, pack
from hidewright.workshop.begin import begin
from hidewright.workshop.cut_files import sheet_drawings
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of

#: What is cut is within this of the true outline, half a kerf off, mm.
TRUE_WITHIN_MM = 0.01
INSIDE, OUTSIDE, SCORE = "cut inside", "cut outside", "score"


@dataclass(frozen=True, kw_only=True)
class Line:
    """One line of a file: its layer, and where the beam goes."""

    layer: str
    segments: tuple[Segment, ...]
    closed: bool


@cache
def laid() -> tuple[tuple[Sheet, ...], dict[str, Part]]:
    """The sheets of a flat-back pouch, and every part at its true size."""
    spec = begin("flat-back pouch", built_in_catalogue())
    made = next(node.needs for node in NODES if node.name == "sheets")
    values = evaluate(NODES, inputs_of(spec, "A4"), (*made, "sheets"), CACHE).values
    parts = [p for m in values["mouldings"][0] for p in m.tool.parts]
    parts += [p for name in made if name not in ("mouldings", "boards") for p in values[name][0]]
    return values["sheets"][0], {part.name: part for part in parts}


@cache
def written() -> tuple[tuple[bytes, bytes], ...]:
    """Each sheet as (DXF, SVG)."""
    return tuple((to_dxf(d), to_svg(d)) for d in sheet_drawings(laid()[0]))


def test_dxf_cut_files_read_again_hold_every_part_at_its_true_size() -> None:
    for sheet, (dxf, _) in zip(laid()[0], written(), strict=True):
        assert dxf_lines(dxf), sheet.board.name
        assert faults(sheet, dxf_lines(dxf)) == []


def test_svg_cut_files_read_again_hold_every_part_at_its_true_size() -> None:
    for sheet, (_, svg) in zip(laid()[0], written(), strict=True):
        assert faults(sheet, svg_lines(svg)) == []


@pytest.mark.parametrize("seed", range(24))
def test_a_spoilt_dxf_file_is_rejected(seed: int) -> None:
    assert _spoilt(seed), f"{SPOILS[seed % len(SPOILS)].__name__} passed"


@pytest.mark.sweep
def test_each_of_200_spoilt_dxf_files_is_rejected() -> None:
    passed = [seed for seed in range(200) if not _spoilt(seed)]
    assert passed == [], [SPOILS[seed % len(SPOILS)].__name__ for seed in passed]


def test_the_contents_show_little_on_a_sheet_large_enough_to_be_seen() -> None:
    """A view holds all that is cut, with an even border; without one the sheet is more than half
    used one way or the other."""
    files, _ = pack(begin("flat-back pouch", built_in_catalogue()), CACHE)
    page = files["index.html"].decode()
    assert "They have no holes for dowels and screws" in page
    found = re.findall(r'<img src="(cut/[^"#]+)(?:#svgView\(viewBox\(([^)]+)\)\))?"', page)
    assert {path for path, _ in found} == {path for path in files if re.match("cut/.*svg$", path)}
    assert page.count(CORNER_SHOWN) == sum(bool(view) for _, view in found) > 0
    for path, view in found:
        svg = ElementTree.fromstring(files[path])
        wide, high = (float(x) for x in svg.attrib["viewBox"].split()[2:])
        points = np.array(
            [p for one in svg_lines(files[path]) for s in one.segments for p in (s.start, s.end)]
        )
        (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
        assert bool(view) == (right <= wide / 2 and top <= high / 2), path
        if view:
            expected = (0.0, high - top - bottom, right + left, top + bottom)
            assert [float(x) for x in view.split(",")] == pytest.approx(expected, abs=0.3)


def faults(sheet: Sheet, lines: list[Line]) -> list[str]:
    """Return what is wrong with a file, as sentences; the true parts are the measure."""
    found = [f"open loop on {x.layer}" for x in lines if "cut" in x.layer and not x.closed]
    cuts = [x for x in lines if x.layer in (INSIDE, OUTSIDE) and x.closed]
    order = [x.layer for x in lines]
    if OUTSIDE in order and INSIDE in order[order.index(OUTSIDE) :]:
        found.append("an inside cut after an outside cut")
    half = sheet.board.kerf_mm / 2.0
    wanted: list[tuple[str, Outline]] = []
    for placed in sheet.placed:
        part = laid()[1][placed.cut.part]
        wanted.append((OUTSIDE, _lying(part.outline, placed)))
        wanted += [(INSIDE, _lying(h.outline, placed)) for h in part.holes]
    loops: list[tuple[str, Outline]] = []
    for cut in cuts:
        try:
            loops.append((cut.layer, outline(cut.segments)))
        except RequestError as error:
            found.append(str(error))
    if len(loops) != len(wanted):
        found.append(f"{len(loops)} loops for {len(wanted)} edges")
    for layer, edge in wanted:
        mine = [loop for on, loop in loops if on == layer]
        if not mine:
            found.append(f"nothing on {layer}")
            continue
        near = min(mine, key=lambda loop: math.dist(loop.bounds, edge.bounds))
        beam = half if layer == OUTSIDE else -half
        off = np.abs(signed(edge, dense_points(near.segments)) - beam).max()
        asked = dense_points(edge.segments)
        back = np.abs(distances(near.segments, asked) - half)
        # in a corner that turns towards the beam its roundness stays
        sharp = np.array(_corners(edge, beam)).reshape(-1, 2)
        if len(sharp):
            apart = np.hypot(*(asked[:, None] - sharp[None]).transpose(2, 0, 1)).min(axis=1)
            back = np.where(apart < 8 * half, 0.0, back)
        if max(off, back.max()) > TRUE_WITHIN_MM:
            found.append(f"{layer} {max(off, back.max()):.3f} mm off")
    curves: list[Outline | Path] = [loop for _, loop in loops]
    curves += [Path(x.segments) for x in lines if x.layer == SCORE]
    found += [f.sentence for f in drawn_twice(sheet.board.name, curves)]
    return found


def dxf_lines(data: bytes) -> list[Line]:
    """Return the lines of a DXF in the order of the file."""
    doc = ezdxf.read(io.StringIO(data.decode("utf-8")))
    assert doc.header["$INSUNITS"] == 4
    lines = []
    for entity in doc.modelspace():
        layer = entity.dxf.layer
        if entity.dxftype() == "CIRCLE":
            (x, y, _), r = entity.dxf.center, entity.dxf.radius
            turns = (arc((x, y), (x + r, y), math.pi), arc((x, y), (x - r, y), math.pi))
            lines.append(Line(layer=layer, segments=turns, closed=True))
        elif entity.dxftype() == "LWPOLYLINE":
            corners = list(entity.get_points("xyb"))
            ends = [*corners[1:], *(corners[:1] if entity.closed else [])]
            segments = tuple(
                Segment(start=(a[0], a[1]), end=(b[0], b[1]), bulge=a[2])
                for a, b in zip(corners, ends, strict=False)
            )
            lines.append(Line(layer=layer, segments=segments, closed=entity.closed))
        else:
            assert entity.dxftype() == "TEXT", entity.dxftype()
    return lines


def svg_lines(data: bytes) -> list[Line]:
    """Return the lines of an SVG in the order of the file, y up from the sheet's lower edge."""
    root = ElementTree.fromstring(data)  # our own file
    space = "{http://www.w3.org/2000/svg}"
    height = float(root.attrib["viewBox"].split()[3])
    assert root.attrib["height"] == f"{height:g}mm"
    lines = []
    for group in root.iter(f"{space}g"):
        title = group.find(f"{space}title")
        assert title is not None
        layer = title.text or ""
        for path in group.iter(f"{space}path"):
            segments, closed = _of_path(path.attrib["d"], height)
            lines.append(Line(layer=layer, segments=segments, closed=closed))
    return lines


def _of_path(data: str, height: float) -> tuple[tuple[Segment, ...], bool]:
    at: Point = (0.0, 0.0)
    start = at
    segments: list[Segment] = []
    for letter, rest in re.findall(r"([MLAZ])([^MLAZ]*)", data):
        numbers = [float(v) for v in rest.split()]
        if letter == "Z":
            if math.dist(at, start) > 1e-9:
                segments.append(line(at, start))
            return tuple(segments), True
        to = (numbers[-2], height - numbers[-1])
        if letter == "M":
            start = to
        elif letter == "L":
            segments.append(line(at, to))
        else:
            radius, large, sweep = numbers[0], numbers[3], numbers[4]
            assert large == 0
            turn = 2.0 * math.asin(min(1.0, math.dist(at, to) / (2.0 * radius)))
            bulge = math.tan(turn / 4.0) * (-1.0 if sweep else 1.0)
            segments.append(Segment(start=at, end=to, bulge=bulge))
        at = to
    return tuple(segments), False


def _lying(edge: Outline, placed: Placed) -> Outline:
    flipped = edge.mirrored() if placed.cut.face_up == "bottom" else edge
    return flipped.rotated(placed.turn).moved(*placed.shift)


def _corners(edge: Outline, beam: float) -> list[Point]:
    points = []
    sense = -math.copysign(1.0, beam)
    for one, two in zip(edge.segments, edge.segments[1:] + edge.segments[:1], strict=True):
        (ax, ay), (bx, by) = one.tangent_at(one.length), two.tangent_at(0.0)
        if sense * math.atan2(ax * by - ay * bx, ax * bx + ay * by) > 0.01:
            points.append(one.end)
        if one.is_arc and one.bulge * sense > 0 and one.radius < 2 * abs(beam):
            points += [one.start, one.end]
    return points


# --- what is spoilt -----------------------------------------------------------------------------

Draw = random.Random
Spoil = Callable[["ezdxf.document.Drawing", Draw], None]


def loop_left_open(doc: "ezdxf.document.Drawing", draw: Draw) -> None:
    draw.choice(_cut_entities(doc, "LWPOLYLINE")).closed = False


def corner_moved(doc: "ezdxf.document.Drawing", draw: Draw) -> None:
    entity = draw.choice(_cut_entities(doc, "LWPOLYLINE"))
    points = list(entity.get_points("xyb"))
    i, turn = draw.randrange(len(points)), draw.uniform(0, 2 * math.pi)
    x, y, bulge = points[i]
    points[i] = (x + 0.1 * math.cos(turn), y + 0.1 * math.sin(turn), bulge)
    entity.set_points(points, format="xyb")


def arc_flattened(doc: "ezdxf.document.Drawing", draw: Draw) -> None:
    bent = [(e, i) for e in _cut_entities(doc, "LWPOLYLINE") for i in _plain_arcs(e)]
    if not bent:  # a sheet of straight parts
        corner_moved(doc, draw)
        return
    entity, i = draw.choice(bent)
    points = list(entity.get_points("xyb"))
    x, y, bulge = points[i]
    points[i] = (x, y, draw.choice((0.0, 0.8 * bulge)))
    entity.set_points(points, format="xyb")


def circle_of_another_size(doc: "ezdxf.document.Drawing", draw: Draw) -> None:
    draw.choice(_cut_entities(doc, "CIRCLE")).dxf.radius += draw.choice((-0.03, 0.03))


def line_left_out(doc: "ezdxf.document.Drawing", draw: Draw) -> None:
    doc.modelspace().delete_entity(draw.choice(_cut_entities(doc)))


def line_drawn_twice(doc: "ezdxf.document.Drawing", draw: Draw) -> None:
    entity = draw.choice(_cut_entities(doc))
    doc.modelspace().add_entity(entity.copy())


def line_on_the_other_layer(doc: "ezdxf.document.Drawing", draw: Draw) -> None:
    entity = draw.choice(_cut_entities(doc))
    entity.dxf.layer = INSIDE if entity.dxf.layer == OUTSIDE else OUTSIDE


def line_moved(doc: "ezdxf.document.Drawing", draw: Draw) -> None:
    draw.choice(_cut_entities(doc)).translate(draw.choice((-0.03, 0.03)), 0.0, 0.0)


SPOILS: tuple[Spoil, ...] = (
    loop_left_open,
    corner_moved,
    arc_flattened,
    circle_of_another_size,
    line_left_out,
    line_drawn_twice,
    line_on_the_other_layer,
    line_moved,
)


def _spoilt(seed: int) -> list[str]:
    draw = random.Random(seed)
    spoil = SPOILS[seed % len(SPOILS)]
    cut = [i for i, (dxf, _) in enumerate(written()) if b"\nCIRCLE\n" in dxf]
    i = draw.choice(cut)
    doc = ezdxf.read(io.StringIO(written()[i][0].decode("utf-8")))
    spoil(doc, draw)
    out = io.StringIO()
    doc.write(out)
    return faults(laid()[0][i], dxf_lines(out.getvalue().encode()))


def _plain_arcs(entity: "ezdxf.entities.LWPolyline") -> list[int]:
    """Return where an arc stands off its chord by enough to be seen, mm."""
    points = list(entity.get_points("xyb"))
    ends = [*points[1:], points[0]]
    return [
        i
        for i, ((x, y, bulge), end) in enumerate(zip(points, ends, strict=True))
        if abs(bulge) * math.dist((x, y), end[:2]) > 0.2
    ]


def _cut_entities(
    doc: "ezdxf.document.Drawing", kind: str = "*"
) -> list["ezdxf.entities.DXFGraphic"]:
    return [e for e in doc.modelspace().query(kind) if e.dxf.layer in (INSIDE, OUTSIDE)]
