"""One edit of a specification: a field as the design file names it, and its value as a text."""

from collections.abc import Callable, Sequence
from dataclasses import Field, fields, replace
from typing import Any, Literal, TypeVar, get_args, get_origin, get_type_hints

from hidewright.catalogue.rows import Row, RowT
from hidewright.catalogue.shelf import Catalogue, find
from hidewright.catalogue.things import Thing
from hidewright.design.carried import Carried
from hidewright.design.changes import with_changes
from hidewright.design.kinds.registry import kind_named
from hidewright.design.measure import check_limits, file_name
from hidewright.design.specification import Change, Specification
from hidewright.errors import Remedy, RequestError
from hidewright.units.quantity import parse

T = TypeVar("T")
Spec = Specification[Any]
#: A name longer than this is refused.
LONGEST_NAME = 80


def edited(spec: Spec, field: str, text: str, shelf: Catalogue) -> Spec:
    """Return a specification with one field changed.

    Args:
        spec: What is edited.
        field: Dotted, as in the design file: ``name``, ``thread``, ``measures.depth``,
            ``tooling.dowel``, ``sewing.mark``, ``leathers.body``, ``leathers.body.thickness``,
            ``fittings.stud``, ``carried.1.count``; a number counts rows from 1, and members of a
            free design go by name, such as ``measures.pieces.front.zones.hollow.depth``. A change
            laid over the design is ``changes.PLACE.FIELD``; an empty value takes it back.
        text: The value with its unit; a row of the catalogue by its name.
        shelf: Where rows are taken from.

    Raises:
        RequestError: Names the field, what is wrong with the value and what is accepted.
    """
    section, _, rest = field.partition(".")
    try:
        changed = _edited(spec, section, rest, text, shelf)
    except RequestError as refused:
        raise refused.at(field) from None
    if changed is None:
        raise RequestError(f"no field is called {field!r}", where=field)
    return changed


def with_remedy(spec: Spec, remedy: Remedy, shelf: Catalogue) -> Spec:
    """Return a specification with a remedy's changes made.

    Raises:
        RequestError: When a field does not take its value.
    """
    for field, value in ((remedy.field, remedy.value), *remedy.also):
        spec = edited(spec, field, value, shelf)
    return spec


def with_thing(spec: Spec, thing: Thing) -> Spec:
    """Return a specification that carries one more kind of thing."""
    arrangement = kind_named(spec.brief.kind).arrangement
    carried = (*spec.brief.carried, Carried(thing=thing, arrangement=arrangement))
    return replace(spec, brief=replace(spec.brief, carried=carried))


def without_thing(spec: Spec, number: int) -> Spec:
    """Return a specification without one of what it carries, counted from 1."""
    carried = spec.brief.carried
    _must_be_one_of(number, carried)
    left = carried[: number - 1] + carried[number:]
    return replace(spec, brief=replace(spec.brief, carried=left))


def sized_to_carry(spec: Spec) -> Spec:
    """Return a specification whose hollow is sized for what it carries.

    Raises:
        RequestError: When no hollow of the kind holds it.
    """
    brief = spec.brief
    measures = kind_named(brief.kind).sized_for(brief.measures, brief.carried)
    return replace(spec, brief=replace(brief, measures=measures))


def _edited(spec: Spec, section: str, rest: str, text: str, shelf: Catalogue) -> Spec | None:
    brief = spec.brief
    match section:
        case "name":
            return replace(spec, brief=replace(brief, name=_name(text)))
        case "thread":
            return replace(spec, brief=replace(brief, thread=find(shelf.threads, text)))
        case "measures":
            measures = _with(brief.measures, rest, text)
            check_limits(measures, "measures")
            return replace(spec, brief=replace(brief, measures=measures))
        case "changes":
            place, _, own = rest.rpartition(".")
            return _with_change(spec, place, own, text)
        case "tooling" if rest in ("mould_board", "template_board"):
            board: dict[str, Any] = {rest: find(shelf.boards, text)}
            return replace(spec, tooling=replace(spec.tooling, **board))
        case "tooling":
            return replace(spec, tooling=_with(spec.tooling, rest, text))
        case "sewing":
            return replace(spec, sewing=_with(spec.sewing, rest, text))
        case "leathers":
            role, _, own = rest.partition(".")
            rows = _with_row(brief.leathers, role, lambda row: _leather(row, own, text, shelf))
            return replace(spec, brief=replace(brief, leathers=rows))
        case "fittings":
            fittings = _with_row(brief.fittings, rest, lambda _: find(shelf.fittings, text))
            return replace(spec, brief=replace(brief, fittings=fittings))
        case "magnets":
            magnets = _with_row(brief.magnets, rest, lambda _: find(shelf.magnets, text))
            return replace(spec, brief=replace(brief, magnets=magnets))
        case "carried":
            number, _, own = rest.partition(".")
            return replace(
                spec,
                brief=replace(brief, carried=_carried(brief.carried, number, own, text, shelf)),
            )
    return None


