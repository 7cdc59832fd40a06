"""The picture of exactly one step: thin lines for the thing, a thick one for what is done to it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from hidewright.design.cover import Cover, covers_of
from hidewright.design.design import Design
from hidewright.design.part import Part
from hidewright.design.piece import Piece
from hidewright.design.seam import SewnSeam
from hidewright.design.step import Step
from hidewright.drawing.build_sheet import PICTURE_MM
from hidewright.drawing.drawing import Drawing, Layer, Stroke, Text, union_bounds
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point, line
from hidewright.geometry.shapes import circle
from hidewright.units.length import parse_length
from hidewright.workshop.build_sheet_closed import BEHIND, SEEN, closed_article
from hidewright.workshop.build_sheet_section import (
    Section,
    Word,
    half_section,
    section_of,
    wall_section,
)
from hidewright.workshop.build_sheet_tools import clamp_plan, cut_parts, five_points
from hidewright.workshop.patterns import (
    CUT,
    DRAWN_HOLE_MM,
    LIE,
    WORDS,
    blank_drawing,
    piece_drawing,
)
from hidewright.workshop.tooling_chain import Leathers, Mouldings

DONE = Layer(name="what is done here", style="solid", weight_mm=0.8)
HOLES = Layer(name="stitch holes here", style="solid", weight_mm=0.35)
COVERED = Layer(name="its cover", style="dashed", weight_mm=0.35)
LAND = Layer(name="glue goes here", style="solid", weight_mm=0.2)
THIN, DASHED = SEEN, BEHIND
CAPITAL_MM = 1.9
#: Strokes of a hatching lie so far apart on the paper; pictures over one another too, mm.
HATCH_MM, BETWEEN_MM = 1.6, 3.0
#: A number stands so far beside the edge, mm.
BESIDE_MM = 2.6
#: Holes are drawn this large on the paper at least, mm.
SEEN_MM = 0.9
#: Works that take the whole outline of a piece.
WHOLE = ("cut piece", "trim", "dye", "unmould")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What pictures are taken from.

    Attributes:
        design: The article.
        sewn: Its seams with their holes.
        mouldings: Its blanks with their tools.
        leathers: By role.
        parts: All parts of its tools.
        covers: What is glued over ends of fittings and over magnets.
        patterns: The lines of each piece's pattern without stitch holes, by its name; holes are
            shown where they are what is done.
    """

    design: Design
    sewn: tuple[SewnSeam, ...]
    mouldings: Mouldings
    leathers: Leathers
    parts: tuple[Part, ...]
    covers: tuple[Cover, ...]
    patterns: Mapping[str, tuple[Stroke, ...]]


