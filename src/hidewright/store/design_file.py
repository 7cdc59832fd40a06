"""A design file to a specification and back: YAML, format 1, with every measure written out."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any

import yaml

from hidewright.catalogue.boards import Board
from hidewright.catalogue.fittings import Fitting
from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.magnets import Magnet
from hidewright.catalogue.rows import RowT
from hidewright.catalogue.things import Thing
from hidewright.catalogue.threads import Thread
from hidewright.design.carried import Carried
from hidewright.design.choices import SewingChoice, ToolingChoice
from hidewright.design.kinds.free_measures import FreeMeasures
from hidewright.design.kinds.registry import kind_named
from hidewright.design.specification import Brief, Change, Kind, Specification
from hidewright.errors import RequestError
from hidewright.store.fields import (
    Place,
    entries,
    items,
    noun_from_node,
    root_of,
    row_from_node,
    word,
)
from hidewright.store.free_fields import free_measures_from_node
from hidewright.units.length import LengthUnit
from hidewright.units.number import ACCEPTED
from hidewright.units.written import Written

#: The format that is written; older ones are migrated, newer ones refused.
FORMAT = 1
#: A design file is a few pages; what is larger is not read.
LARGEST_BYTES = 1_000_000
#: Lengths as they are inside, in words.
_LIMITS = re.compile(r"-?[\d.]+ mm(?: to -?[\d.]+ mm)?")
#: Words quoted from a file; an apostrophe within a word is none of their marks.
_QUOTED = re.compile(r"""(?<!\w)('(?:[^'\\]|\\.)*'|"(?:[^"\\]|\\.)*")(?!\w)""")
#: The unit behind a length, or of the coordinates of outlines.
_UNIT = re.compile(r"(?:^|\d\s*)(?:(?P<inch>in|inch|inches|\"|″)|mm|cm|m)$")

