"""A nesting problem out of a JSON file.

Its ``problem`` names its kind; every item has ``id``, ``rotations`` (degrees, or null for any),
``outline``, ``holes`` and, where its other face may be up, ``mirrored``:

    strip      strip_height; items: demand
    hide       outline, zones (grade, parts), flaws (kind, severity), spacing, edge_margin,
               batch_sets; items: per_set, grade
    sheet      outline, spacing, edge_margin; items: quantity
    hide-bins  bins (id, stock, outline, holes, zones of a quality); items: demand, min_quality
"""

import json
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, get_args

from hidewright.design.hide import Corners, Flaw, GradeArea, Hide
from hidewright.errors import RequestError
from hidewright.nesting.problem import Cutting, Goal, Problem

#: A dozen digitised hides have about 0.4 MB.
LARGEST_BYTES = 8_000_000
MOST_PIECES, MOST_COPIES, MOST_HIDES, MOST_CORNERS = 500, 3000, 200, 20_000
#: Wider than any hide in any unit a problem may be in.
LARGEST = 1e7
#: Severities that mar, and grades of hides.
WORST, BEST_GRADE, WORST_GRADE = 1, 1, 3
#: More than any severity: such a piece stays clear of all flaws.
ALL_FLAWS = 1_000_000


def read_problem(data: bytes, *, name: str, goal: str | None = None) -> Problem:
    """Return the problem in a file.

    Args:
        data: The file's bytes, JSON in UTF-8.
        name: The file's name, for errors.
        goal: ``sets`` or ``length``, where the file leaves the choice.

    Raises:
        RequestError: Names the field, the wrong value and what is accepted.
    """
    top = _Fields(_parsed(data, name), name)
    kind = top.text("problem")
    if kind not in READERS:
        raise RequestError(
            f"a problem of kind {kind!r}",
            mend=f"Choose one of: {', '.join(READERS)}",
            where=f"{name}, problem",
        )
    goals = GOALS[kind]
    if goal is not None and goal not in goals:
        raise RequestError(
            f"the goal {goal!r} for a {kind}", mend=f"Choose one of: {', '.join(goals)}", where=name
        )
    chosen = next(g for g in get_args(Goal) if g == (goal or goals[0]))
    try:
        return READERS[kind](top, chosen)
    except RequestError as refused:
        raise refused.at(name) from None


def _parsed(data: bytes, name: str) -> Any:
    if len(data) > LARGEST_BYTES:
        raise RequestError(
            f"{len(data) / 1e6:.1f} MB long",
            because=f"a problem has at most {LARGEST_BYTES / 1e6:g} MB",
            mend="Check that this is a nesting problem",
            where=name,
        )
    try:
        return json.loads(data.decode("utf-8-sig"), parse_constant=_no_constant)
    except UnicodeDecodeError as broken:
        raise RequestError(
            f"byte {broken.start} is not UTF-8 text", mend="Save the file as UTF-8", where=name
        ) from None
    except json.JSONDecodeError as broken:
        raise RequestError(
            f"line {broken.lineno} is not JSON", because=broken.msg, where=name
        ) from None
    except RequestError as refused:
        raise refused.at(name) from None
    except (RecursionError, ValueError):
        raise RequestError(
            "the file is nested too deeply or has endless numbers", where=name
        ) from None


def _no_constant(word: str) -> float:
    raise RequestError(f"the number {word}", mend="Give finite numbers")


