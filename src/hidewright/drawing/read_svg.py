"""Outlines out of an SVG drawing."""

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element, ParseError

from defusedxml.common import DefusedXmlException, DTDForbidden
from defusedxml.ElementTree import DefusedXMLParser

from hidewright.drawing.chaining import Piece, chain_pieces
from hidewright.drawing.plane_curves import Affine, LineCurve, segments_of
from hidewright.drawing.reading import CLOSE_GAPS_MM, Reading, Skipped, check_request, grouped
from hidewright.drawing.svg_page import Frame, fitted, length, page_of, transform, view_box
from hidewright.drawing.svg_path_data import Subpath
from hidewright.drawing.svg_shapes import SHAPES, shape_subpaths
from hidewright.errors import RequestError

#: Groups within groups, at most.
MAX_DEPTH = 100
_SVG = "http://www.w3.org/2000/svg"
_INKSCAPE = "http://www.inkscape.org/namespaces/inkscape"
_SILENT = ("title", "desc", "metadata")  # words about the drawing, nothing drawn
_DRAWS_NOTHING = {
    "text": "words are not outlines; turn them into paths first",
    "image": "pictures have no outline",
    "use": "copies by reference are not followed; turn them into paths first",
    "defs": "what it holds is drawn only where it is referred to",
    "symbol": "what it holds is drawn only where it is referred to",
    "clipPath": "clipping is not done; shapes are read whole",
    "mask": "masks are not applied; shapes are read whole",
    "pattern": "fill patterns are not lines",
    "marker": "arrow heads and the like are not lines",
    "script": "scripts are never run",
    "style": "style sheets are not read: what one hides or moves is read as it stands",
    "foreignObject": "it is not a drawing",
    "switch": "a choice by language or program is not made",
}
_WHOLE = {
    "clip-path": "the shape is read whole, as if not clipped",
    "mask": "the shape is read whole, as if not masked",
    "marker-start": "markers are not read",
    "marker-mid": "markers are not read",
    "marker-end": "markers are not read",
}
_STYLED_PLACE = ("transform", "translate", "rotate", "scale", "transform-origin", "offset-path")
_STYLED_SHAPE = ("d", "x", "y", "r", "rx", "ry", "cx", "cy", "width", "height")


def read_svg(
    data: bytes, *, name: str, unit: str | None = None, close_gaps_mm: float = CLOSE_GAPS_MM
) -> Reading:
    """Return the outlines of an SVG drawing in mm, y up, the page's lower left at the origin.

    Read are paths, rectangles, circles, ellipses, lines, polylines and polygons within groups and
    nested drawings, with their transforms. Circles under an even map stay true arcs; ellipses and
    Bezier curves become tangent arcs within 0.01 mm. All else is listed as skipped; nothing is
    run, fetched or expanded. Edges that a viewport would cut off are read all the same.

    Args:
        data: The file.
        name: Its name, for errors.
        unit: mm, cm, m or in: the length of one user unit, over what the file says.
        close_gaps_mm: Ends within this are joined, and each gap reported, mm.

    Raises:
        RequestError: When the file is no SVG, does not say its size, or an outline cannot be used.
    """
    check_request(data, name, close_gaps_mm)
    root = _parsed(data, name)
    try:
        page = page_of(root.attrib, unit, name)
    except RequestError as error:
        raise error.at(name) from None
    walk = _Walk(native=_namespace(root), file=name)
    place = page.place
    try:
        if "transform" in root.attrib:
            place = place.after(transform(root.attrib["transform"]))
    except RequestError as error:
        raise error.at(f"{name}, svg") from None
    walk.children(root, _Setting(place=place, frame=page.frame))
    pieces = [p for drawn in walk.drawn for p in _pieces(drawn, close_gaps_mm, name)]
    chained = chain_pieces(pieces, close_gaps_mm, name)
    return Reading(
        name=name,
        outlines=chained.outlines,
        paths=chained.paths,
        closed_gaps=chained.closed_gaps,
        skipped=(*walk.skipped(), *chained.skipped),
        unit=page.unit,
    )


