"""The shapes of SVG as runs of curves in user units."""

import math
import re
from collections.abc import Mapping
from itertools import pairwise

from hidewright.drawing.plane_curves import Curve, EllipticArc, LineCurve
from hidewright.drawing.svg_page import Frame, length
from hidewright.drawing.svg_path_data import NUMBER, Subpath, subpaths
from hidewright.errors import RequestError
from hidewright.geometry.segment import Point

SHAPES = ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")


def shape_subpaths(kind: str, attributes: Mapping[str, str], frame: Frame) -> tuple[Subpath, ...]:
    """Return the runs of one shape element (SVG 1.1, sections 8.3 and 9).

    A size of 0 draws nothing, as the standard says.

    Args:
        kind: One of ``SHAPES``.
        attributes: Of the element.
        frame: The viewport it is in.

    Raises:
        RequestError: When a size is missing its number, negative, or not understood.
    """
    sizes = _Sizes(attributes, frame)
    match kind:
        case "path":
            return subpaths(attributes.get("d", ""))
        case "rect":
            return _rect(sizes)
        case "circle":
            r = sizes.positive("r", frame.diagonal)
            return _ellipse(sizes, r, r)
        case "ellipse":
            return _ellipse(
                sizes, sizes.positive("rx", frame.width), sizes.positive("ry", frame.height)
            )
        case "line":
            start = (sizes.of("x1", frame.width), sizes.of("y1", frame.height))
            end = (sizes.of("x2", frame.width), sizes.of("y2", frame.height))
            return (Subpath(start, (LineCurve(start, end),), end, closed=False),)
        case _:
            return _points(attributes.get("points", ""), closed=kind == "polygon")


class _Sizes:
    """Lengths of an element by name."""

    def __init__(self, attributes: Mapping[str, str], frame: Frame) -> None:
        self._attributes, self._frame = attributes, frame

    def of(self, name: str, against: float) -> float:
        text = self._attributes.get(name)
        try:
            return length(text, self._frame, against) if text is not None else 0.0
        except RequestError as error:
            raise RequestError(
                f"{name}, {error.what}", because=error.because, mend=error.mend
            ) from None

    def positive(self, name: str, against: float) -> float:
        value = self.of(name, against)
        if value < 0:
            raise RequestError(f"{name} {value:g}", because="a size must not be negative")
        return value

    def given(self, name: str) -> bool:
        return self._attributes.get(name, "auto").strip() != "auto"

    @property
    def frame(self) -> Frame:
        return self._frame


def _rect(sizes: _Sizes) -> tuple[Subpath, ...]:
    frame = sizes.frame
    x, y = sizes.of("x", frame.width), sizes.of("y", frame.height)
    w, h = sizes.positive("width", frame.width), sizes.positive("height", frame.height)
    if w == 0 or h == 0:
        return ()
    rx = sizes.positive("rx", frame.width) if sizes.given("rx") else None
    ry = sizes.positive("ry", frame.height) if sizes.given("ry") else None
    rx, ry = (ry if rx is None else rx) or 0.0, (rx if ry is None else ry) or 0.0
    rx, ry = min(rx, w / 2), min(ry, h / 2)
    if rx == 0 or ry == 0:
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
        return (_polyline(corners, closed=True),)
    centres = [
        (x + w - rx, y + ry),
        (x + w - rx, y + h - ry),
        (x + rx, y + h - ry),
        (x + rx, y + ry),
    ]
    curves: list[Curve] = []
    start = pen = (x + rx, y)
    for i, centre in enumerate(centres):
        corner = EllipticArc(centre, (rx, 0.0), (0.0, ry), (i - 1) * math.pi / 2, math.pi / 2)
        curves += [LineCurve(pen, corner.point_at(corner.begin)), corner]
        pen = corner.point_at(corner.begin + corner.sweep)
    return (Subpath(start, tuple(curves), start, closed=True),)


def _ellipse(sizes: _Sizes, rx: float, ry: float) -> tuple[Subpath, ...]:
    if rx == 0 or ry == 0:
        return ()
    centre = (sizes.of("cx", sizes.frame.width), sizes.of("cy", sizes.frame.height))
    curve = EllipticArc(centre, (rx, 0.0), (0.0, ry), 0.0, 2 * math.pi)
    start = curve.point_at(0.0)
    return (Subpath(start, (curve,), start, closed=True),)


def _points(text: str, *, closed: bool) -> tuple[Subpath, ...]:
    left = re.sub(r"[\s,]+", " ", re.sub(NUMBER, " ", text)).strip()
    if left:
        raise RequestError(f"points, {left[:12]!r}", because="it is not a number")
    numbers = [float(n) for n in re.findall(NUMBER, text)]
    if len(numbers) % 2:
        raise RequestError(f"points with {len(numbers)} numbers", because="each point takes two")
    corners = list(zip(numbers[::2], numbers[1::2], strict=True))
    return (_polyline(corners, closed=closed),) if len(corners) > 1 else ()


def _polyline(corners: list[Point], *, closed: bool) -> Subpath:
    pairs = pairwise(corners)
    return Subpath(corners[0], tuple(LineCurve(p, q) for p, q in pairs), corners[-1], closed)