def _with_change(spec: Spec, place: str, field: str, text: str) -> Spec:
    """Return a specification with a change laid over it, in the stead of one of the same field."""
    others = tuple(c for c in spec.changes if (c.place, c.field) != (place, field))
    value = text.strip()
    own = (Change(place=place, field=field, value=value),) if value else ()
    with_changes(kind_named(spec.brief.kind).construct(spec.brief), own)
    return replace(spec, changes=(*others, *own))


def _name(text: str) -> str:
    name = " ".join(text.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise RequestError(
            f"the name {text[:LONGEST_NAME]!r}", mend=f"Give 1 to {LONGEST_NAME} plain letters"
        )
    return name


def _leather(row: Any, own: str, text: str, shelf: Catalogue) -> Any:
    if not own:
        return find(shelf.leathers, text)
    if own == "thickness":
        thin, thick = parse("thickness", text)
        return replace(row, thickness_min_mm=thin, thickness_max_mm=thick)
    if own in ("thickness_min_mm", "thickness_max_mm"):
        end: dict[str, Any] = {own: parse("number", text)}
        return replace(row, **end)
    raise RequestError(f"a leather has no field {own!r} to change here")


def _carried(
    carried: tuple[Carried, ...], number: str, own: str, text: str, shelf: Catalogue
) -> tuple[Carried, ...]:
    at = int(number) if number.isdecimal() else 0
    _must_be_one_of(at, carried)
    one = carried[at - 1]
    if own == "thing":
        one = replace(one, thing=find(shelf.things, text))
    elif own.startswith("thing."):
        one = replace(one, thing=_own_size(one.thing, own.removeprefix("thing."), text))
    else:
        one = _with(one, own, text)
    return (*carried[: at - 1], one, *carried[at:])


def _own_size(thing: Thing, field: str, text: str) -> Thing:
    """Return a thing with a size the maker has measured."""
    if field == "name":
        return replace(thing, name=_name(text))
    sizes = {file_name(f.name): f.name for f in fields(thing) if f.name.endswith("_mm")}
    if field not in sizes:
        raise RequestError(f"a thing has no size {field!r}", mend=f"It has: {', '.join(sizes)}")
    changes: dict[str, Any] = {sizes[field]: parse("length", text)}
    if field == "thickness":  # a standard's largest no longer holds for one that was measured
        changes["thickness_max_mm"] = 0.0
    return replace(thing, **changes)


def _must_be_one_of(number: int, carried: Sequence[Carried]) -> None:
    if not 1 <= number <= len(carried):
        raise RequestError(
            f"the article carries no thing number {number}",
            because=f"it carries {len(carried)}",
        )


def _with_row(
    rows: tuple[tuple[str, RowT], ...], role: str, change: Callable[[RowT], Row]
) -> tuple[tuple[str, Any], ...]:
    if role not in [known for known, _ in rows]:
        raise RequestError(
            f"the design has no {role!r}", mend=f"It has: {', '.join(r for r, _ in rows)}"
        )
    return tuple((known, change(row) if known == role else row) for known, row in rows)


def _with(noun: T, path: str, text: str) -> T:
    """Return a noun with a declared field, or a field of a named member, read from a text."""
    first, _, rest = path.partition(".")
    by_name = {file_name(f.name): f for f in fields(noun)}  # type: ignore[arg-type]
    if first not in by_name:
        raise RequestError(f"no field is called {first!r}")
    one = by_name[first]
    if rest:
        name, _, own = rest.partition(".")
        members = getattr(noun, one.name)
        if not isinstance(members, tuple):
            raise RequestError(f"{first} has no members")
        if name not in [getattr(m, "name", None) for m in members] or not own:
            raise RequestError(f"{first} has no member {name!r}")
        held = tuple(_with(m, own, text) if m.name == name else m for m in members)
        return replace(noun, **{one.name: held})  # type: ignore[type-var]
    return replace(noun, **{one.name: _value(noun, one, text)})  # type: ignore[type-var]


def _value(noun: object, one: Field[Any], text: str) -> object:
    hint = get_type_hints(type(noun))[one.name]
    if "quantity" in one.metadata:
        return parse(one.metadata["quantity"], text)
    if "each" in one.metadata:
        parts = (part.strip() for part in text.split(","))
        return tuple(parse(one.metadata["each"], part) for part in parts if part)
    if hint is bool:
        if text not in ("true", "false"):
            raise RequestError(f"{file_name(one.name)} is {text!r}", mend="Choose yes or no")
        return text == "true"
    if get_origin(hint) is Literal:
        if text not in get_args(hint):
            raise RequestError(
                f"{file_name(one.name)} is {text!r}",
                mend=f"Choose one of: {', '.join(get_args(hint))}",
            )
        return text
    raise RequestError(f"{file_name(one.name)} cannot be changed here")
