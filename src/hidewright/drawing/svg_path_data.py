"""The path data of SVG, read by its grammar; anything outside the grammar is refused."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from hidewright.drawing.plane_curves import Curve, EllipticArc, FreeCurve, LineCurve
from hidewright.errors import RequestError
from hidewright.geometry.segment import Point

NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_NUMBER = re.compile(NUMBER)
_BETWEEN = re.compile(r"[ \t\r\n\f]*,?[ \t\r\n\f]*")
_SPACE = re.compile(r"[ \t\r\n\f]*")
_FLAG = re.compile(r"[01]")
#: How many numbers follow each command.
_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_ARC_FLAGS = (3, 4)


@dataclass(frozen=True, slots=True)
class Subpath:
    """One run of the pen, in user units.

    Attributes:
        start: Where the pen was put down.
        curves: End to end; may be empty.
        end: Where it was lifted.
        closed: Whether it ends with Z. The closing line is not among the curves.
    """

    start: Point
    curves: tuple[Curve, ...]
    end: Point
    closed: bool


def subpaths(data: str) -> tuple[Subpath, ...]:
    """Return the subpaths of a ``d`` attribute (SVG 1.1, section 8.3).

    All commands, absolute and relative. An arc with a radius of 0 is a line and one too small to
    reach is enlarged, as appendix F.6 of the standard says.

    Raises:
        RequestError: At the first character that the grammar does not allow.
    """
    pen = _Pen()
    for command, numbers in _commands(data):
        pen.do(command, numbers)
    return pen.finished()


def _commands(data: str) -> list[tuple[str, tuple[float, ...]]]:
    """(command, numbers) in order, repeated commands written out."""
    out: list[tuple[str, tuple[float, ...]]] = []
    at = _skip(_SPACE, data, 0)
    while at < len(data):
        letter = data[at]
        if letter.upper() not in _COUNTS or (not out and letter not in "Mm"):
            raise _wrong(data, at, "a command such as M, L, C, A or Z")
        at = _skip(_SPACE, data, at + 1)
        count = _COUNTS[letter.upper()]
        if count == 0:
            out.append((letter, ()))
            continue
        first = True
        while first or _more(data, at):
            if not first:
                at = _skip(_BETWEEN, data, at)
            numbers, at = _numbers(data, at, count, arc=letter in "Aa")
            out.append((letter, numbers))
            letter = {"M": "L", "m": "l"}.get(letter, letter)
            first = False
        at = _skip(_SPACE, data, at)
    return out


def _more(data: str, at: int) -> bool:
    """Whether further numbers follow."""
    at = _skip(_BETWEEN, data, at)
    return bool(_NUMBER.match(data, at)) or data[at - 1 : at] == ","


def _numbers(data: str, at: int, count: int, *, arc: bool) -> tuple[tuple[float, ...], int]:
    values: list[float] = []
    for i in range(count):
        if i:
            at = _skip(_BETWEEN, data, at)
        flag = arc and i in _ARC_FLAGS
        match = (_FLAG if flag else _NUMBER).match(data, at)
        if match is None:
            raise _wrong(data, at, "0 or 1" if flag else "a number")
        values.append(float(match.group()))
        if math.isinf(values[-1]):
            raise RequestError("a coordinate is not a finite number", because=match.group())
        at = match.end()
    return tuple(values), at


def _skip(what: re.Pattern[str], data: str, at: int) -> int:
    match = what.match(data, at)
    return match.end() if match else at


def _wrong(data: str, at: int, wanted: str) -> RequestError:
    found = repr(data[at : at + 12]) if at < len(data) else "the end"
    return RequestError(
        f"path data at character {at + 1}",
        because=f"it has {found} where {wanted} should be",
        mend="Save the drawing again from the program that made it",
    )


class _Pen:
    """Where the pen is, and what it has drawn so far."""

    def __init__(self) -> None:
        self._done: list[Subpath] = []
        self._curves: list[Curve] = []
        self._start: Point = (0.0, 0.0)
        self._at: Point = (0.0, 0.0)
        self._handle: Point = (0.0, 0.0)  # last control point, for S and T
        self._before = ""

    def do(self, command: str, n: tuple[float, ...]) -> None:
        kind = command.upper()
        ox, oy = self._at if command.islower() else (0.0, 0.0)
        points = [(n[i] + ox, n[i + 1] + oy) for i in range(0, len(n) - 1, 2)]
        if kind == "M":
            self._lift(closed=False)
            self._start = self._at = points[0]
        elif kind == "Z":
            self._lift(closed=True)
            self._at = self._start
        elif kind == "L":
            self._line(points[0])
        elif kind == "H":
            self._line((n[0] + ox, self._at[1]))
        elif kind == "V":
            self._line((self._at[0], n[0] + oy))
        elif kind == "C":
            self._cubic(*points)
        elif kind == "S":
            self._cubic(self._reflected("CS"), *points)
        elif kind == "Q":
            self._quadratic(*points)
        elif kind == "T":
            self._quadratic(self._reflected("QT"), *points)
        else:
            self._arc(n, (n[5] + ox, n[6] + oy))
        self._before = kind

    def finished(self) -> tuple[Subpath, ...]:
        self._lift(closed=False)
        return tuple(self._done)

    def _lift(self, *, closed: bool) -> None:
        if self._curves or closed:
            self._done.append(Subpath(self._start, tuple(self._curves), self._at, closed))
        self._curves = []

    def _reflected(self, after: str) -> Point:
        if not self._before or self._before not in after:
            return self._at
        return (2 * self._at[0] - self._handle[0], 2 * self._at[1] - self._handle[1])

    def _line(self, end: Point) -> None:
        self._curves.append(LineCurve(self._at, end))
        self._at = end

    def _cubic(self, one: Point, two: Point, end: Point) -> None:
        self._curves += bezier((self._at, one, two, end))
        self._handle, self._at = two, end

    def _quadratic(self, one: Point, end: Point) -> None:
        self._curves += bezier((self._at, one, end))
        self._handle, self._at = one, end

    def _arc(self, n: tuple[float, ...], end: Point) -> None:
        if end != self._at:
            self._curves.append(
                arc_between(
                    self._at, end, n[0], n[1], math.radians(n[2]), large=n[3] > 0, sweep=n[4] > 0
                )
            )
        self._at = end


def bezier(points: Sequence[Point]) -> tuple[Curve, ...]:
    """Return a Bezier curve of degree 2 or 3, broken where it stops and turns back (a cusp)."""
    out: list[Curve] = []
    rest, past = tuple(points), 0.0
    for stop in _cusps(points):
        before, rest = _split(rest, (stop - past) / (1.0 - past))
        past = stop
        out += _smooth_bezier(before)
    return (*out, *_smooth_bezier(rest))


def _smooth_bezier(points: tuple[Point, ...]) -> list[Curve]:
    """A Bezier curve that does not stop between its ends; a line when its handles lie on them."""
    first, last = points[0], points[-1]
    size = max(math.dist(first, p) for p in points)
    if all(min(math.dist(p, first), math.dist(p, last)) <= 1e-9 * size for p in points):
        return [LineCurve(first, last)]
    # the direction at an end is towards the first control point that is not on it
    ahead = next(p for p in points if math.dist(first, p) > 1e-6 * size)
    behind = next(p for p in reversed(points) if math.dist(last, p) > 1e-6 * size)
    return [
        FreeCurve(
            lambda t: _split(points, t)[0][-1],
            0.0,
            1.0,
            leaves=(ahead[0] - first[0], ahead[1] - first[1]),
            arrives=(last[0] - behind[0], last[1] - behind[1]),
        )
    ]


def _split(points: tuple[Point, ...], t: float) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    """The two Bezier curves before and after a parameter (de Casteljau)."""
    level = list(points)
    before, after = [level[0]], [level[-1]]
    while len(level) > 1:
        level = [(p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t) for p, q in pairwise(level)]
        before.append(level[0])
        after.append(level[-1])
    return tuple(before), tuple(reversed(after))


def _cusps(points: Sequence[Point]) -> list[float]:
    """Parameters inside (0, 1) at which the speed is nil, ascending."""
    n = len(points) - 1
    legs = [(q[0] - p[0], q[1] - p[1]) for p, q in pairwise(points)]
    scale = max(math.hypot(*leg) for leg in legs)

    def speed(t: float) -> float:
        weights = (1 - t, t) if n == 2 else ((1 - t) ** 2, 2 * t * (1 - t), t * t)
        x, y = (
            math.fsum(w * leg[axis] for w, leg in zip(weights, legs, strict=True))
            for axis in (0, 1)
        )
        return math.hypot(x, y)

    found: list[float] = []
    for t in sorted(t for axis in (0, 1) for t in _roots([leg[axis] for leg in legs])):
        apart = not found or t - found[-1] > 1e-4
        if apart and 1e-4 < t < 1 - 1e-4 and speed(t) < 1e-6 * scale:
            found.append(t)
    return found


def _roots(legs: list[float]) -> list[float]:
    """Real zeros of a Bezier polynomial of degree 1 or 2 by its coefficients."""
    if len(legs) == 2:
        p, q = legs
        return [p / (p - q)] if p != q else []
    a, b, c = legs[0] - 2 * legs[1] + legs[2], 2 * (legs[1] - legs[0]), legs[0]
    if abs(a) <= 1e-12 * max(abs(b), abs(c)):
        return [-c / b] if b else []
    inside = b * b - 4 * a * c
    if inside < -1e-9 * b * b:
        return []
    root = math.sqrt(max(inside, 0.0))
    return [(-b - root) / (2 * a), (-b + root) / (2 * a)]


def arc_between(
    start: Point, end: Point, rx: float, ry: float, tilt: float, *, large: bool, sweep: bool
) -> Curve:
    """Return an arc by its ends (SVG 1.1, appendix F.6.5 and F.6.6).

    Args:
        start: First end.
        end: Last end, another point.
        rx: Half axis along the tilt; its sign does not matter.
        ry: The other half axis.
        tilt: Turn of the first axis against x, radians.
        large: Whether it is the arc of over half a turn.
        sweep: Whether the angle grows along it.
    """
    rx, ry = abs(rx), abs(ry)
    if rx == 0.0 or ry == 0.0:
        return LineCurve(start, end)
    c, s = math.cos(tilt), math.sin(tilt)
    hx, hy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    px, py = (c * hx + s * hy) / rx, (c * hy - s * hx) / ry  # on the unit circle's scale
    reach = math.hypot(px, py)
    if reach > 1.0:
        rx, ry, px, py = rx * reach, ry * reach, px / reach, py / reach
        reach = 1.0
    rise = math.sqrt(max(1.0 - reach**2, 0.0)) / reach
    if large == sweep:
        rise = -rise
    mx, my = rise * py, -rise * px  # centre on that scale
    begin = math.atan2(py - my, px - mx)
    turn = math.atan2(-py - my, -px - mx) - begin
    if sweep and turn <= 0:
        turn += 2 * math.pi
    elif not sweep and turn >= 0:
        turn -= 2 * math.pi
    centre = (
        c * mx * rx - s * my * ry + (start[0] + end[0]) / 2,
        s * mx * rx + c * my * ry + (start[1] + end[1]) / 2,
    )
    return EllipticArc(centre, (rx * c, rx * s), (-ry * s, ry * c), begin, turn)