@dataclass(frozen=True, slots=True)
class _Fields:
    """The fields of one JSON object, and where it stands."""

    found: Any
    place: str

    def __post_init__(self) -> None:
        if not isinstance(self.found, dict):
            raise RequestError("no object with fields", mend="Write {...}", where=self.place)

    def at(self, key: str) -> str:
        return f"{self.place}, {key}"

    def raw(self, key: str) -> Any:
        if key not in self.found:
            raise RequestError(f"{key} is missing", where=self.place)
        return self.found[key]

    def has(self, key: str) -> bool:
        """Whether a field is there and not null."""
        return self.found.get(key) is not None

    def text(self, key: str) -> str:
        value = self.raw(key)
        if not isinstance(value, (str, int)) or isinstance(value, bool) or len(str(value)) > 200:
            raise RequestError(f"{str(value)[:80]!r} is no name", where=self.at(key))
        return str(value)

    def number(self, key: str, *, low: float, default: float | None = None) -> float:
        if default is not None and not self.has(key):
            return default
        value = _finite(self.raw(key), self.at(key))
        if not low <= value <= LARGEST:
            raise RequestError(
                f"{value:g}", because=f"it must be {low:g} to {LARGEST:g}", where=self.at(key)
            )
        return value

    def count(self, key: str, *, low: int, high: int, default: int | None = None) -> int:
        if default is not None and not self.has(key):
            return default
        value = self.raw(key)
        if isinstance(value, float) and value.is_integer():
            value = int(value)
        if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            raise RequestError(
                f"{str(value)[:80]}",
                because=f"it must be a whole number from {low} to {high}",
                where=self.at(key),
            )
        return value

    def flag(self, key: str) -> bool:
        value = self.found.get(key, False)
        if not isinstance(value, bool):
            raise RequestError(f"{str(value)[:80]}", mend="Write true or false", where=self.at(key))
        return value

    def objects(self, key: str, most: int, *, needed: bool = False) -> "list[_Fields]":
        value = self.found.get(key) or []
        if not isinstance(value, list) or len(value) > most or (needed and not value):
            raise RequestError(
                f"no list of 1 to {most}" if needed else f"no list of at most {most}",
                where=self.at(key),
            )
        return [_Fields(one, f"{self.at(key)}[{n}]") for n, one in enumerate(value)]

    def corners(self, key: str) -> Corners:
        return _corners(self.raw(key), self.at(key))

    def rings(self, key: str) -> tuple[Corners, ...]:
        value = self.found.get(key) or []
        if not isinstance(value, list) or len(value) > MOST_CORNERS:
            raise RequestError("no list of outlines", where=self.at(key))
        return tuple(_corners(one, f"{self.at(key)}[{n}]") for n, one in enumerate(value))


def _finite(value: Any, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise RequestError(f"{str(value)[:80]!r} is no number", where=where)
    number = float(value) if abs(value) < 1e300 else math.inf
    if not math.isfinite(number):
        raise RequestError("an endless number", mend="Give finite numbers", where=where)
    return number


def _corners(value: Any, where: str) -> Corners:
    if not isinstance(value, list) or not 3 <= len(value) <= MOST_CORNERS:
        raise RequestError(
            "no outline", because=f"it must be a list of 3 to {MOST_CORNERS} corners", where=where
        )
    corners: list[tuple[float, float]] = []
    for n, one in enumerate(value):
        if not isinstance(one, list) or len(one) != 2:
            raise RequestError(f"{str(one)[:80]} is no corner", mend="Write [x, y]", where=where)
        x, y = (_finite(v, f"{where}[{n}]") for v in one)
        if max(abs(x), abs(y)) > LARGEST:
            raise RequestError(f"corner {n} lies beyond {LARGEST:g}", where=where)
        if (x, y) not in corners[-1:]:
            corners.append((x, y))
    return tuple(corners[:-1] if corners[0] == corners[-1] else corners)


# -- the four kinds of problem ------------------------------------------------------------------


def _strip(top: _Fields, goal: Goal) -> Problem:
    height = top.number("strip_height", low=1e-6)
    pieces = _pieces(top, "demand")
    area = sum(_area(piece) * piece.count for piece in pieces)
    longest = max(math.dist(a, b) for p in pieces for a in p.outline for b in p.outline)
    end = 2.0 * area / height + 2.0 * longest  # more than pieces laid at random leave to spare
    outline = ((0.0, 0.0), (end, 0.0), (end, height), (0.0, height))
    return Problem(
        goal=goal,
        hides=(Hide(name="0", outline=outline),),
        pieces=pieces,
        spacing_mm=top.number("spacing", low=0.0, default=0.0),
    )


def _area(piece: Cutting) -> float:
    corners = piece.outline
    turned = zip(corners, corners[1:] + corners[:1], strict=True)
    return abs(math.fsum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in turned)) / 2.0


def _hide(top: _Fields, goal: Goal) -> Problem:
    return _one_hide(top, goal, "per_set", "batch_sets")


def _sheet(top: _Fields, goal: Goal) -> Problem:
    return _one_hide(top, goal, "quantity", "")


def _one_hide(top: _Fields, goal: Goal, counted: str, batch: str) -> Problem:
    if goal == "length" and batch and not top.has(batch):
        raise RequestError(
            "least length of how many sets",
            mend=f"Give {batch}, or ask for the goal sets",
            where=top.at(batch),
        )
    return Problem(
        goal=goal,
        hides=(_hide_of(top, "0"),),
        pieces=_pieces(top, counted),
        sets=top.count(batch, low=1, high=MOST_COPIES) if goal == "length" and batch else 1,
        spacing_mm=top.number("spacing", low=0.0, default=0.0),
        edge_margin_mm=top.number("edge_margin", low=0.0, default=0.0),
    )


