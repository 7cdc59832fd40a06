"""A single pressing out of a case file: YAML, format 1; docs/case-format.md tells its fields."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import get_args

import numpy as np
import yaml

from hidewright.errors import RequestError
from hidewright.forming.case import Case
from hidewright.forming.law import FibreSheet, Law, NeoHooke, SaintVenantKirchhoff
from hidewright.forming.pressing import EdgeHold, GivenSurface, Hollow, Pressing, radii_allow
from hidewright.forming.profile import OnArcs, Rows, Tools, section
from hidewright.forming.solved import Conditions, Level
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats
from hidewright.geometry.shapes import circle, polygon, rectangle, stadium
from hidewright.store.fields import Place, entries, items, root_of, word
from hidewright.store.free_fields import PLAIN_NUMBER, corners_outline
from hidewright.units.quantity import Continuous, parse

FORMAT = "1"
#: A given surface of 20,000 triangles has about 2 MB; what is larger than this is not read.
LARGEST_BYTES = 4_000_000
#: The mesh size that a case leaves out is chosen for about so many triangles.
WANTED_TRIANGLES = 5000
#: An outline this near to a parallel of the plug's counts as one, mm.
PARALLEL_MM = 1e-3
#: Wider than any hide, stiffer than any board: mm, MPa.
LARGEST = 1e5
#: What a plain number is worth in the unit used inside: plain lengths are mm, angles degrees.
PLAIN_UNITS: dict[Continuous, float] = {
    "length": 1.0,
    "position": 1.0,
    "angle": math.pi / 180.0,
    "pressure": 1.0,
    "number": 1.0,
}

PRESSED = (
    "format",
    "title",
    "outline",
    "crown_radius",
    "lip_radius",
    "gap",
    "thickness",
    "depth",
    "law",
    "stretch_axis",
    "flange",
    "friction",
    "mesh_size",
    "level",
)
GIVEN = (
    "format",
    "title",
    "surface",
    "points",
    "triangles",
    "thickness",
    "law",
    "stretch_axis",
    "flange",
)
HOLDS: dict[str, EdgeHold] = {"clamped": "clamped", "held": "plate", "free": "free"}


def read_case(data: bytes, *, name: str) -> Case:
    """Return what a case file asks to be solved.

    Args:
        data: The file's bytes, UTF-8.
        name: The file's name, for errors.

    Raises:
        RequestError: Names file, line, field, the wrong value and what is accepted.
    """
    root = root_of(
        data,
        name=name,
        sort="case file",
        largest_bytes=LARGEST_BYTES,
        when_empty="docs/case-format.md shows a whole one",
    )
    place = Place(file=name)
    keys = {str(key.value) for key, _ in root.value} if isinstance(root, yaml.MappingNode) else ()
    top = _Section.of(root, place, GIVEN if "surface" in keys else PRESSED)
    if word(top.needed("format"), place.into("format")) != FORMAT:
        raise RequestError(
            "this format is not known",
            mend=f"Write format: {FORMAT}",
            where=place.into("format").at(top.fields["format"]),
        )
    return _given(top) if "surface" in keys else _pressed(top)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Section:
    """The fields of one mapping, and where it stands."""

    node: yaml.Node
    place: Place
    fields: dict[str, yaml.Node]

    @staticmethod
    def of(node: yaml.Node, place: Place, known: tuple[str, ...]) -> "_Section":
        return _Section(node=node, place=place, fields=entries(node, place, known=known))

    def at(self, key: str) -> str:
        """Where a field stands, or where it is missing."""
        return self.place.into(key).at(self.fields.get(key, self.node))

    def needed(self, key: str) -> yaml.Node:
        """The node of a field that must be there."""
        if key not in self.fields:
            raise RequestError(
                f"{self.place.path or 'the case'} has no {key}",
                mend=f"Write '{key}: ...'",
                where=self.place.at(self.node),
            )
        return self.fields[key]

    def number(
        self,
        key: str,
        quantity: Continuous,
        *,
        default: float | None = None,
        low: float = -LARGEST,
        above: float = -math.inf,
        high: float = LARGEST,
    ) -> float:
        """A field's value in the unit used inside: ``low`` to ``high``, and more than ``above``."""
        if default is not None and key not in self.fields:
            return default
        node = self.needed(key)
        value = _number(node, self.place.into(key), quantity)
        if not (low <= value <= high and value > above):
            least = f"more than {above:g}" if above >= low else f"{low:g} or more"
            raise RequestError(
                f"{key} of {word(node, self.place)}",
                because=f"it must be {least} and at most {high:g}",
                where=self.at(key),
            )
        return value

    def one_of(self, choices: tuple[str, ...]) -> str:
        """The one field of several choices that is given."""
        found = [key for key in choices if key in self.fields]
        if len(found) != 1:
            raise RequestError(
                f"{self.place.path or 'the case'} has "
                f"{' and '.join(found) if found else 'none of its choices'}",
                mend=f"Give exactly one of: {', '.join(choices)}",
                where=self.place.at(self.node),
            )
        return found[0]

    def inner(self, key: str, known: tuple[str, ...]) -> "_Section":
        """The fields of a mapping below."""
        return _Section.of(self.needed(key), self.place.into(key), known)


