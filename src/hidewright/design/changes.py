"""The maker's changes laid over what a kind constructs, found by names and never by indices."""

from dataclasses import fields, replace
from typing import Any, Literal, get_args, get_origin, get_type_hints

from hidewright.design.design import Design
from hidewright.design.measure import file_name
from hidewright.design.specification import Change
from hidewright.errors import Remark, RequestError
from hidewright.units.quantity import Quantity, parse

#: Fields that make a place what it is; a change of them would lose the place.
_FIXED = ("name", "piece", "outline")


def with_changes(design: Design, changes: tuple[Change, ...]) -> tuple[Design, tuple[Remark, ...]]:
    """Return a design with changes laid over it, in order.

    A place is ``piece/NAME``, ``zone/PIECE/NAME``, ``seam/NAME`` or ``blank/NAME``; a field is a
    plain measure, count, choice or yes/no of the noun there.

    Returns:
        The design, and a remark for each change whose place is not there any more.

    Raises:
        RequestError: For a field that is not there or a value that cannot be read.
    """
    remarks: list[Remark] = []
    for number, change in enumerate(changes, start=1):
        try:
            design = _with(design, change)
        except KeyError:
            remarks.append(
                Remark(
                    code="change-without-place",
                    severity="warning",
                    place=change.place,
                    sentence=(
                        f"The change of {change.field} to {change.value} is not made: there is no "
                        f"{change.place!r} in this design."
                    ),
                )
            )
        except RequestError as refused:
            raise refused.at(f"changes.{number}") from None
    return design, tuple(remarks)


def _with(design: Design, change: Change) -> Design:
    sort, _, name = change.place.partition("/")
    if sort == "zone":
        piece_name, _, zone_name = name.partition("/")
        piece = {p.name: p for p in design.pieces}[piece_name]
        zones = _replaced(piece.zones, zone_name, change)
        pieces = tuple(replace(p, zones=zones) if p is piece else p for p in design.pieces)
        return replace(design, pieces=pieces)
    group = {"piece": "pieces", "seam": "seams", "blank": "blanks"}.get(sort)
    if group is None:
        raise RequestError(
            f"the place {change.place!r}",
            mend="A place is piece/NAME, zone/PIECE/NAME, seam/NAME or blank/NAME",
        )
    rows: Any = _replaced(getattr(design, group), name, change)
    return replace(design, **{group: rows})


def _replaced(nouns: tuple[Any, ...], name: str, change: Change) -> tuple[Any, ...]:
    if name not in [n.name for n in nouns]:
        raise KeyError(name)
    return tuple(_changed(n, change) if n.name == name else n for n in nouns)


def _changed(noun: Any, change: Change) -> Any:
    hints = get_type_hints(type(noun))
    open_fields = {
        file_name(f.name): f.name
        for f in fields(noun)
        if f.name not in _FIXED and _quantity(f.name, hints[f.name]) is not None
    }
    if change.field not in open_fields:
        raise RequestError(
            f"{change.place} has no field {change.field!r} that can be changed",
            mend=f"Its fields: {', '.join(open_fields)}",
        )
    field = open_fields[change.field]
    return replace(noun, **{field: _read(field, hints[field], change.value)})


def _quantity(field: str, hint: object) -> Quantity | Literal["choice", "switch"] | None:
    if hint is bool:
        return "switch"
    if hint is int:
        return "count"
    if get_origin(hint) is Literal:
        return "choice"
    if hint is float or (float in get_args(hint) and type(None) in get_args(hint)):
        return "length" if field.endswith("_mm") else "angle"
    return None


def _read(field: str, hint: object, text: str) -> object:
    quantity = _quantity(field, hint)
    if quantity == "switch":
        if text not in ("true", "false"):
            raise RequestError(f"{file_name(field)} is {text!r}", mend="Write true or false")
        return text == "true"
    if quantity == "choice":
        if text not in get_args(hint):
            raise RequestError(
                f"{file_name(field)} is {text!r}",
                mend=f"Choose one of: {', '.join(get_args(hint))}",
            )
        return text
    if quantity is None:
        raise TypeError(f"{field} of type {hint} cannot be changed")
    return parse(quantity, text)
