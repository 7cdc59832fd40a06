"""Lengths, transforms and the page of an SVG: how its user units become mm."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from hidewright.drawing.plane_curves import Affine
from hidewright.drawing.reading import UnitUsed, accepted_units, unit_mm
from hidewright.drawing.svg_path_data import NUMBER
from hidewright.errors import RequestError

#: Physical units of SVG in mm; pt and pc are 1/72 and 1/6 inch, Q a quarter mm (CSS Values 3, 6.2).
PHYSICAL_MM = (("mm", 1.0), ("cm", 10.0), ("in", 25.4), ("pt", 25.4 / 72), ("pc", 25.4 / 6),
               ("q", 0.25))  # fmt: skip
#: User units to the inch where the standard fixes them (CSS Values 3, 6.2).
PX_PER_INCH = 96.0
_LENGTH = re.compile(rf"\s*({NUMBER})\s*([a-zA-Z%]*)\s*")
_TRANSFORM = re.compile(r"[\s,]*([a-zA-Z]+)\s*\(([^()]*)\)")
_ALIGN = re.compile(r"\s*(?:defer\s+)?(none|x(Min|Mid|Max)Y(Min|Mid|Max))(?:\s+(meet|slice))?\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What a length in the drawing is measured against.

    Attributes:
        width: Width of the viewport in user units, against which per cent are taken; NaN where
            it is not known.
        height: Its height.
        per_mm: User units of one mm for lengths written with a unit; NaN where that would be
            another size than the drawing's own scale.
    """

    width: float
    height: float
    per_mm: float

    @property
    def diagonal(self) -> float:
        """What per cent of a radius are taken of (SVG 1.1, section 7.10)."""
        return math.hypot(self.width, self.height) / math.sqrt(2.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """The outermost element: from user units to mm, y up, the page's lower left at the origin."""

    place: Affine
    frame: Frame
    unit: UnitUsed


def page_of(attributes: Mapping[str, str], unit: str | None, name: str) -> Page:
    """Return how the outermost ``svg`` element lies in mm.

    With a unit given, one user unit is that unit, whatever the file says. Without it, the file
    must say a physical width or height and a viewBox: 96 px to the inch is not guessed.

    Raises:
        RequestError: When the file does not say its size, asking for ``--unit``.
    """
    box = view_box(attributes)
    if unit is not None:
        mm = unit_mm(unit, name)
        return _page_with_unit(attributes, box, mm, f"--unit {unit.strip().lower()}")
    sizes = [_physical(attributes.get(side)) for side in ("width", "height")]
    for side, size in zip(("width", "height"), sizes, strict=True):
        if size is not None and not 0 < size < math.inf:
            raise RequestError(
                f"the drawing's {side} is {attributes[side]!r}",
                because="it must be over 0",
                mend=f"Save the drawing again, or say its unit: {accepted_units()}",
                where=name,
            )
    if box is None or sizes == [None, None]:
        raise RequestError(
            "the drawing does not say how large it is",
            because=_missing(attributes, box),
            mend=f"Say the unit of the drawing: {accepted_units()}",
            where=name,
        )
    wide, high = box[2:]
    width = sizes[0] if sizes[0] is not None else _follow(sizes[1], wide / high)
    height = sizes[1] if sizes[1] is not None else _follow(sizes[0], high / wide)
    fit = fitted(box, (0.0, 0.0, width, height), attributes.get("preserveAspectRatio", ""))
    up = Affine(1.0, 0.0, 0.0, -1.0, 0.0, height)
    sides = " ".join(
        f"{side} {attributes[side].strip()}"
        for side, size in zip(("width", "height"), sizes, strict=True)
        if size is not None
    )
    per_mm = PX_PER_INCH / 25.4
    true = all(math.isclose(scale * per_mm, 1.0, rel_tol=1e-4) for scale in (fit.a, fit.d))
    return Page(
        place=up.after(fit),
        frame=Frame(width=wide, height=high, per_mm=per_mm if true else math.nan),
        unit=UnitUsed(mm=fit.a, source=f"{sides} over viewBox {attributes['viewBox'].strip()}"),
    )


def _page_with_unit(
    attributes: Mapping[str, str],
    box: tuple[float, float, float, float] | None,
    mm: float,
    source: str,
) -> Page:
    if box is not None:
        left, top, wide, high = box
    else:
        left = top = 0.0
        wide, high = (_plain(attributes.get(side)) for side in ("width", "height"))
    bottom = top + high if math.isfinite(high) else 0.0
    return Page(
        place=Affine(mm, 0.0, 0.0, -mm, -left * mm, bottom * mm),
        frame=Frame(width=wide, height=high, per_mm=1.0 / mm),
        unit=UnitUsed(mm=mm, source=source),
    )


def view_box(attributes: Mapping[str, str]) -> tuple[float, float, float, float] | None:
    """Return (left, top, width, height) of a viewBox, None where there is none.

    Raises:
        RequestError: When it is not four numbers with a size.
    """
    text = attributes.get("viewBox")
    if text is None:
        return None
    words = [w for w in re.split(r"[\s,]+", text.strip()) if w]
    if len(words) != 4 or not all(re.fullmatch(NUMBER, w) for w in words):
        raise RequestError(f"viewBox {text!r}", because="it is not four numbers")
    left, top, wide, high = (float(w) for w in words)
    if not (0 < wide < math.inf and 0 < high < math.inf):
        raise RequestError(f"viewBox {text!r}", because="its width and height must be over 0")
    return (left, top, wide, high)


def fitted(
    box: tuple[float, float, float, float], port: tuple[float, float, float, float], aspect: str
) -> Affine:
    """Return the map of a viewBox into its port by preserveAspectRatio (SVG 1.1, section 7.8).

    Args:
        box: (left, top, width, height) of the viewBox.
        port: The same of the place it is shown in.
        aspect: The attribute; empty is ``xMidYMid meet``.
    """
    match = _ALIGN.fullmatch(aspect or "xMidYMid")
    if match is None:
        raise RequestError(f"preserveAspectRatio {aspect!r}", because="it is not known")
    sx, sy = port[2] / box[2], port[3] / box[3]
    if match[1] != "none":
        sx = sy = max(sx, sy) if match[4] == "slice" else min(sx, sy)
    shares = {None: 0.0, "Min": 0.0, "Mid": 0.5, "Max": 1.0}
    x = port[0] - box[0] * sx + shares[match[2]] * (port[2] - box[2] * sx)
    y = port[1] - box[1] * sy + shares[match[3]] * (port[3] - box[3] * sy)
    return Affine(sx, 0.0, 0.0, sy, x, y)


def length(text: str, frame: Frame, against: float) -> float:
    """Return a length in user units.

    Args:
        text: A number, alone, with a unit, or in per cent.
        frame: The viewport it is in.
        against: What 100 per cent are, user units.

    Raises:
        RequestError: When it is no length, or its size is not plain.
    """
    match = _LENGTH.fullmatch(text)
    if match is None:
        raise RequestError(f"length {text!r}", because="it is not a number with a unit")
    value, unit = float(match[1]), match[2].lower()
    if unit == "":
        return value
    if unit == "%" and math.isfinite(against):
        return value / 100.0 * against
    physical = dict(PHYSICAL_MM)
    if unit == "px" and math.isclose(frame.per_mm, PX_PER_INCH / 25.4):
        return value
    if unit in physical and math.isfinite(frame.per_mm):
        return value * physical[unit] * frame.per_mm
    raise RequestError(
        f"length {text!r}",
        because="a length with a unit has another size than the drawing's own scale gives it",
        mend="Write it as a plain number of drawing units",
    )


def transform(text: str) -> Affine:
    """Return the map of a ``transform`` attribute (SVG 1.1, section 7.6).

    Raises:
        RequestError: When it is not understood, or flattens what it moves.
    """
    place, at = Affine(), 0
    while at < len(text.rstrip(" \t\r\n,")):
        match = _TRANSFORM.match(text, at)
        words = [w for w in re.split(r"[\s,]+", match[2].strip()) if w] if match else []
        if match is None or not all(re.fullmatch(NUMBER, w) for w in words):
            raise RequestError(f"transform {text!r}", because=f"not understood at {text[at:]!r}")
        step = _step(match[1], [float(w) for w in words])
        if step is None:
            raise RequestError(
                f"transform {match[0].strip()!r}",
                because="no such kind, or not as many numbers as it takes",
                mend="Known are matrix, translate, scale, rotate, skewX and skewY",
            )
        place, at = place.after(step), match.end()
    largest = max(abs(v) for v in (place.a, place.b, place.c, place.d))
    flat = abs(place.determinant) <= 1e-12 * largest**2
    if flat or not math.isfinite(place.determinant):
        raise RequestError(f"transform {text!r}", because="it leaves no area of what it moves")
    return place


def _step(kind: str, n: list[float]) -> Affine | None:
    match (kind, len(n)):
        case ("matrix", 6):
            return Affine(*n)
        case ("translate", 1 | 2):
            return Affine(e=n[0], f=n[1] if len(n) == 2 else 0.0)
        case ("scale", 1 | 2):
            return Affine(a=n[0], d=n[-1])
        case ("rotate", 1 | 3):
            c, s = math.cos(math.radians(n[0])), math.sin(math.radians(n[0]))
            x, y = n[1:] if len(n) == 3 else (0.0, 0.0)
            return Affine(c, s, -s, c, x - c * x + s * y, y - s * x - c * y)
        case ("skewX", 1):
            return Affine(c=math.tan(math.radians(n[0])))
        case ("skewY", 1):
            return Affine(b=math.tan(math.radians(n[0])))
    return None


def _physical(text: str | None) -> float | None:
    """A size in mm, None where it is missing, in per cent, or in px."""
    match = _LENGTH.fullmatch(text or "")
    if match is None:
        return None
    mm = dict(PHYSICAL_MM).get(match[2].lower())
    return None if mm is None else float(match[1]) * mm


def _plain(text: str | None) -> float:
    match = _LENGTH.fullmatch(text or "")
    return float(match[1]) if match and match[2] == "" else math.nan


def _follow(size: float | None, ratio: float) -> float:
    return math.nan if size is None else size * ratio


def _missing(attributes: Mapping[str, str], box: tuple[float, float, float, float] | None) -> str:
    sizes = [_physical(attributes.get(side)) for side in ("width", "height")]
    if sizes == [None, None]:
        width = attributes.get("width")
        found = f"width {width!r} has no physical unit" if width else "it has no width"
        return f"{found}, and 96 px to the inch is not guessed"
    return "it has a width but no viewBox, so the length of one drawing unit is not said"