def _number(node: yaml.Node, place: Place, quantity: Continuous) -> float:
    text = word(node, place)
    if PLAIN_NUMBER.fullmatch(text):
        if abs(float(text)) > LARGEST:
            raise RequestError(f"{text} is beyond {LARGEST:g}", where=place.at(node))
        return float(text) * PLAIN_UNITS[quantity]
    try:
        return parse(quantity, text)
    except RequestError as refused:
        raise refused.at(place.at(node)) from None


# -- a pressing over a plug ---------------------------------------------------------------------


def _pressed(top: _Section) -> Case:
    outline = _outline(top.needed("outline"), top.place.into("outline"))
    thickness = top.number("thickness", "length", above=0.0)
    tools = Tools(
        depth_mm=top.number("depth", "length", above=0.0),
        crown_radius_mm=top.number("crown_radius", "length", above=0.0),
        lip_radius_mm=top.number("lip_radius", "length", above=0.0),
        gap_mm=top.number("gap", "length", above=0.0),
        thickness_mm=thickness,
    )
    hollow = Hollow(name="the plug", outline=outline, tools=tools)
    try:
        radii_allow(hollow)
    except RequestError as refused:
        raise refused.at(top.at("outline")) from None
    flange = _flange(top, outline, tools.outer_mm)
    law = _law(top)
    try:
        pressing = Pressing(
            hollows=(hollow,),
            edge=flange.edge,
            thickness_mm=thickness,
            hold=flange.hold,
            holds=flange.holds,
            backbone=_stretch_axis(top, law),
        )
        conditions = Conditions(
            law=law,
            friction=flange.friction,
            plate_pressure_MPa=flange.pressure_MPa,
            arc_friction=top.number("friction", "number", default=0.0, low=0.0, high=1.0),
            level=_level(top, default=3 if flange.hold == "free" else 2),
        )
    except RequestError as refused:
        raise refused.at(top.at("flange")) from None
    return Case(
        title=_title(top),
        pressing=pressing,
        conditions=conditions,
        size_mm=top.number(
            "mesh_size", "length", default=_typical_size_mm(hollow, flange.edge), above=0.0
        ),
        blank=flange.blank,
    )


def _typical_size_mm(hollow: Hollow, edge: Outline | float) -> float:
    """Return the mesh size that gives about the wanted number of triangles, mm.

    Equilateral triangles of side s elsewhere, halves of squares s x s on wall and parallel
    flange, halves of s x s/1.5 on the arcs.
    """
    tools, outline = hollow.tools, hollow.outline
    cut = section(tools, Rows(crown=4, wall=2, lip=4), OnArcs.even(tools.thickness_mm, 1))
    steps = np.hypot(np.diff(cut.d[0]), np.diff(cut.z[0]))
    arcs, wall = steps[:4].sum() + steps[6:].sum(), steps[4:6].sum()
    free = outline.area - outline.length * tools.crown_radius_mm
    if isinstance(edge, Outline):
        free += edge.area - outline.area - outline.length * tools.outer_mm
    else:
        wall += edge - tools.outer_mm
    columns = outline.length + math.pi * tools.outer_mm
    share = max(free, 0.0) * 4.0 / math.sqrt(3.0) + columns * (2.0 * wall + 3.0 * arcs)
    return math.sqrt(share / WANTED_TRIANGLES)


# -- the edge of the leather ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _Flange:
    """How the leather's edge is held, and where it runs."""

    edge: Outline | float
    blank: Outline | None
    hold: EdgeHold
    holds: tuple[tuple[str, EdgeHold], ...]
    friction: float
    pressure_MPa: float