class _Parser(DefusedXMLParser):
    """Refuses entities, and a document type with anything in it; the bare line is let pass."""

    def defused_start_doctype_decl(
        self, name: str, sysid: str | None, pubid: str | None, has_internal_subset: int
    ) -> None:
        if has_internal_subset:
            raise DTDForbidden(name, sysid, pubid)


def _parsed(data: bytes, name: str) -> Element:
    if data[:2] == b"\x1f\x8b":
        raise RequestError("a compressed SVG", mend="Save it as plain SVG, not as SVGZ", where=name)
    parser = _Parser(forbid_dtd=True, forbid_entities=True, forbid_external=True)
    try:
        parser.feed(data)
        root: Element = parser.close()
    except DefusedXmlException:
        raise RequestError(
            "the file declares entities or a document type of its own",
            because="they can be made to blow up or to fetch other files",
            mend="Save it as plain SVG",
            where=name,
        ) from None
    except ParseError as error:
        line = error.position[0]
        raise RequestError(
            "it is not well-formed XML",
            because=str(error),
            mend="Save the drawing again as plain SVG",
            where=f"{name} line {line}",
        ) from None
    except (ValueError, LookupError) as error:
        raise RequestError(
            "its characters cannot be read", because=str(error), where=name
        ) from None
    if _local(root) != "svg" or _namespace(root) not in ("", _SVG):
        raise RequestError(
            f"it is no SVG drawing: its outermost element is {_local(root)!r}", where=name
        )
    return root


@dataclass(frozen=True, slots=True, kw_only=True)
class _Setting:
    """What an element takes over from those around it."""

    place: Affine
    frame: Frame
    layer: str = ""
    hidden: bool = False
    depth: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawn:
    """One shape with its place."""

    name: str
    where: str
    layer: str
    place: Affine
    subpaths: tuple[Subpath, ...]


class _Walk:
    """Goes through the elements in order, and keeps what is drawn and what is not read."""

    def __init__(self, *, native: str, file: str) -> None:
        self.drawn: list[_Drawn] = []
        self._native, self._file = native, file
        self._left_out: dict[tuple[str, str], list[str]] = defaultdict(list)
        self._counts: dict[str, int] = defaultdict(int)

    def children(self, parent: Element, setting: _Setting) -> None:
        if setting.depth > MAX_DEPTH:
            raise RequestError(f"groups nested over {MAX_DEPTH} deep", where=self._file)
        for element in parent:
            kind = _local(element)
            self._counts[kind] += 1
            label = element.get("id") or f"number {self._counts[kind]}"
            try:
                self._element(element, kind, label, setting)
            except RequestError as error:
                raise error.at(f"{self._file}, {kind} {label}") from None

    def skipped(self) -> tuple[Skipped, ...]:
        return grouped(self._left_out)

    def _element(self, element: Element, kind: str, label: str, setting: _Setting) -> None:
        if not isinstance(element.tag, str):
            return  # a comment
        if _namespace(element) != self._native:
            self._leave_out(kind, label, "it belongs to another program, not to SVG")
        elif kind in _SILENT:
            return
        elif kind in _DRAWS_NOTHING:
            self._leave_out(kind, label, _DRAWS_NOTHING[kind])
        elif kind not in (*SHAPES, "g", "a", "svg"):
            self._leave_out(kind, label, "this kind of element is not read")
        elif _look(element, "display") == "none":
            self._leave_out(kind, label, "it is not shown (display none)")
        else:
            self._shown(element, kind, label, _within(element, kind, setting))

    def _shown(self, element: Element, kind: str, label: str, setting: _Setting) -> None:
        for look, why in _WHOLE.items():
            if _look(element, look) not in ("", "none"):
                self._leave_out(f"{look} of a {kind}", label, why)
        if kind not in SHAPES:
            self.children(element, setting)
        elif setting.hidden:
            self._leave_out(kind, label, "it is not shown (visibility hidden)")
        else:
            self._shape(element, kind, label, setting)
            self.children(element, replace(setting, depth=setting.depth + 1))

    def _shape(self, element: Element, kind: str, label: str, setting: _Setting) -> None:
        runs = shape_subpaths(kind, element.attrib, setting.frame)
        if not runs:
            self._leave_out(kind, label, "it draws nothing: a size of 0, or no points")
            return
        own = element.get("id") or element.get(f"{{{_INKSCAPE}}}label")
        self.drawn.append(
            _Drawn(
                name=own or f"{kind} {self._counts[kind]}",
                where=f"{kind} {label}",
                layer=setting.layer,
                place=setting.place,
                subpaths=runs,
            )
        )

    def _leave_out(self, what: str, label: str, why: str) -> None:
        self._left_out[what, why].append(label)


