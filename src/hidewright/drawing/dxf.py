"""A drawing as DXF R2010 in mm: outlines as closed polylines with bulges, circles as circles."""

import io
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from threading import Lock

import ezdxf
from ezdxf import units
from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS

from hidewright.drawing.drawing import Drawing, Layer, LineStyle, Stroke, Text
from hidewright.drawing.line_styles import dashes_mm, rounded
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point, Segment

#: Decimals of a bulge: over a chord of 1 m a change of 1e-8 moves the arc by 5e-6 mm.
BULGE_DECIMALS = 8

_LINE_TYPES: dict[LineStyle, str] = {
    "solid": "Continuous",
    "dashed": "DASHED",
    "dotted": "DOTTED",
    "dash-dot": "DASHDOT",
}
_ALIGNMENTS = {"start": 0, "middle": 1, "end": 2}
#: A code and a value: what DXF is made of.
Group = tuple[int, object]
_METADATA = Lock()
#: Stand in a file of no drawing for left, bottom, right and top, the height and middle of the view.
_STAND_INS = (-70001.25, -70002.25, 70003.25, 70004.25, 70005.25, 70006.25, 70007.25)


def to_dxf(drawing: Drawing) -> bytes:
    """Return the drawing as DXF R2010 text in UTF-8, mm.

    An outline is one closed LWPOLYLINE with bulges, a full circle a CIRCLE, a path an open
    LWPOLYLINE, words are TEXT. Each layer is a DXF layer of the same name and line type. The same
    drawing gives the same bytes: dates and identifiers in the header are fixed.

    Raises:
        RequestError: When a layer's name has a character that DXF forbids in names.
    """
    left, bottom, right, top = (rounded(v) for v in drawing.extent)
    height = rounded(max(top - bottom, (right - left) / 1.5, 1.0) * 1.1)
    middle = (rounded((left + right) / 2), rounded((bottom + top) / 2))
    return _frame(drawing.layers).around(drawing, (left, bottom, right, top, height, *middle))


class _Frame:
    """All of a file but its lines and words: of some layers, written once for many drawings."""

    def __init__(self, layers: Sequence[Layer]) -> None:
        with _fixed_metadata():
            doc = ezdxf.new("R2010", setup=False, units=units.MM)
            doc.header["$MEASUREMENT"] = 1
            doc.styles.new("WORDS", dxfattribs={"font": "DejaVuSans.ttf"})
            for layer in layers:
                _add_layer(doc, layer)
            left, bottom, right, top, height, *middle = _STAND_INS
            space = doc.modelspace()
            space.reset_extents((left, bottom, 0.0), (right, top, 0.0))
            space.reset_limits((left, bottom), (right, top))
            doc.set_modelspace_vport(height=height, center=middle)
            _order_classes(doc)
            out = io.StringIO(newline="\n")
            doc.write(out)
        self._space, free = space.layout_key, str(doc.entitydb.handles)
        self._free = int(free, 16)
        before, self._after = _parted(out.getvalue(), "  2\nENTITIES\n")
        before, self._seeded = _parted(before, f"$HANDSEED\n  5\n{free}\n")
        self._before = before.removesuffix(f"{free}\n")

    def around(self, drawing: Drawing, sizes: Sequence[float]) -> bytes:
        """Return the file of a drawing of these layers.

        Args:
            drawing: What is drawn.
            sizes: What takes the place of ``_STAND_INS``.
        """
        entities = (*map(_stroke, drawing.strokes), *map(_text, drawing.texts))
        handles = range(self._free, self._free + len(entities))
        drawn = "".join(
            _groups((0, kind), (5, f"{handle:X}"), (330, self._space), (100, "AcDbEntity"), *own)
            for handle, (kind, own) in zip(handles, entities, strict=True)
        )
        before, seeded, after = (
            _in_place(part, sizes) for part in (self._before, self._seeded, self._after)
        )
        return f"{before}{handles.stop:X}\n{seeded}{drawn}{after}".encode()


@lru_cache(maxsize=16)
def _frame(layers: tuple[Layer, ...]) -> _Frame:
    return _Frame(layers)


def _parted(text: str, after: str) -> tuple[str, str]:
    """Return a text parted in two after some lines that it holds once."""
    before, _, rest = text.partition(after)
    return before + after, rest


def _in_place(text: str, sizes: Sequence[float]) -> str:
    """Return a part of a file with a drawing's own sizes."""
    for stand_in, size in zip(_STAND_INS, sizes, strict=True):
        text = text.replace(f"\n{stand_in}\n", f"\n{size}\n")
    return text