def bench_of(
    design: Design,
    sewn: tuple[SewnSeam, ...],
    mouldings: Mouldings,
    leathers: Leathers,
    parts: tuple[Part, ...],
) -> Bench:
    """Return what the pictures of an article are taken from."""
    names = {role: leather.name for role, leather in leathers}
    patterns = {p.name: piece_drawing(p, (), names[p.role]).strokes for p in design.pieces}
    return Bench(
        design=design,
        sewn=sewn,
        mouldings=mouldings,
        leathers=leathers,
        parts=(*(part for one in mouldings[0] for part in one.tool.parts), *parts),
        covers=covers_of(design),
        patterns=patterns,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """Lines at full size, and words that keep their size when it is made smaller."""

    strokes: tuple[Stroke, ...]
    words: tuple[Word, ...] = ()


def picture_of(step: Step, bench: Bench) -> Drawing | None:
    """Return the picture of a step, small enough for its place; None when there is none."""
    found: Picture | None = None
    if step.work == "press":
        return _of_press(step, bench)
    if step.work == "cut the boards":
        found = Picture(strokes=cut_parts(bench.parts, step.place))
    elif step.place_kind == "leather":
        found = Picture(strokes=five_points(_cut_from(step.place, bench)))
    elif step.place_kind == "blank":
        found = _of_blank(step, bench)
    elif step.place_kind == "piece":
        found = _of_piece(step, bench)
    elif step.place_kind == "fitting":
        found = _of_fitting(step, bench)
    elif step.place_kind == "seam":
        found = _of_seam(step, bench)
    elif step.place_kind == "article":
        found = Picture(strokes=closed_article(bench.design))
    elif step.work in ("ease and seal", "put together"):
        moulding = next(m for m in bench.mouldings[0] if m.blank.name == step.place)
        found = _as_picture(half_section(moulding, eased=step.work == "ease and seal"))
    return fitted(step.name, found) if found and found.strokes else None


def fitted(title: str, picture: Picture, taken_mm: float = 0.0) -> Drawing:
    """Return a picture as a drawing no larger than its place; never enlarged.

    Args:
        title: Of the drawing.
        picture: Lines at full size, and words.
        taken_mm: Of the place's height, by something else.
    """
    left, bottom, right, top = union_bounds(s.curve.bounds for s in picture.strokes)
    high = PICTURE_MM[1] - 2.0 - taken_mm - (5.0 if picture.words else 0.0)
    aside = max((2 * abs(dx) for _, _, (dx, _) in picture.words), default=0.0)
    room = (PICTURE_MM[0] - 2.0 - 2 * aside, high)
    scale = min(room[0] / max(right - left, 1e-6), room[1] / max(top - bottom, 1e-6), 1.0)

    def small(stroke: Stroke) -> Stroke:
        curve = stroke.curve.moved(-left, -bottom).scaled(scale)
        return replace(stroke, curve=curve, part="")

    texts = tuple(
        Text(
            words=words,
            at=((x - left) * scale + dx, (y - bottom) * scale + dy),
            height_mm=CAPITAL_MM,
            anchor="middle",
            layer=WORDS,
        )
        for words, (x, y), (dx, dy) in picture.words
    )
    return Drawing(title=title, strokes=tuple(small(s) for s in picture.strokes), texts=texts)


def _of_press(step: Step, bench: Bench) -> Drawing:
    """Return the closed mould in section, and under it from above with the places to clamp."""
    moulding = next(m for m in bench.mouldings[0] if m.blank.name == step.place)
    upper = fitted(step.name, _of_mould(step, bench, "frame"))
    _, low, across, high = upper.extent
    lower = fitted(step.name, Picture(strokes=clamp_plan(moulding)), high - low + BETWEEN_MM)
    _, _, wide, tall = lower.extent
    shift = ((across - wide) / 2, low - BETWEEN_MM - tall)
    plan = (replace(s, curve=s.curve.moved(*shift)) for s in lower.strokes)
    return replace(upper, strokes=(*upper.strokes, *plan))


def _cut_from(role: str, bench: Bench) -> Outline:
    """Return the largest outline that is cut from the leather of a role."""
    blanks = [m.cut for m in bench.mouldings[0] if m.blank.role == role]
    pieces = [piece.outline for piece in bench.design.pieces if piece.role == role]
    return max(blanks or pieces, key=lambda outline: outline.area)


def _of_blank(step: Step, bench: Bench) -> Picture:
    moulding = next(m for m in bench.mouldings[0] if m.blank.name == step.place)
    if step.work in ("open the mould", "unmould"):
        return _of_mould(step, bench, "hold-down ring")
    if step.work == "cut apart":
        lines = [path for zone in moulding.zones for path in zone.cut_lines]
        return Picture(
            strokes=(
                Stroke(curve=moulding.edge, layer=THIN),
                *(Stroke(curve=zone.plug, layer=DASHED) for zone in moulding.zones),
                *(Stroke(curve=path, layer=DONE) for path in lines),
            )
        )
    name = dict(bench.leathers)[moulding.blank.role].name
    drawn = blank_drawing(moulding.blank, moulding.cut, name, moulding.soaking.angle).strokes
    return Picture(
        strokes=tuple(
            replace(s, layer=DONE if s.layer == CUT and step.work != "soak" else THIN)
            for s in drawn
            if s.layer != LIE or step.work != "soak"
        )
    )


def _of_mould(step: Step, bench: Bench, upper: str) -> Picture:
    moulding = next(m for m in bench.mouldings[0] if m.blank.name == step.place)
    return _as_picture(section_of(moulding, upper))


def _as_picture(section: Section) -> Picture:
    return Picture(strokes=section.strokes, words=section.words)


def _of_piece(step: Step, bench: Bench) -> Picture:
    piece = bench.design.piece(step.place)
    if step.work == "cut at height":
        zone = next(z for z in piece.zones if z.cut_height_mm is not None)
        return _as_picture(wall_section(zone))
    base = _base(piece, bench, arrow=step.work == "cut piece")
    done: list[Outline | Path] = []
    if step.work in WHOLE:
        done = [piece.outline]
    elif step.work == "punch":
        least = SEEN_MM * _reduced(piece)
        done = [circle(max(h.diameter_mm / 2, least), h.at) for h in piece.holes]
    elif step.work == "prick":
        seams = [s for s in bench.sewn if step.name == f"prick {piece.name} for {s.name}"]
        holes = [Stroke(curve=c, layer=HOLES) for s in seams for c in _holes(s, piece)]
        return Picture(strokes=(*base, *holes))
    elif step.work == "cut the mouth":
        done = [z.outline.span_path(m) for z in piece.zones for m in z.mouths]
    elif step.work == "skive":
        done = [piece.outline.span_path(s.span) for s in piece.skives]
    else:
        done = [piece.outline.span_path(s) for s in _spans_named(step, piece)]
    return Picture(strokes=(*base, *(Stroke(curve=c, layer=DONE) for c in done)))


def _spans_named(step: Step, piece: Piece) -> list[str]:
    """Return the spans that a step on edges names in its figures; all when it names none."""
    named = {name for f in step.figures if f.label == "Edges" for name in f.value.split(", ")}
    return [s for s in piece.outline.spans if s in named] or list(piece.outline.spans)


def _of_fitting(step: Step, bench: Bench) -> Picture:
    places = [(p.name, p.piece, p.at, p.fitting.head_diameter_mm) for p in bench.design.fittings]
    for m in bench.design.magnets:
        size = m.magnet.diameter_mm or 10.0
        places.append((m.name, m.piece, m.at, size))
    _, piece, at, wide = next(p for p in places if p[0] == step.place)
    base = _base(bench.design.piece(piece), bench)
    done = [Stroke(curve=circle(wide / 2, at), layer=DONE)]
    done += [
        Stroke(curve=c.placed, layer=COVERED) for c in bench.covers if c.over[-1] == step.place
    ]
    left, bottom, right, _ = bench.design.piece(piece).outline.bounds
    word = (step.place, ((left + right) / 2, bottom), (0.0, -CAPITAL_MM - 1.2))
    return Picture(strokes=(*base, *done), words=(word,))


def _of_seam(step: Step, bench: Bench) -> Picture:
    seam = next(s for s in bench.design.seams if s.name == step.place)
    sewn = next(s for s in bench.sewn if s.name == step.place)
    first = seam.edges[0]
    front = bench.design.piece(first.piece)
    base = _base(front, bench)
    if step.work not in ("sew", "prick"):
        edge = Stroke(curve=front.outline.span_path(first.span), layer=DONE)
        wide = [parse_length(f.value) for f in step.figures if f.label == "Strip from the edge"]
        land = _land(front, first.span, wide[0]) if wide else ()
        return Picture(strokes=(*base, *land, edge))
    holes = [Stroke(curve=c, layer=HOLES) for c in _holes(sewn, front)]
    ends = (("1", sewn.layers[0].holes[0].at), (f"{sewn.count}", sewn.layers[0].holes[-1].at))
    words = tuple((told, *_beside(at, front)) for told, at in ends)
    return Picture(strokes=(*base, *holes), words=words if step.work == "sew" else ())


def _base(piece: Piece, bench: Bench, *, arrow: bool = False) -> tuple[Stroke, ...]:
    """Return a piece's pattern in thin lines, its kinds of line told apart by their dashes."""
    thin = [s for s in bench.patterns[piece.name] if arrow or s.layer != LIE]
    return tuple(replace(s, layer=replace(s.layer, weight_mm=0.15)) for s in thin)


def _holes(sewn: SewnSeam, piece: Piece) -> list[Outline]:
    radius = min(max(DRAWN_HOLE_MM, SEEN_MM * _reduced(piece)) / 2, 0.3 * sewn.pitch_mm[0])
    return [
        circle(radius, hole.at)
        for layer in sewn.layers
        if layer.piece == piece.name
        for hole in layer.holes
    ]


def _reduced(piece: Piece) -> float:
    """Return how many times smaller than itself a piece is drawn, 1 at least."""
    return max(piece.outline.width / PICTURE_MM[0], piece.outline.height / PICTURE_MM[1], 1.0)


def _land(piece: Piece, span: str, wide_mm: float) -> tuple[Stroke, ...]:
    """Return a hatching over the strip beside a span that takes the glue."""
    path = piece.outline.span_path(span)
    count = max(round(path.length / (HATCH_MM * _reduced(piece))), 2)
    strokes: list[Stroke] = []
    for i in range(count):
        at = (i + 0.5) / count * path.length
        (x, y), (nx, ny) = path.point_at(at), path.normal_at(at)
        inward = 1.0 if piece.outline.contains((x + 0.1 * nx, y + 0.1 * ny)) else -1.0
        end = (x + inward * wide_mm * nx, y + inward * wide_mm * ny)
        strokes.append(Stroke(curve=Path((line((x, y), end),)), layer=LAND))
    return tuple(strokes)


def _beside(at: Point, piece: Piece) -> tuple[Point, Point]:
    """Return the edge beside a hole, and how far on the paper its number stands outside it."""
    left, _, right, _ = piece.outline.bounds
    edge, side = (left, -1.0) if at[0] - left < right - at[0] else (right, 1.0)
    return (edge, at[1]), (side * BESIDE_MM, -CAPITAL_MM / 2)