def _within(element: Element, kind: str, setting: _Setting) -> _Setting:
    """The setting inside an element: its transform, viewport, layer and visibility."""
    _refuse_styled_place(element, kind)
    place, frame, layer = setting.place, setting.frame, setting.layer
    if "transform" in element.attrib:
        place = place.after(transform(element.attrib["transform"]))
    if kind == "svg":
        into, frame = _nested(element, frame)
        place = place.after(into)
    if kind == "g":
        layer = element.get(f"{{{_INKSCAPE}}}label") or element.get("id") or layer
    visible = _look(element, "visibility")
    hidden = setting.hidden if visible in ("", "inherit") else visible != "visible"
    return _Setting(place=place, frame=frame, layer=layer, hidden=hidden, depth=setting.depth + 1)


def _nested(element: Element, frame: Frame) -> tuple[Affine, Frame]:
    """The map and viewport of a drawing within the drawing (SVG 1.1, section 7.9)."""
    x = length(element.get("x", "0"), frame, frame.width)
    y = length(element.get("y", "0"), frame, frame.height)
    box = view_box(element.attrib)
    if box is None and not {"width", "height"} & set(element.attrib):
        return Affine(e=x, f=y), frame
    wide = length(element.get("width", "100%"), frame, frame.width)
    high = length(element.get("height", "100%"), frame, frame.height)
    if not (wide > 0 and high > 0):
        raise RequestError(f"a drawing within the drawing of {wide:g} by {high:g}")
    if box is None:
        return Affine(e=x, f=y), replace(frame, width=wide, height=high)
    fit = fitted(box, (x, y, wide, high), element.get("preserveAspectRatio", ""))
    # inside, a mm written out would be scaled along: only plain numbers have one size
    return fit, Frame(width=box[2], height=box[3], per_mm=float("nan"))


def _pieces(drawn: _Drawn, close_gaps_mm: float, file: str) -> Iterator[Piece]:
    """The runs of one shape in mm; the closing line of Z unless it only bridges a gap."""
    try:
        for i, run in enumerate(drawn.subpaths):
            segments = segments_of(run.curves, drawn.place)
            back = segments_of([LineCurve(run.end, run.start)], drawn.place) if run.closed else ()
            if segments and back and back[0].length > close_gaps_mm:
                segments += back
            yield Piece(
                name=drawn.name if i == 0 else f"{drawn.name}/{i + 1}",
                layer=drawn.layer,
                where=drawn.where if len(drawn.subpaths) == 1 else f"{drawn.where} part {i + 1}",
                segments=segments,
                closed=run.closed,
            )
    except RequestError as error:
        raise error.at(f"{file}, {drawn.where}") from None


def _refuse_styled_place(element: Element, kind: str) -> None:
    names = _STYLED_PLACE if kind not in SHAPES else (*_STYLED_PLACE, *_STYLED_SHAPE)
    found = [n for n in names if _style(element, n)]
    found += [n for n in ("transform-origin",) if element.get(n)]
    if found:
        raise RequestError(
            f"style with {found[0]!r}",
            because="sizes and places are read from attributes only",
            mend="Save it as plain SVG, or apply the transform in the drawing program",
        )


def _look(element: Element, name: str) -> str:
    """A presentation property, from the style or the attribute of that name."""
    return _style(element, name) or element.get(name, "").strip()


def _style(element: Element, name: str) -> str:
    found = re.findall(rf"(?:^|;)\s*{re.escape(name)}\s*:\s*([^;]*)", element.get("style", ""))
    return found[-1].replace("!important", "").strip() if found else ""


def _local(element: Element) -> str:
    tag = element.tag
    return tag.rsplit("}", 1)[-1] if isinstance(tag, str) else "comment"


def _namespace(element: Element) -> str:
    tag = element.tag
    return tag[1:].split("}", 1)[0] if isinstance(tag, str) and tag.startswith("{") else ""