def circle_of(curve: Sequence[Segment]) -> tuple[Point, float] | None:
    """Return (centre, radius) when closed segments are one full circle within 1e-6 mm."""
    if not all(s.is_arc and s.bulge > 0 for s in curve):
        return None
    centre, radius = curve[0].centre, curve[0].radius
    same = all(math.dist(s.centre, centre) < 1e-6 and abs(s.radius - radius) < 1e-6 for s in curve)
    whole = abs(math.fsum(s.sweep for s in curve) - 2 * math.pi) < 1e-6
    return (centre, radius) if same and whole else None


def _add_layer(doc: "ezdxf.document.Drawing", layer: Layer) -> None:
    forbidden = sorted(set(layer.name) & set("<>/\\\":;?*|='`,"))
    if forbidden or not layer.name:
        raise RequestError(
            f"layer {layer.name!r}",
            because=f"DXF forbids {' '.join(forbidden) or 'an empty string'} in a layer's name",
        )
    line_type = _LINE_TYPES[layer.style]
    if line_type not in doc.linetypes:
        lengths = [v if i % 2 == 0 else -v for i, v in enumerate(dashes_mm(layer.style))]
        pattern = [math.fsum(dashes_mm(layer.style)), *lengths]
        doc.linetypes.new(line_type, dxfattribs={"description": layer.style, "pattern": pattern})
    hundredths = round(layer.weight_mm * 100)
    weight = min((w for w in VALID_DXF_LINEWEIGHTS if w >= 0), key=lambda w: abs(w - hundredths))
    attributes = {"color": 7, "linetype": line_type, "lineweight": weight}
    if layer.name in doc.layers:  # "0" is always there
        doc.layers.get(layer.name).update_dxf_attribs(attributes)
    else:
        doc.layers.new(layer.name, dxfattribs=attributes)


def _stroke(stroke: Stroke) -> tuple[str, list[Group]]:
    """Return a line's kind of entity and what is said of it."""
    segments, closed = stroke.curve.segments, isinstance(stroke.curve, Outline)
    circle = circle_of(segments) if closed else None
    if circle is not None:
        (x, y), radius = circle
        own = [(100, "AcDbCircle"), *_point(10, (x, y)), (40, rounded(radius))]
        return "CIRCLE", [(8, stroke.layer.name), *own]
    corners = list(_corners(segments, closed))
    groups: list[Group] = [(8, stroke.layer.name), (100, "AcDbPolyline")]
    groups += [(90, len(corners)), (70, int(closed))]
    for x, y, bulge in corners:
        groups += [(10, x), (20, y)]
        if bulge:
            groups.append((42, bulge))
    return "LWPOLYLINE", groups


def _corners(segments: Sequence[Segment], closed: bool) -> Iterator[tuple[float, float, float]]:
    """Yield (x, y, bulge) of each corner, leaving out segments shorter than what is written."""
    ends = [(rounded(s.end[0]), rounded(s.end[1])) for s in segments]
    starts = [(rounded(segments[0].start[0]), rounded(segments[0].start[1])), *ends[:-1]]
    if closed:
        starts[0] = ends[-1]
    for start, end, segment in zip(starts, ends, segments, strict=True):
        if start != end:
            bulge = round(segment.bulge, BULGE_DECIMALS) + 0.0 if segment.is_arc else 0.0
            yield (*start, bulge)
    if not closed or len(set(ends)) == 1:  # an outline smaller than what is written is a dot
        yield (*ends[-1], 0.0)


def _text(text: Text) -> tuple[str, list[Group]]:
    """Return words' kind of entity and what is said of them."""
    turned, aligned = rounded(math.degrees(text.angle)), _ALIGNMENTS[text.anchor]
    return "TEXT", [
        (8, text.layer.name),
        (100, "AcDbText"),
        *_point(10, text.at),
        (40, rounded(text.height_mm)),
        (1, text.words),
        *([(50, turned)] if turned else []),
        (7, "WORDS"),
        *([(72, aligned)] if aligned else []),
        *_point(11, text.at),
        (100, "AcDbText"),
    ]


def _point(code: int, at: Point) -> list[Group]:
    return [(code, rounded(at[0])), (code + 10, rounded(at[1])), (code + 20, 0.0)]


def _groups(*groups: Group) -> str:
    """Return codes and values as a file holds them."""
    return "".join([f"{code:3d}\n{value}\n" for code, value in groups])


def _order_classes(doc: "ezdxf.document.Drawing") -> None:
    """Put the classes section in order of names; the library's own order is that of a set."""
    doc.classes.add_required_classes(doc.dxfversion)
    doc.classes.classes = dict(sorted(doc.classes.classes.items()))


@contextmanager
def _fixed_metadata() -> Iterator[None]:
    """Let the DXF library write fixed dates and identifiers, one drawing at a time.

    The switch is global in that library, so it is put back, and a lock keeps threads apart.
    """
    with _METADATA:
        before = ezdxf.options.write_fixed_meta_data_for_testing
        ezdxf.options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            ezdxf.options.write_fixed_meta_data_for_testing = before