def _flange(top: _Section, plug: Outline, outer_mm: float) -> _Flange:
    whole = top.inner("flange", (*HOLDS, "spans"))
    kind = whole.one_of(tuple(HOLDS))
    where = ("beyond", "edge") if kind == "clamped" else ("blank", "edge", "edge_beyond")
    grip = ("friction", "pressure") if kind == "held" else ()
    told = whole.inner(kind, (*where, *grip))
    chosen = told.one_of(where)
    edge: Outline | float
    drawn: Outline | None = None
    if chosen in ("beyond", "edge_beyond"):
        edge = told.number(chosen, "length", low=0.0)
        if kind == "clamped":
            edge = max(edge, outer_mm)
    else:
        drawn = _outline(told.needed(chosen), told.place.into(chosen))
        edge = drawn if (away := _parallel_mm(plug, drawn)) is None else away
    holds = _spans(whole, kind)
    if not isinstance(edge, Outline) and (holds or edge >= plug.min_outside_radius):
        # the spans of an edge are those of its outline; round a tight inner corner it has its own
        try:
            edge = drawn or offset(plug, edge)
        except RequestError as refused:
            raise refused.at(told.at(chosen)) from None
    return _Flange(
        edge=edge,
        blank=drawn if chosen == "blank" else None,
        hold=HOLDS[kind],
        holds=holds,
        friction=told.number("friction", "number", low=0.0, high=1.0) if grip else 0.0,
        pressure_MPa=told.number("pressure", "pressure", low=0.0) if grip else 0.0,
    )


def _spans(whole: _Section, kind: str) -> tuple[tuple[str, EdgeHold], ...]:
    """How single spans of the edge are held; a plate needs friction and pressure, so only there."""
    if "spans" not in whole.fields:
        return ()
    place = whole.place.into("spans")
    holds = []
    for span, node in entries(whole.fields["spans"], place).items():
        how = word(node, place.into(span))
        known = [hold for hold in HOLDS if hold in (kind, "clamped", "free")]
        if how not in known:
            raise RequestError(
                f"{how!r} is no way to hold {span!r} beside {kind}",
                mend=f"Choose one of: {', '.join(known)}",
                where=place.into(span).at(node),
            )
        holds.append((span, HOLDS[how]))
    return tuple(holds)


def _parallel_mm(plug: Outline, other: Outline) -> float | None:
    """How far outside the plug's outline another runs, mm; None when it is no parallel of it."""
    corners = other.flat_points()
    away = np.array([plug.nearest((x, y))[1] for x, y in corners.tolist()])
    if np.ptp(away) > PARALLEL_MM or not other.contains(plug.point_at(0.0)):
        return None
    return float(away.mean())


# -- a given surface ------------------------------------------------------------------------------


def _given(top: _Section) -> Case:
    node, place = top.needed("surface"), top.place.into("surface")
    if word(node, place) != "mesh":
        raise RequestError(
            f"a surface given as {word(node, place)!r}",
            mend="Write 'surface: mesh', or give an outline instead",
            where=place.at(node),
        )
    how = word(top.needed("flange"), top.place.into("flange"))
    if how not in ("clamped", "free"):
        raise RequestError(
            f"the edge of a given surface is {how!r}",
            mend="Choose one of: clamped, free",
            where=top.at("flange"),
        )
    law = _law(top)
    thickness = top.number("thickness", "length", above=0.0)
    points = _table(top, "points", "position")
    triangles = _table(top, "triangles", "number")
    if (triangles != np.round(triangles)).any():
        raise RequestError(
            "a triangle's corner is not a whole number",
            mend="Number the points from 0 in the order they are listed",
            where=top.at("triangles"),
        )
    try:
        surface = GivenSurface(
            points=points,
            triangles=triangles.astype(np.int64),
            thickness_mm=thickness,
            hold=HOLDS[how],
            backbone=_stretch_axis(top, law),
        )
    except RequestError as refused:
        raise refused.at(top.at("triangles")) from None
    return Case(
        title=_title(top),
        pressing=surface,
        conditions=Conditions(law=law, level=0),
        size_mm=1.0,
    )


