"""The measures of a free design out of a YAML tree: lists of pieces, seams, blanks and so on."""

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TypeVar

import yaml

from hidewright.design.kinds.free_measures import (
    DECIMALS,
    FreeBlank,
    FreeCutOut,
    FreeEdge,
    FreeFitting,
    FreeFold,
    FreeHole,
    FreeHollow,
    FreeIsland,
    FreeMagnet,
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
from hidewright.store.free_write import UNITS_MM
from hidewright.units.quantity import parse

T = TypeVar("T")
#: A number without a unit, as coordinates are written.
PLAIN_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
#: A number that is followed by a unit.
HAS_UNIT = re.compile(r"[0-9]\s*(mm|cm|m|in|inch|inches|ft|\"|')\s*$")
#: Larger than any hide, mm.
LARGEST_MM = 100_000.0


def free_measures_from_node(node: yaml.Node | None, place: Place, owner: yaml.Node) -> FreeMeasures:
    """Return the measures of a free design, in mm; no measures at all are the starter's.

    A list that is left out beside pieces is empty: seams need not be assigned yet.

    Raises:
        RequestError: Names file, line, field, value and what is accepted.
    """
    given = {} if node is None else entries(node, place)
    read = _Reader(_unit_mm(given, place))
    own = {
        "pieces": _list_of(read.piece),
        "seams": _list_of(_seam),
        "blanks": _list_of(_blank),
        "hollows": _list_of(lambda n, p: noun_from_node(FreeHollow, n, p)),
        "fittings": _list_of(read.fitting),
        "magnets": _list_of(read.magnet),
    }
    told = noun_from_node(FreeMeasures, node, place, owner=owner, own=own)
    told = replace(told, unit="mm")
    if "pieces" not in given:
        return told
    return replace(
        told,
        seams=told.seams if "seams" in given else (),
        blanks=told.blanks if "blanks" in given else (),
        hollows=told.hollows if "hollows" in given else (),
    )


def _unit_mm(given: Mapping[str, yaml.Node], place: Place) -> float:
    """Return the unit of coordinates; an unknown one is refused where the measures are read."""
    if "unit" not in given:
        return 1.0
    return UNITS_MM.get(word(given["unit"], place.into("unit")), 1.0)


def _list_of(
    read: Callable[[yaml.Node, Place], T],
) -> Callable[[yaml.Node, Place], tuple[T, ...]]:
    def each(node: yaml.Node, place: Place) -> tuple[T, ...]:
        return tuple(read(one, place.into(str(i))) for i, one in enumerate(items(node, place), 1))

    return each


def _seam(node: yaml.Node, place: Place) -> FreeSeam:
    edges = _list_of(lambda n, p: noun_from_node(FreeEdge, n, p))
    return noun_from_node(FreeSeam, node, place, own={"edges": edges})


def _blank(node: yaml.Node, place: Place) -> FreeBlank:
    return noun_from_node(FreeBlank, node, place, own={"pieces": _list_of(word)})


def corners_outline(node: yaml.Node, place: Place) -> Outline:
    """Return the outline of a list of corners in mm, with bulges where a side is an arc."""
    return _Reader(1.0).outline(node, place)


class _Reader:
    """Reads what is drawn, with its coordinates in one unit."""

    def __init__(self, unit_mm: float) -> None:
        self.unit_mm = unit_mm

    def piece(self, node: yaml.Node, place: Place) -> FreePiece:
        own = {
            "outline": self.outline,
            "zones": _list_of(self.zone),
            "holes": _list_of(self.hole),
            "cut_outs": _list_of(self.cut_out),
            "folds": _list_of(self.fold),
        }
        return noun_from_node(FreePiece, node, place, own=own)

    def zone(self, node: yaml.Node, place: Place) -> FreeZone:
        own = {
            "outline": self.outline,
            "mouths": _list_of(word),
            "islands": _list_of(self.island),
        }
        return noun_from_node(FreeZone, node, place, own=own)

    def island(self, node: yaml.Node, place: Place) -> FreeIsland:
        return noun_from_node(FreeIsland, node, place, own={"outline": self.outline})

    def hole(self, node: yaml.Node, place: Place) -> FreeHole:
        return noun_from_node(FreeHole, node, place, own={"at": self.point, "slit": self.point})

    def cut_out(self, node: yaml.Node, place: Place) -> FreeCutOut:
        return noun_from_node(FreeCutOut, node, place, own={"outline": self.outline})

    def fold(self, node: yaml.Node, place: Place) -> FreeFold:
        return noun_from_node(FreeFold, node, place, own={"line": self.ends})

    def fitting(self, node: yaml.Node, place: Place) -> FreeFitting:
        own = {"at": self.point, "through": _list_of(word)}
        return noun_from_node(FreeFitting, node, place, own=own)

    def magnet(self, node: yaml.Node, place: Place) -> FreeMagnet:
        return noun_from_node(FreeMagnet, node, place, own={"at": self.point})

    def outline(self, node: yaml.Node, place: Place) -> Outline:
        corners = [
            self.corner(one, place.into(str(i))) for i, one in enumerate(items(node, place), 1)
        ]
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

    def corner(self, node: yaml.Node, place: Place) -> tuple[Point, float, str]:
        """Return (corner, bulge to the next, span to the next) of ``{at, bulge, span}``.

        ``[x, y]`` and ``[x, y, bulge]`` are corners too, their side without a name.
        """
        if isinstance(node, yaml.SequenceNode):
            if len(node.value) not in (2, 3):
                raise _no_corner(node, place)
            x, y, *bulge = node.value
            at = (self.coordinate(x, place), self.coordinate(y, place))
            return at, (_number(bulge[0], place) if bulge else 0.0), ""
        got = entries(node, place, known=("at", "bulge", "span"))
        if "at" not in got:
            raise _no_corner(node, place)
        return (
            self.point(got["at"], place.into("at")),
            _number(got["bulge"], place.into("bulge")) if "bulge" in got else 0.0,
            word(got["span"], place.into("span")) if "span" in got else "",
        )

    def ends(self, node: yaml.Node, place: Place) -> tuple[Point, Point]:
        """Return the two points of ``[[x, y], [x, y]]``."""
        both = [self.point(one, place) for one in items(node, place)]
        if len(both) != 2:
            raise RequestError(
                f"{place.path} has {len(both)} points",
                mend="Write [[x, y], [x, y]]",
                where=place.at(node),
            )
        return (both[0], both[1])

    def point(self, node: yaml.Node, place: Place) -> Point:
        """Return the point of ``[x, y]``."""
        both = [self.coordinate(one, place) for one in items(node, place)]
        if len(both) != 2:
            raise RequestError(
                f"{place.path} has {len(both)} numbers", mend="Write [x, y]", where=place.at(node)
            )
        return (both[0], both[1])

    def coordinate(self, node: yaml.Node, place: Place) -> float:
        """Return a coordinate in mm, of a plain number or of a length with its own unit."""
        text = word(node, place)
        if not HAS_UNIT.search(text):
            value = _number(node, place)
            return value if self.unit_mm == 1.0 else round(value * self.unit_mm, DECIMALS)
        try:
            value = round(parse("position", text), DECIMALS)
        except RequestError as refused:
            raise refused.at(place.at(node)) from None
        if abs(value) > LARGEST_MM:
            raise RequestError(f"{text!r} is not within 100 m", where=place.at(node))
        return value


def _no_corner(node: yaml.Node, place: Place) -> RequestError:
    return RequestError(
        f"{place.path} is no corner",
        mend="Write {at: [x, y], span: name}, with bulge: 0.4142 where an arc begins "
        "(tan of a quarter of its angle)",
        where=place.at(node),
    )


def _number(node: yaml.Node, place: Place) -> float:
    text = word(node, place)
    if not PLAIN_NUMBER.fullmatch(text) or abs(float(text)) > LARGEST_MM:
        raise RequestError(
            f"{text!r} is not a plain number within 100 m",
            because="coordinates are numbers in the unit of the measures, or have their own",
            mend="Write it such as 12.5, or 1/2 in",
            where=place.at(node),
        )
    return float(text)
