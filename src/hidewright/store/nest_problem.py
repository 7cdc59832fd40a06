"""A nesting problem out of a JSON file.

Its ``problem`` names its kind; every item has ``id``, ``rotations`` (degrees, or null for any),
``outline``, ``holes`` and, where its other face may be up, ``mirrored``:

    strip      strip_height; items: demand
    hide       outline, zones (grade, parts), flaws (kind, severity), spacing, edge_margin,
               batch_sets; items: per_set, grade
    sheet      outline, spacing, edge_margin; items: quantity
    hide-bins  bins (id, stock, outline, holes, zones of a quality); items: demand, min_quality
"""

import math
from collections.abc import Callable, Sequence
from typing import get_args

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Flaw, GradeArea, Hide, area_of
from hidewright.errors import RequestError
from hidewright.nesting.problem import Goal, Problem
from hidewright.store.json_fields import MOST_CORNERS, Fields, finite, parsed

MOST_PIECES, MOST_COPIES, MOST_HIDES = 500, 3000, 200


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
    top = Fields(parsed(data, name, "a nesting problem"), name)
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


# -- the four kinds of problem ------------------------------------------------------------------


def _strip(top: Fields, goal: Goal) -> Problem:
    height = top.number("strip_height", low=1e-6)
    pieces = _pieces(top, "demand")
    area = sum(area_of(piece.outline) * piece.count for piece in pieces)
    longest = max(math.dist(a, b) for p in pieces for a in p.outline for b in p.outline)
    end = 2.0 * area / height + 2.0 * longest  # more than pieces laid at random leave to spare
    outline = ((0.0, 0.0), (end, 0.0), (end, height), (0.0, height))
    return Problem(
        goal=goal,
        hides=(Hide(name="0", outline=outline),),
        pieces=pieces,
        spacing_mm=top.number("spacing", low=0.0, default=0.0),
    )


def _hide(top: Fields, goal: Goal) -> Problem:
    return _one_hide(top, goal, "per_set", "batch_sets")


def _sheet(top: Fields, goal: Goal) -> Problem:
    return _one_hide(top, goal, "quantity", "")


def _one_hide(top: Fields, goal: Goal, counted: str, batch: str) -> Problem:
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


def _hide_of(top: Fields, name: str) -> Hide:
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


def _hides(top: Fields, goal: Goal) -> Problem:
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


def _pieces(top: Fields, counted: str, *, by_quality: bool = False) -> tuple[Cutting, ...]:
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


def _piece(item: Fields, counted: str, *, by_quality: bool) -> Cutting:
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


def _rotations(item: Fields) -> tuple[float, ...] | None:
    value = item.raw("rotations")
    if value is None:
        return None
    where = item.at("rotations")
    if not isinstance(value, list) or not 1 <= len(value) <= 360:
        raise RequestError(
            "no rotations", mend="Give 1 to 360 angles, or null for any", where=where
        )
    return tuple(dict.fromkeys(finite(angle, where) % 360.0 for angle in value))


def _unique(names: Sequence[str], where: str) -> None:
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise RequestError(f"two pieces are called {twice[0]!r}", where=where)


READERS: dict[str, Callable[[Fields, Goal], Problem]] = {
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
