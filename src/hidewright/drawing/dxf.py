"""A drawing as DXF R2010 in mm: outlines as closed polylines with bulges, circles as circles."""

import io
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from threading import Lock

import ezdxf
from ezdxf import units
from ezdxf.enums import TextEntityAlignment
from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS
from ezdxf.lldxf.tagwriter import TagWriter

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
_ALIGNMENTS = {
    "start": TextEntityAlignment.LEFT,
    "middle": TextEntityAlignment.CENTER,
    "end": TextEntityAlignment.RIGHT,
}
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
    with _fixed_metadata():
        return _frame(drawing.layers).around(drawing, (left, bottom, right, top, height, *middle))


class _Frame:
    """All of a file but its lines and words: of some layers, written once for many drawings."""

    def __init__(self, layers: Sequence[Layer]) -> None:
        self._doc = doc = ezdxf.new("R2010", setup=False, units=units.MM)
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
        self._free = str(doc.entitydb.handles)
        before, self._after = _parted(out.getvalue(), "  2\nENTITIES\n")
        self._before, self._seeded = _parted(before, f"$HANDSEED\n  5\n{self._free}\n")

    def around(self, drawing: Drawing, sizes: Sequence[float]) -> bytes:
        """Return the file of a drawing of these layers.

        Args:
            drawing: What is drawn.
            sizes: What takes the place of ``_STAND_INS``.
        """
        doc, space, out = self._doc, self._doc.modelspace(), io.StringIO(newline="\n")
        for stroke in drawing.strokes:
            _add_stroke(space, stroke)
        for text in drawing.texts:
            _add_text(space, text)
        space.entity_space.export_dxf(TagWriter(out, dxfversion=doc.dxfversion))
        seed = str(doc.entitydb.handles)
        space.delete_all_entities()
        doc.entitydb.purge()
        doc.entitydb.handles.reset(self._free)
        before, seeded, after = (
            _in_place(part, sizes) for part in (self._before, self._seeded, self._after)
        )
        own = before.removesuffix(f"{self._free}\n")
        return f"{own}{seed}\n{seeded}{out.getvalue()}{after}".encode()


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


def _add_stroke(space: "ezdxf.layouts.Modelspace", stroke: Stroke) -> None:
    attributes = {"layer": stroke.layer.name}
    segments, closed = stroke.curve.segments, isinstance(stroke.curve, Outline)
    circle = circle_of(segments) if closed else None
    if circle is not None:
        (x, y), radius = circle
        space.add_circle((rounded(x), rounded(y)), rounded(radius), dxfattribs=attributes)
        return
    corners = list(_corners(segments, closed))
    space.add_lwpolyline(corners, format="xyb", close=closed, dxfattribs=attributes)


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
    if not closed:
        yield (*ends[-1], 0.0)


def _add_text(space: "ezdxf.layouts.Modelspace", text: Text) -> None:
    entity = space.add_text(
        text.words,
        height=rounded(text.height_mm),
        rotation=rounded(math.degrees(text.angle)),
        dxfattribs={"layer": text.layer.name, "style": "WORDS"},
    )
    at = (rounded(text.at[0]), rounded(text.at[1]))
    entity.set_placement(at, align=_ALIGNMENTS[text.anchor])


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
