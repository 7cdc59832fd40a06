"""The measures of a free design out of a YAML tree: lists of pieces, seams, blanks and hollows."""

import re
from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

import yaml

from hidewright.design.kinds.free_measures import (
    FreeBlank,
    FreeEdge,
    FreeHole,
    FreeHollow,
    FreeMeasures,
    FreePiece,
    FreeSeam,
    FreeZone,
    from_corners,
)
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point
from hidewright.store.fields import Place, entries, items, noun_from_node, word

T = TypeVar("T")
#: A number without a unit, as coordinates are written.
PLAIN_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
#: Larger than any hide, mm.
LARGEST_MM = 100_000.0


def free_measures_from_node(node: yaml.Node | None, place: Place, owner: yaml.Node) -> FreeMeasures:
    """Return the measures of a free design; no measures at all are the starter's.

    A list that is left out beside pieces is empty: seams need not be assigned yet.

    Raises:
        RequestError: Names file, line, field, value and what is accepted.
    """
    own = {
        "pieces": _list_of(_piece),
        "seams": _list_of(_seam),
        "blanks": _list_of(_blank),
        "hollows": _list_of(lambda n, p: noun_from_node(FreeHollow, n, p)),
    }
    told = noun_from_node(FreeMeasures, node, place, owner=owner, own=own)
    given = {} if node is None else entries(node, place)
    if "pieces" not in given:
        return told
    return replace(
        told,
        seams=told.seams if "seams" in given else (),
        blanks=told.blanks if "blanks" in given else (),
        hollows=told.hollows if "hollows" in given else (),
    )


def _list_of(
    read: Callable[[yaml.Node, Place], T],
) -> Callable[[yaml.Node, Place], tuple[T, ...]]:
    def each(node: yaml.Node, place: Place) -> tuple[T, ...]:
        return tuple(read(one, place.into(str(i))) for i, one in enumerate(items(node, place), 1))

    return each


def _piece(node: yaml.Node, place: Place) -> FreePiece:
    own = {"outline": corners_outline, "zones": _list_of(_zone), "holes": _list_of(_hole)}
    return noun_from_node(FreePiece, node, place, own=own)


def _zone(node: yaml.Node, place: Place) -> FreeZone:
    return noun_from_node(
        FreeZone, node, place, own={"outline": corners_outline, "mouths": _list_of(word)}
    )


def _hole(node: yaml.Node, place: Place) -> FreeHole:
    return noun_from_node(FreeHole, node, place, own={"at": _point})


def _seam(node: yaml.Node, place: Place) -> FreeSeam:
    edges = _list_of(lambda n, p: noun_from_node(FreeEdge, n, p))
    return noun_from_node(FreeSeam, node, place, own={"edges": edges})


def _blank(node: yaml.Node, place: Place) -> FreeBlank:
    return noun_from_node(FreeBlank, node, place, own={"pieces": _list_of(word)})


def corners_outline(node: yaml.Node, place: Place) -> Outline:
    """Return the outline of a list of corners, with bulges where a side is an arc."""
    corners = [_corner(one, place.into(str(i))) for i, one in enumerate(items(node, place), 1)]
    if len(corners) < 2:
        raise RequestError(
            f"an outline of {len(corners)} corners",
            mend="Give two where both sides are arcs, else three or more",
            where=place.at(node),
        )
    try:
        return from_corners(corners)
    except RequestError as refused:
        raise refused.at(place.at(node)) from None


def _corner(node: yaml.Node, place: Place) -> tuple[Point, float, str]:
    """Return (corner, bulge to the next, span to the next) of ``{at: [x, y], bulge: b, span: s}``.

    ``[x, y]`` and ``[x, y, bulge]`` are corners too, their side without a name.
    """
    if isinstance(node, yaml.SequenceNode):
        numbers = [_number(one, place) for one in node.value]
        if len(numbers) not in (2, 3):
            raise _no_corner(node, place)
        return (numbers[0], numbers[1]), (numbers[2] if len(numbers) == 3 else 0.0), ""
    got = entries(node, place, known=("at", "bulge", "span"))
    if "at" not in got:
        raise _no_corner(node, place)
    return (
        _point(got["at"], place.into("at")),
        _number(got["bulge"], place.into("bulge")) if "bulge" in got else 0.0,
        word(got["span"], place.into("span")) if "span" in got else "",
    )


def _no_corner(node: yaml.Node, place: Place) -> RequestError:
    return RequestError(
        f"{place.path} is no corner",
        mend="Write {at: [x, y], span: name}, in mm, with bulge: 0.4142 where an arc begins "
        "(tan of a quarter of its angle)",
        where=place.at(node),
    )


def _point(node: yaml.Node, place: Place) -> Point:
    numbers = [_number(one, place) for one in items(node, place)]
    if len(numbers) != 2:
        raise RequestError(
            f"{place.path} has {len(numbers)} numbers", mend="Write [x, y]", where=place.at(node)
        )
    return (numbers[0], numbers[1])


def _number(node: yaml.Node, place: Place) -> float:
    text = word(node, place)
    if not PLAIN_NUMBER.fullmatch(text) or abs(float(text)) > LARGEST_MM:
        raise RequestError(
            f"{text!r} is not a plain number within 100 m",
            because="coordinates are in mm, without a unit",
            mend="Write it such as 12.5",
            where=place.at(node),
        )
    return float(text)