SECTIONS = (
    "format",
    "kind",
    "name",
    "carried",
    "measures",
    "leathers",
    "thread",
    "fittings",
    "magnets",
    "tooling",
    "sewing",
    "changes",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignFile:
    """A design file as read.

    Attributes:
        name: The file's name.
        specification: What it says.
        lines: (field, line) of every field in it.
        lengths: Unit that most of its measures are written in.
        names: Of materials and things in it.
    """

    name: str
    specification: Specification[Any]
    lines: tuple[tuple[str, int], ...]
    lengths: LengthUnit = "mm"
    names: frozenset[str] = frozenset()

    def located(self, refused: RequestError) -> RequestError:
        """Return an error in the file's unit, with file and line added where it names a field.

        A field that is not written in the file is looked for where what it belongs to begins.
        """
        refused = _in_unit(refused, self.lengths, self.names)
        lines, field = dict(self.lines), refused.where
        while field and field not in lines:
            field = field.rpartition(".")[0]
        line = lines.get(field)
        if line is None:
            return refused.at(self.name)
        return RequestError(
            refused.what,
            because=refused.because,
            mend=refused.mend,
            where=f"{self.name} line {line}, {refused.where}",
        )


def read_design(data: bytes, *, name: str) -> DesignFile:
    """Return what a design file says.

    Args:
        data: The file's bytes, UTF-8.
        name: The file's name, for errors.

    Raises:
        RequestError: Names file, line, field, the wrong value and what is accepted.
    """
    root = root_of(
        data,
        name=name,
        sort="design file",
        largest_bytes=LARGEST_BYTES,
        when_empty="Write one with 'hidewright begin'",
    )
    top = entries(root, Place(file=name), known=SECTIONS)
    lengths, names = _unit_of(top.get("measures")), frozenset(_names(root))
    try:
        specification = _specification(top, root, Place(file=name))
    except RequestError as refused:
        raise _in_unit(refused, lengths, names) from None
    return DesignFile(
        name=name,
        specification=specification,
        lines=tuple(_lines(root, "")),
        lengths=lengths,
        names=names,
    )


def _specification(top: dict[str, yaml.Node], root: yaml.Node, place: Place) -> Specification[Any]:
    _check_format(top, place)
    kind_node = _needed(top, "kind", place)
    try:
        kind = kind_named(word(kind_node, place.into("kind")))
    except RequestError as unknown:
        raise unknown.at(place.into("kind").at(kind_node)) from None
    brief = Brief(
        kind=kind.name,
        name=word(_needed(top, "name", place), place.into("name")),
        carried=_list(top, "carried", place, _carried),
        measures=_measures(kind, top.get("measures"), place.into("measures"), root),
        leathers=_rows(top, "leathers", Leather, place),
        thread=row_from_node(Thread, _needed(top, "thread", place), place.into("thread")),
        fittings=_rows(top, "fittings", Fitting, place),
        magnets=_rows(top, "magnets", Magnet, place),
    )
    return Specification(
        brief=brief,
        tooling=noun_from_node(
            ToolingChoice,
            _needed(top, "tooling", place),
            place.into("tooling"),
            rows={"mould_board": Board, "template_board": Board},
        ),
        sewing=noun_from_node(SewingChoice, top.get("sewing"), place.into("sewing")),
        changes=_list(top, "changes", place, _change),
    )


def _in_unit(refused: RequestError, lengths: LengthUnit, names: frozenset[str]) -> RequestError:
    """Return an error in the unit that the file is written in.

    What would mend it is told in mm besides: an inch that was rounded may lie beyond a limit. What
    is quoted from the file, and examples of how to write a measure, stay as they are.
    """
    if lengths == "mm":
        return refused
    quoted = _QUOTED.findall(f"{refused.what} {refused.because}")
    say = partial(Written(lengths=lengths).words, names=names.union(quoted))
    limits = ", ".join(_LIMITS.findall(refused.mend))
    examples = refused.mend.startswith(ACCEPTED)
    return RequestError(
        say(refused.what),
        because=say(refused.because),
        mend=refused.mend if examples else say(refused.mend) + (f" ({limits})" if limits else ""),
        where=refused.where,
    )


def _names(node: yaml.Node) -> Iterator[str]:
    """Yield the names in a file: measures in them stay as they are."""
    if isinstance(node, yaml.MappingNode):
        for key, child in node.value:
            if key.value == "name" and isinstance(child, yaml.ScalarNode):
                yield child.value
            yield from _names(child)
    elif isinstance(node, yaml.SequenceNode):
        for child in node.value:
            yield from _names(child)


def _unit_of(measures: yaml.Node | None) -> LengthUnit:
    """Return the unit that most of the measures in a file are written in."""
    told = [_UNIT.search(value) for value in _scalars(measures)]
    inches = [found["inch"] is not None for found in told if found]
    return "in" if sum(inches) > len(inches) / 2 else "mm"


def _scalars(node: yaml.Node | None) -> Iterator[str]:
    if isinstance(node, yaml.ScalarNode):
        yield node.value
    elif isinstance(node, yaml.MappingNode):
        for _, child in node.value:
            yield from _scalars(child)
    elif isinstance(node, yaml.SequenceNode):
        for child in node.value:
            yield from _scalars(child)


def _measures(kind: Kind[Any], node: yaml.Node | None, place: Place, root: yaml.Node) -> Any:
    if kind.measures is FreeMeasures:
        return free_measures_from_node(node, place, root)
    return noun_from_node(kind.measures, node, place, owner=root)


def _lines(node: yaml.Node, path: str) -> Iterator[tuple[str, int]]:
    if isinstance(node, yaml.MappingNode):
        for key, child in node.value:
            inner = f"{path}.{key.value}" if path else str(key.value)
            yield inner, key.start_mark.line + 1
            yield from _lines(child, inner)
    elif isinstance(node, yaml.SequenceNode):
        for number, child in enumerate(node.value, start=1):
            inner = f"{path}.{number}"
            yield inner, child.start_mark.line + 1
            yield from _lines(child, inner)


def _check_format(top: dict[str, yaml.Node], place: Place) -> None:
    node = _needed(top, "format", place)
    said = word(node, place.into("format"))
    if said != str(FORMAT):
        newer = said.isdecimal() and int(said) > FORMAT
        raise RequestError(
            f"format {said}",
            because="a newer program wrote it" if newer else "there is no such format",
            mend=f"This program reads format {FORMAT}",
            where=place.into("format").at(node),
        )


def _needed(top: dict[str, yaml.Node], key: str, place: Place) -> yaml.Node:
    if key not in top:
        raise RequestError(
            f"no {key} is given",
            because="a design file must say it",
            mend="'hidewright begin KIND' writes a whole file to start from",
            where=place.file,
        )
    return top[key]


def _list(
    top: dict[str, yaml.Node], key: str, place: Place, read: Callable[[yaml.Node, Place], Any]
) -> tuple[Any, ...]:
    if key not in top:
        return ()
    inside = place.into(key)
    return tuple(
        read(node, inside.into(f"{i + 1}")) for i, node in enumerate(items(top[key], inside))
    )


def _carried(node: yaml.Node, place: Place) -> Carried:
    return noun_from_node(Carried, node, place, rows={"thing": Thing})


def _change(node: yaml.Node, place: Place) -> Change:
    got = entries(node, place, known=("place", "field", "value"))
    for key in ("place", "field", "value"):
        if key not in got:
            raise RequestError(f"a change without {key}", where=place.at(node))
    return Change(
        place=word(got["place"], place.into("place")),
        field=word(got["field"], place.into("field")),
        value=word(got["value"], place.into("value")),
    )


def _rows(
    top: dict[str, yaml.Node], key: str, noun: type[RowT], place: Place
) -> tuple[tuple[str, RowT], ...]:
    if key not in top:
        return ()
    inside = place.into(key)
    return tuple(
        (role, row_from_node(noun, node, inside.into(role)))
        for role, node in entries(top[key], inside).items()
    )
