"""Fields of a noun out of a YAML tree, each refused with its file, line, name and value."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, dataclass, fields
from typing import Any, Literal, TypeVar, get_args, get_origin, get_type_hints

import yaml

from hidewright.catalogue.rows import RowT, near, noun_from_row
from hidewright.catalogue.strict_yaml import compose_strictly, plain
from hidewright.design.measure import check_limits, file_name
from hidewright.errors import RequestError
from hidewright.units.quantity import Quantity, parse

T = TypeVar("T")
#: A field named in a sentence.
_WORD = re.compile(r"\w+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where in a file we are.

    Attributes:
        file: Name of the file.
        path: Dotted field, such as ``measures.depth``.
    """

    file: str
    path: str = ""

    def into(self, key: str) -> "Place":
        """Return the place of a field below."""
        return Place(file=self.file, path=f"{self.path}.{key}" if self.path else key)

    def at(self, node: yaml.Node) -> str:
        """Return it in words: file, line, field."""
        line = f"{self.file} line {node.start_mark.line + 1}"
        return f"{line}, {self.path}" if self.path else line


def root_of(data: bytes, *, name: str, sort: str, largest_bytes: int, when_empty: str) -> yaml.Node:
    """Return the tree of a file's bytes.

    Args:
        data: UTF-8, with or without a byte order mark.
        name: The file's name, for errors.
        sort: What such a file is called, such as ``design file``.
        largest_bytes: More than any honest one has.
        when_empty: What to do about an empty one.

    Raises:
        RequestError: When it is too long, not UTF-8, not YAML, or empty.
    """
    if len(data) > largest_bytes:
        raise RequestError(
            f"{len(data) / 1e6:.1f} MB long",
            because=f"a {sort} has at most {largest_bytes / 1e6:g} MB",
            mend=f"Check that this is a {sort}",
            where=name,
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as broken:
        raise RequestError(
            f"byte {broken.start} is not UTF-8 text", mend="Save the file as UTF-8", where=name
        ) from None
    root = compose_strictly(text, where=name)
    if root is None:
        raise RequestError("the file is empty", mend=when_empty, where=name)
    return root


def entries(
    node: yaml.Node, place: Place, *, known: Sequence[str] | None = None
) -> dict[str, yaml.Node]:
    """Return a mapping's fields; a field given twice or not known is refused."""
    if not isinstance(node, yaml.MappingNode):
        raise RequestError(
            f"{place.path or 'the file'} is not a list of fields",
            mend="Write 'field: value', one a line",
            where=place.at(node),
        )
    out: dict[str, yaml.Node] = {}
    for key_node, value in node.value:
        key = word(key_node, place)
        if key in out:
            raise RequestError(f"{key} is given twice", where=place.into(key).at(key_node))
        if known is not None and key not in known:
            raise RequestError(
                f"there is no field {key!r}",
                mend=near(key, tuple(known)),
                where=place.into(key).at(key_node),
            )
        out[key] = value
    return out


def items(node: yaml.Node, place: Place) -> list[yaml.Node]:
    """Return a list's entries."""
    if not isinstance(node, yaml.SequenceNode):
        raise RequestError(
            f"{place.path} is not a list", mend="Begin each entry with '- '", where=place.at(node)
        )
    return list(node.value)


def word(node: yaml.Node, place: Place) -> str:
    """Return a plain value as the text that was written: ``no`` is the word no, 1:30 is 1:30."""
    if not isinstance(node, yaml.ScalarNode) or not str(node.value).strip():
        raise RequestError(
            f"{place.path or 'this'} has no plain value",
            mend="Write one value after the colon",
            where=place.at(node),
        )
    return str(node.value)


def row_from_node(
    noun: type[RowT], node: yaml.Node, place: Place, *, usual: Mapping[str, object] | None = None
) -> RowT:
    """Return a row of the catalogue by value.

    Args:
        noun: What it is a row of.
        node: Its mapping.
        place: Where that is.
        usual: Fields that it need not have.

    Raises:
        RequestError: Names file, line, field and value; for a field that is missing the row's line.
    """
    row = plain(node, place.file)
    if not isinstance(row, dict) or not isinstance(node, yaml.MappingNode):
        raise RequestError(
            f"{row!r} stands for a row of the catalogue",
            because="rows are written with all their fields, not by name",
            mend="Write the fields, one a line, as a file that 'hidewright begin' wrote has them",
            where=place.at(node),
        )
    try:
        return noun_from_row(noun, {**(usual or {}), **row})
    except RequestError as refused:
        told = set(_WORD.findall(refused.what))
        named = [key for key, _ in node.value if key.value in told]
        blamed = max(named, key=lambda key: len(key.value), default=node)
        raise refused.at(place.at(blamed)) from None


def noun_from_node(
    noun: type[T],
    node: yaml.Node | None,
    place: Place,
    *,
    rows: Mapping[str, type[Any]] | None = None,
    owner: yaml.Node | None = None,
    own: Mapping[str, Callable[[yaml.Node, Place], object]] | None = None,
) -> T:
    """Return a noun whose fields are declared by ``design.measure``.

    Args:
        noun: A dataclass of measures, choices and switches; the rest are ``rows``.
        node: Its mapping; None for all defaults.
        place: Where that is.
        rows: Fields that are rows of the catalogue, by value, with their noun.
        owner: Node to point at when the mapping itself is missing.
        own: Fields that are neither, such as lists, with what reads them.

    Raises:
        RequestError: Names file, line, field, value and what is accepted.
    """
    rows = rows or {}
    declared = {file_name(f.name): f for f in fields(noun)}  # type: ignore[arg-type]
    hints = get_type_hints(noun)
    got = {} if node is None else entries(node, place, known=tuple(declared))
    values: dict[str, Any] = {}
    for key, child in got.items():
        one, here = declared[key], place.into(key)
        if own and key in own:
            values[one.name] = own[key](child, here)
        elif key in rows:
            values[one.name] = row_from_node(rows[key], child, here)
        elif "each" in one.metadata:
            values[one.name] = _listed(one.metadata["each"], child, here)
        else:
            values[one.name] = _value(one.metadata, hints[one.name], child, here)
    missing = [k for k, f in declared.items() if f.default is MISSING and f.name not in values]
    if missing:
        at = node or owner
        where = place.at(at) if at is not None else place.file
        raise RequestError(f"{place.path} has no {missing[0]}", where=where)
    try:
        made = noun(**values)
        check_limits(made, place.path)
    except RequestError as refused:
        blamed = _blamed(refused, got, place) or node or owner
        where = refused.where or place.path
        line = f"{place.file} line {blamed.start_mark.line + 1}, " if blamed is not None else ""
        raise RequestError(
            refused.what, because=refused.because, mend=refused.mend, where=f"{line}{where}"
        ) from None
    return made


def _blamed(refused: RequestError, got: Mapping[str, yaml.Node], place: Place) -> yaml.Node | None:
    key = refused.where.rpartition(".")[2]
    return got.get(key)


def _listed(quantity: Quantity, node: yaml.Node, place: Place) -> tuple[object, ...]:
    each = enumerate(items(node, place), start=1)
    about = {"quantity": quantity}
    return tuple(_value(about, None, one, place.into(str(number))) for number, one in each)


def _value(about: Mapping[str, Any], hint: object, node: yaml.Node, place: Place) -> object:
    text = word(node, place)
    try:
        if hint is bool:
            if text not in ("true", "false"):
                raise RequestError(f"{text!r} is neither true nor false", mend="Write one of them")
            return text == "true"
        if get_origin(hint) is Literal:
            if text not in get_args(hint):
                raise RequestError(
                    f"{text!r} is not one of the choices",
                    mend=f"Choose one of: {', '.join(get_args(hint))}",
                )
            return text
        if hint is str:
            return text
        return parse(about["quantity"], text)
    except RequestError as refused:
        raise refused.at(place.at(node)) from None