def _hide_of(top: _Fields, name: str) -> Hide:
    areas = tuple(
        GradeArea(
            grade=zone.count("grade", low=BEST_GRADE, high=WORST_GRADE),
            outline=part.corners("outline"),
            holes=part.rings("holes"),
        )
        for zone in top.objects("zones", MOST_PIECES)
        for part in zone.objects("parts", MOST_PIECES, needed=True)
    )
    flaws = tuple(
        Flaw(
            kind=flaw.text("kind") if flaw.has("kind") else "flaw",
            severity=flaw.count("severity", low=WORST, high=WORST_GRADE),
            outline=flaw.corners("outline"),
        )
        for flaw in top.objects("flaws", MOST_CORNERS)
    )
    return Hide(
        name=name,
        outline=top.corners("outline"),
        holes=top.rings("holes"),
        areas=areas,
        flaws=flaws,
    )


def _hides(top: _Fields, goal: Goal) -> Problem:
    hides = []
    for one in top.objects("bins", MOST_HIDES, needed=True):
        name = one.text("id")
        hide = Hide(
            name=name,
            outline=one.corners("outline"),
            holes=one.rings("holes"),
            flaws=tuple(
                Flaw(
                    kind="zone",
                    severity=zone.count("quality", low=0, high=ALL_FLAWS - 1),
                    outline=zone.corners("outline"),
                )
                for zone in one.objects("zones", MOST_CORNERS)
            ),
        )
        hides += [hide] * one.count("stock", low=1, high=MOST_HIDES, default=1)
    if len(hides) > MOST_HIDES:
        raise RequestError(f"{len(hides)} hides", because=f"there are at most {MOST_HIDES}")
    return Problem(
        goal=goal,
        hides=tuple(hides),
        pieces=_pieces(top, "demand", by_quality=True),
        spacing_mm=top.number("spacing", low=0.0, default=0.0),
        edge_margin_mm=top.number("edge_margin", low=0.0, default=0.0),
    )


def _pieces(top: _Fields, counted: str, *, by_quality: bool = False) -> tuple[Cutting, ...]:
    pieces = tuple(
        _piece(item, counted, by_quality=by_quality)
        for item in top.objects("items", MOST_PIECES, needed=True)
    )
    _unique([piece.name for piece in pieces], top.at("items"))
    copies = sum(piece.count for piece in pieces)
    if copies > MOST_COPIES:
        raise RequestError(
            f"{copies} pieces",
            because=f"one search lays at most {MOST_COPIES}",
            where=top.at("items"),
        )
    return pieces


def _piece(item: _Fields, counted: str, *, by_quality: bool) -> Cutting:
    grade = item.count("grade", low=BEST_GRADE, high=WORST_GRADE, default=BEST_GRADE)
    clear_of = WORST_GRADE + 1 - grade  # severity 1 mars every grade, 3 only the best
    if by_quality:
        least = item.count("min_quality", low=0, high=ALL_FLAWS, default=ALL_FLAWS)
        clear_of = least - 1
    return Cutting(
        name=item.text("id"),
        outline=item.corners("outline"),
        holes=item.rings("holes"),
        count=item.count(counted, low=1, high=MOST_COPIES),
        rotations_deg=_rotations(item),
        may_mirror=item.flag("mirrored"),
        grade=grade,
        clear_of=clear_of,
    )


def _rotations(item: _Fields) -> tuple[float, ...] | None:
    value = item.raw("rotations")
    if value is None:
        return None
    where = item.at("rotations")
    if not isinstance(value, list) or not 1 <= len(value) <= 360:
        raise RequestError(
            "no rotations", mend="Give 1 to 360 angles, or null for any", where=where
        )
    return tuple(dict.fromkeys(_finite(angle, where) % 360.0 for angle in value))


def _unique(names: Sequence[str], where: str) -> None:
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise RequestError(f"two pieces are called {twice[0]!r}", where=where)


READERS: dict[str, Callable[[_Fields, Goal], Problem]] = {
    "strip": _strip,
    "hide": _hide,
    "sheet": _sheet,
    "hide-bins": _hides,
}
#: The goals of each kind, the usual one first.
GOALS: dict[str, tuple[Goal, ...]] = {
    "strip": ("length",),
    "hide": ("sets", "length"),
    "sheet": ("length", "sets"),
    "hide-bins": ("hides",),
}