def _table(top: _Section, key: str, quantity: Continuous) -> Floats:
    """(n, 3) numbers of a list of threes."""
    place = top.place.into(key)
    rows = []
    for i, row in enumerate(items(top.needed(key), place)):
        here = place.into(str(i))
        three = [_number(one, here, quantity) for one in items(row, here)]
        if len(three) != 3:
            raise RequestError(
                f"{here.path} has {len(three)} numbers", mend="Write three", where=here.at(row)
            )
        rows.append(three)
    return np.array(rows).reshape(-1, 3)


# -- what both have -------------------------------------------------------------------------------


def _title(top: _Section) -> str:
    return word(top.needed("title"), top.place.into("title"))


def _level(top: _Section, default: Level) -> Level:
    if "level" not in top.fields:
        return default
    text = word(top.fields["level"], top.place.into("level"))
    for level in get_args(Level):
        if text == str(level):
            return level  # type: ignore[no-any-return]
    raise RequestError(
        f"correction level {text!r}", mend="Choose one of: 0, 1, 2, 3", where=top.at("level")
    )


def _stretch_axis(top: _Section, law: Law) -> float:
    if "stretch_axis" not in top.fields and not isinstance(law, NeoHooke):
        raise RequestError(
            "the direction of the backbone is missing",
            because="this material stretches differently along and across it",
            mend="Write 'stretch_axis: 0', in degrees from the outline's x axis",
            where=top.at("stretch_axis"),
        )
    return top.number("stretch_axis", "angle", default=0.0)


def _law(top: _Section) -> Law:
    whole = top.inner("law", tuple(LAWS))
    kind = whole.one_of(tuple(LAWS))
    try:
        return LAWS[kind](whole)
    except RequestError as refused:
        raise refused.at(whole.at(kind)) from None


def _neo_hooke(whole: _Section) -> Law:
    told = whole.inner("neo_hooke", ("shear",))
    return NeoHooke(shear_MPa=told.number("shear", "pressure"))


def _orthotropic(whole: _Section) -> Law:
    told = whole.inner("orthotropic", ("e1", "e2", "nu12", "g12", "thinning_exponent"))
    return SaintVenantKirchhoff(
        e1_MPa=told.number("e1", "pressure"),
        e2_MPa=told.number("e2", "pressure"),
        nu12=told.number("nu12", "number"),
        g12_MPa=told.number("g12", "pressure"),
        thinning_exponent=told.number("thinning_exponent", "number", default=1.0),
    )


def _leather(whole: _Section) -> Law:
    told = whole.inner(
        "leather", ("shear", "fibre_along", "rise_along", "fibre_across", "rise_across")
    )
    return FibreSheet(
        shear_MPa=told.number("shear", "pressure"),
        fibre_along_MPa=told.number("fibre_along", "pressure"),
        rise_along=told.number("rise_along", "number"),
        fibre_across_MPa=told.number("fibre_across", "pressure"),
        rise_across=told.number("rise_across", "number"),
    )


LAWS: dict[str, Callable[[_Section], Law]] = {
    "neo_hooke": _neo_hooke,
    "orthotropic": _orthotropic,
    "leather": _leather,
}


# -- outlines -------------------------------------------------------------------------------------


def _outline(node: yaml.Node, place: Place) -> Outline:
    choices = (*SHAPES, "corners")
    whole = _Section.of(node, place, choices)
    kind = whole.one_of(choices)
    if kind == "corners":
        return corners_outline(whole.fields[kind], place.into(kind))
    measures, shape = SHAPES[kind]
    told = whole.inner(kind, measures)
    values = [told.number(one, "length", low=0.0) for one in measures]
    try:
        return shape(*values)
    except RequestError as refused:
        raise refused.at(whole.at(kind)) from None


def _arch(width: float, height: float, corner_radius: float) -> Outline:
    """Half round at the top, straight sides, a straight base with rounded corners; centred."""
    x, y = width / 2.0, height / 2.0
    corners = ((-x, -y), (x, -y), (x, y), (-x, y))
    radii = (corner_radius, corner_radius, x, x)
    return polygon(corners, radii, ("base", "right", "top", "left"))


SHAPES: dict[str, tuple[tuple[str, ...], Callable[..., Outline]]] = {
    "circle": (("radius",), circle),
    "rounded_rectangle": (("width", "height", "corner_radius"), rectangle),
    "arch": (("width", "height", "corner_radius"), _arch),
    "stadium": (("length", "width"), stadium),
}
