"""The fields of a specification as a maker meets them: by stage of the work, unit and range."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields
from functools import cache
from typing import Any, Literal, get_args, get_origin, get_type_hints

from hidewright.catalogue.rows import Row
from hidewright.catalogue.shelf import Catalogue
from hidewright.design.carried import Carried
from hidewright.design.kinds.free_measures import FreeMeasures
from hidewright.design.measure import file_name
from hidewright.design.specification import Change, Specification
from hidewright.units.quantity import Quantity
from hidewright.units.quantity import format as written

Unit = Literal["mm", "in"]
Stage = Literal["carry", "shape", "leather", "tooling", "seams"]
Sort = Literal["measure", "choice", "switch", "words"]

#: Measures of a kind that belong to sewing, and to blank and mould; the others are its shape.
SEWN = ("inset", "pitch", "reverse_stitches")
MOULDED = ("margin", "mouth_waste", "held", "glue")
#: A slider runs from this share of the value to this many times it, within the limits.
LEAST, MOST = 0.4, 2.0
#: A slider of something that may be nothing runs at least this far, mm.
FROM_NOTHING_MM = 10.0
MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True, kw_only=True)
class FormField:
    """One field to be changed.

    Attributes:
        path: As ``edit.edited`` takes it.
        label: A few words.
        says: One sentence on what it is.
        sort: How it is changed.
        text: Its value as written, with its unit.
        value: Its number in ``unit``, where it has a slider.
        low, high, step: Range of that slider.
        unit: Unit of the slider's number, written after it.
        options: (value, label) of what may be chosen.
    """

    path: str
    label: str
    says: str = ""
    sort: Sort
    text: str
    value: float | None = None
    low: float = 0.0
    high: float = 0.0
    step: float = 0.0
    unit: str = ""
    options: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FormGroup:
    """Fields that belong together, under a title."""

    title: str
    fields: tuple[FormField, ...]


def form_of(
    spec: Specification[Any], stage: Stage, shelf: Catalogue, unit: Unit
) -> tuple[FormGroup, ...]:
    """Return the fields of one stage of the work, in groups.

    Args:
        spec: What is edited.
        stage: Which part of the work.
        shelf: What may be chosen from.
        unit: Unit that lengths are shown in; thicknesses of leather follow it (mm or oz).
    """
    brief = spec.brief
    match stage:
        case "carry":
            groups = [
                _thing_group(number, one, shelf, unit)
                for number, one in enumerate(brief.carried, start=1)
            ]
        case "shape":
            name = FormField(path="name", label="name", sort="words", text=brief.name)
            groups = [
                FormGroup(title="Article", fields=(name,)),
                *_measure_groups(brief.measures, unit, lambda n: n not in (*SEWN, *MOULDED)),
                _rows_group("Fittings", "fittings", brief.fittings, shelf.fittings),
                _rows_group("Magnets", "magnets", brief.magnets, shelf.magnets),
            ]
        case "leather":
            groups = [
                FormGroup(title=_label(role), fields=tuple(_leather_fields(role, row, shelf, unit)))
                for role, row in brief.leathers
            ]
        case "tooling":
            boards = tuple(
                _row_field(f"tooling.{key}", _label(key), getattr(spec.tooling, key), shelf.boards)
                for key in ("mould_board", "template_board")
            )
            groups = [
                FormGroup(title="Boards", fields=boards),
                FormGroup(title="Moulds", fields=tuple(_declared(spec.tooling, "tooling", unit))),
                *_measure_groups(brief.measures, unit, lambda n: n in MOULDED),
                FormGroup(title="Changes laid over it", fields=_changed(spec.changes)),
            ]
        case "seams":
            thread = _row_field("thread", "thread", brief.thread, shelf.threads)
            groups = [
                *_measure_groups(brief.measures, unit, lambda n: n in SEWN),
                FormGroup(
                    title="Thread and holes",
                    fields=(thread, *_declared(spec.sewing, "sewing", unit)),
                ),
            ]
    return tuple(group for group in groups if group.fields)


def _changed(changes: Sequence[Change]) -> tuple[FormField, ...]:
    return tuple(
        FormField(
            path=f"changes.{one.place}.{one.field}",
            label=f"{one.place.partition('/')[2]}: {_label(one.field)}",
            says="leave it empty to take the change back",
            sort="words",
            text=one.value,
        )
        for one in changes
    )


def _measure_groups(measures: object, unit: Unit, wanted: Any) -> list[FormGroup]:
    if isinstance(measures, FreeMeasures):
        return _free_groups(measures, unit, wanted)
    found = [f for f in _declared(measures, "measures", unit) if wanted(f.path.split(".")[-1])]
    return [FormGroup(title="Measures", fields=tuple(found))]


def _free_groups(measures: FreeMeasures, unit: Unit, wanted: Any) -> list[FormGroup]:
    groups: list[FormGroup] = []

    def add(noun: Any, title: str, path: str) -> None:
        found = [f for f in _declared(noun, path, unit) if wanted(f.path.split(".")[-1])]
        groups.append(FormGroup(title=title, fields=tuple(found)))

    for piece in measures.pieces:
        path = f"measures.pieces.{piece.name}"
        add(piece, piece.name, path)
        for zone in piece.zones:
            add(zone, f"{piece.name}: {zone.name}", f"{path}.zones.{zone.name}")
            for one in zone.islands:
                own = f"{path}.zones.{zone.name}.islands.{one.name}"
                add(one, f"{piece.name}: {one.name} in {zone.name}", own)
        for hole in piece.holes:
            add(hole, f"{piece.name}: hole for {hole.name}", f"{path}.holes.{hole.name}")
        for fold in piece.folds:
            add(fold, f"{piece.name}: fold {fold.name}", f"{path}.folds.{fold.name}")
    for seam in measures.seams:
        add(seam, f"Seam {seam.name}", f"measures.seams.{seam.name}")
    for blank in measures.blanks:
        add(blank, f"Blank {blank.name}", f"measures.blanks.{blank.name}")
    return groups


def _thing_group(number: int, one: Carried, shelf: Catalogue, unit: Unit) -> FormGroup:
    path = f"carried.{number}"
    thing = one.thing
    things = [row for row in shelf.things if row.name != thing.name]
    sizes = [
        _measured(f"{path}.thing.{file_name(f.name)}", "length", getattr(thing, f.name), unit)
        for f in fields(thing)
        if f.name.endswith("_mm") and f.name != "thickness_max_mm" and getattr(thing, f.name) > 0
    ]
    return FormGroup(
        title=f"{thing.name} x {one.count}",
        fields=(
            _row_field(f"{path}.thing", "thing", thing, [thing, *things]),
            *_declared(one, path, unit),
            *sizes,
        ),
    )


def _leather_fields(role: str, row: Any, shelf: Catalogue, unit: Unit) -> Iterator[FormField]:
    yield _row_field(f"leathers.{role}", "leather", row, shelf.leathers)
    thickness = (row.thickness_min_mm, row.thickness_max_mm)
    yield FormField(
        path=f"leathers.{role}.thickness",
        label="thickness",
        says="as measured on your leather, such as 1.5-1.7 mm or 4 oz",
        sort="words",
        text=written("thickness", thickness, unit="oz" if unit == "in" else None),
    )


def _rows_group(
    title: str, section: str, rows: Sequence[tuple[str, Any]], known: Sequence[Row]
) -> FormGroup:
    found = [_row_field(f"{section}.{role}", role, row, known) for role, row in rows]
    return FormGroup(title=title, fields=tuple(found))


def _row_field(path: str, label: str, row: Any, known: Sequence[Row]) -> FormField:
    names = dict.fromkeys([row.name, *(one.name for one in known)])
    return FormField(
        path=path,
        label=label,
        says=row.source,
        sort="choice",
        text=row.name,
        options=tuple((name, name) for name in names),
    )


def _declared(noun: Any, section: str, unit: Unit) -> Iterator[FormField]:
    """Yield every field of a noun that is a plain measure, choice or yes/no."""
    hints = _hints(type(noun))  # type: ignore[arg-type]
    for one in fields(noun):
        name, about, value = file_name(one.name), one.metadata, getattr(noun, one.name)
        path, says = f"{section}.{name}", str(about.get("says", ""))
        if isinstance(value, bool):
            yield FormField(
                path=path,
                label=_label(name),
                says=says,
                sort="switch",
                text="true" if value else "false",
            )
        elif get_origin(hints[one.name]) is Literal:
            yield FormField(
                path=path,
                label=_label(name),
                says=says,
                sort="choice",
                text=value,
                options=tuple((word, word) for word in get_args(hints[one.name])),
            )
        elif "each" in about:
            yield FormField(
                path=path,
                label=_label(name),
                says=f"{says}; separate several by commas, leave it empty for none",
                sort="words",
                text=_listed(about["each"], value, unit),
            )
        elif "quantity" in about:
            yield _measured(
                path, about["quantity"], value, unit, says, (about["low"], about["high"])
            )


def _listed(quantity: Quantity, values: Sequence[float], unit: Unit) -> str:
    inches = unit == "in" and quantity in ("length", "position")
    return ", ".join(written(quantity, one, unit="in" if inches else None) for one in values)


@cache
def _hints(noun: type[Any]) -> dict[str, Any]:
    return get_type_hints(noun)


def _measured(
    path: str,
    quantity: Quantity,
    value: float,
    unit: Unit,
    says: str = "",
    limits: tuple[float | None, float | None] = (None, None),
) -> FormField:
    inches = unit == "in" and quantity in ("length", "position")
    shown_unit, per, step = _shown(quantity, inches)
    low, high = _range(quantity, value, *limits)
    return FormField(
        path=path,
        label=_label(path.split(".")[-1]),
        says=says,
        sort="measure",
        text=written(quantity, value, unit="in" if inches else None),
        value=round(value / per, 6),
        low=_within(low / per, math.ceil),
        high=_within(high / per, math.floor),
        step=step,
        unit=shown_unit,
    )


def _within(end: float, towards: Callable[[float], int]) -> float:
    """Return an end of a slider to four decimals, as it sends them, not beyond the limit."""
    return towards(round(end * 1e4, 4)) / 1e4


def _shown(quantity: Quantity, inches: bool) -> tuple[str, float, float]:
    """Return (unit, inside units in one of it, step of the slider)."""
    match quantity:
        case "length" | "position":
            return ("in", MM_PER_INCH, 1 / 64) if inches else ("mm", 1.0, 0.1)
        case "angle":
            return "deg", 0.017453292519943295, 1.0
        case "force":
            return "N", 1.0, 100.0
        case "count":
            return "", 1.0, 1.0
        case _:
            return "", 1.0, 0.01


def _range(
    quantity: Quantity, value: float, low: float | None, high: float | None
) -> tuple[float, float]:
    """Return a slider's range: round the value, within the limits that are declared."""
    if quantity == "count":
        least, most = 0.0, max(10.0, MOST * value)
    elif quantity == "position":
        least, most = value - FROM_NOTHING_MM, value + FROM_NOTHING_MM
    else:
        least, most = LEAST * value, MOST * value
    if quantity != "position" and (value == 0.0 or low == 0.0):
        least, most = 0.0, max(most, FROM_NOTHING_MM if quantity == "length" else 1.0)
    if low is not None:
        least = max(least, low)
    if high is not None:
        most = min(most, high)
    return min(least, value), max(most, value)


def _label(name: str) -> str:
    return name.replace("_", " ")
