"""From the specification to a neutral design, and the slices of it that the crafts take."""

from typing import Any

from hidewright.catalogue.fittings import Fitting
from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.magnets import Magnet
from hidewright.catalogue.threads import Thread
from hidewright.design.carried import Carried
from hidewright.design.changes import with_changes
from hidewright.design.cover import covers_of
from hidewright.design.design import Design
from hidewright.design.fit_remarks import fit_remarks
from hidewright.design.fitting import fitting_remarks
from hidewright.design.hollow import Hollow
from hidewright.design.kinds.limits import grown_by
from hidewright.design.kinds.registry import kind_named
from hidewright.design.piece import Piece
from hidewright.design.safety import safety_remarks
from hidewright.design.specification import Brief, Change
from hidewright.errors import Remark, Remedy, RequestError
from hidewright.workshop.graph import Node


def design_of(
    kind: str,
    name: str,
    carried: tuple[Carried, ...],
    measures: Any,
    leathers: tuple[tuple[str, Leather], ...],
    thread: Thread,
    fittings: tuple[tuple[str, Fitting], ...],
    magnets: tuple[tuple[str, Magnet], ...],
    changes: tuple[Change, ...],
) -> tuple[Design, tuple[Remark, ...]]:
    """Return the design that a kind constructs, with the maker's changes laid over it."""
    brief = Brief(
        kind=kind,
        name=name,
        carried=carried,
        measures=measures,
        leathers=leathers,
        thread=thread,
        fittings=fittings,
        magnets=magnets,
    )
    return with_changes(kind_named(kind).construct(brief), changes)


def fit_of(
    hollows: tuple[Hollow, ...],
    carried: tuple[Carried, ...],
    held_by: str,
    kind: str,
    measures: Any,
) -> tuple[Remark, ...]:
    """Return remarks on how the things fit, with the kind's own sizes as the remedy."""
    remarks: list[Remark] = []
    for hollow in hollows:
        bare = fit_remarks(hollow, carried, held_by)
        if any(r.severity == "forbids" for r in bare):
            bare = fit_remarks(hollow, carried, held_by, _sizes_that_fit(kind, measures, carried))
        remarks += bare
    return tuple(remarks)


def _sizes_that_fit(kind: str, measures: Any, carried: tuple[Carried, ...]) -> tuple[Remedy, ...]:
    """Return the smallest hollow of the kind that takes what is carried, as one remedy."""
    try:
        return grown_by(measures, kind_named(kind).sized_for(measures, carried))
    except RequestError:
        return ()  # no hollow of this kind holds it, whatever its size


def thicknesses(
    pieces: tuple[Piece, ...], leathers: tuple[tuple[str, Leather], ...]
) -> dict[str, float]:
    """Return the dry thickness of each piece, mm."""
    of_role = {role: leather.thickness_mm for role, leather in leathers}
    return {piece.name: of_role[piece.role] for piece in pieces}


def moulded_leathers(
    moulded: tuple[Piece, ...], leathers: tuple[tuple[str, Leather], ...]
) -> tuple[tuple[str, Leather], ...]:
    """Return the leathers that are pressed wet, by role."""
    roles = {piece.role for piece in moulded}
    return tuple((role, leather) for role, leather in leathers if role in roles)


_BRIEF = (
    "kind",
    "name",
    "carried",
    "measures",
    "leathers",
    "thread",
    "chosen fittings",
    "chosen magnets",
    "changes",
)

NODES = (
    Node(name="design", needs=_BRIEF, compute=design_of),
    Node(name="pieces", needs=("design",), compute=lambda d: d[0].pieces),
    Node(name="moulded", needs=("pieces",), compute=lambda ps: tuple(p for p in ps if p.zones)),
    Node(name="seams", needs=("design",), compute=lambda d: d[0].seams),
    Node(name="blanks", needs=("design",), compute=lambda d: d[0].blanks),
    Node(name="hollows", needs=("design",), compute=lambda d: d[0].hollows),
    Node(name="fittings", needs=("design",), compute=lambda d: d[0].fittings),
    Node(name="magnets", needs=("design",), compute=lambda d: d[0].magnets),
    Node(name="covers", needs=("design",), compute=lambda d: covers_of(d[0])),
    Node(name="all leathers", needs=("design",), compute=lambda d: d[0].leathers),
    Node(name="assembly", needs=("design",), compute=lambda d: d[0].assembly),
    Node(name="held by", needs=("design",), compute=lambda d: d[0].held_by),
    Node(name="change remarks", needs=("design",), compute=lambda d: d[1]),
    Node(name="kind remarks", needs=("design",), compute=lambda d: d[0].notes),
    Node(name="moulded leathers", needs=("moulded", "all leathers"), compute=moulded_leathers),
    Node(name="thicknesses", needs=("pieces", "all leathers"), compute=thicknesses),
    Node(
        name="fit remarks",
        needs=("hollows", "carried", "held by", "kind", "measures"),
        compute=fit_of,
    ),
    Node(name="fitting remarks", needs=("fittings",), compute=fitting_remarks),
    Node(
        name="safety remarks",
        needs=("carried", "fittings", "magnets", "moulded leathers"),
        compute=safety_remarks,
    ),
)
