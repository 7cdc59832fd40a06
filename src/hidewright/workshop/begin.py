"""A new specification of a kind, from the usual rows of the catalogue."""

import math
from dataclasses import replace
from typing import Any

from hidewright.catalogue.boards import Board
from hidewright.catalogue.shelf import Catalogue, find
from hidewright.design.carried import Arrangement, Carried
from hidewright.design.choices import ToolingChoice
from hidewright.design.kinds.free import FREE
from hidewright.design.kinds.registry import KINDS, kind_named
from hidewright.design.slabs import envelope
from hidewright.design.specification import Brief, Kind, Specification
from hidewright.errors import RequestError

#: For the mould: the first that goes into the shallowest hollow, else the last.
USUAL_MOULD_BOARDS = ("MDF 6 mm", "MDF 4 mm", "MDF 3 mm")
#: What is thicker than this share of its narrow side has a crown with a radius of that share of the
#: depth, as far as plan corners have it: a sharper one cracks the leather. Found by pressing the
#: things of the catalogue on the screen.
DEEP_SHARE, CROWN_SHARE = 1 / 4, 1 / 3
#: Ways to lie that have a size of their own.
LYING: tuple[Arrangement, ...] = ("stacked", "side by side")
USUAL_TEMPLATE_BOARD = "clear acrylic 5 mm"
USUAL_THREAD = "waxed linen 18/3"


def begin(
    kind_name: str,
    catalogue: Catalogue,
    *,
    name: str = "",
    things: tuple[tuple[str, int], ...] = (),
    arrangement: Arrangement | None = None,
) -> Specification[Any]:
    """Return a specification to start from, with its hollow sized for what is carried.

    Args:
        kind_name: Name of a kind.
        catalogue: Where its rows are taken from.
        name: The maker's name for the article; the kind's name if empty.
        things: (thing, count) carried; what the kind usually carries if empty.
        arrangement: How several of a thing lie; as is usual for the kind if None.

    Raises:
        RequestError: For an unknown kind or thing, or things that no hollow of the kind holds.
    """
    kind = kind_named(kind_name)
    wanted = things or tuple((thing, 1) for thing in kind.carries)
    lie = arrangement or kind.arrangement
    carried = tuple(
        Carried(thing=find(catalogue.things, thing), count=count, arrangement=lie)
        for thing, count in wanted
    )
    brief = Brief(
        kind=kind.name,
        name=name or kind.name,
        carried=carried,
        measures=_measures(kind, carried),
        leathers=tuple((role, find(catalogue.leathers, row)) for role, row in kind.leathers),
        thread=find(catalogue.threads, USUAL_THREAD),
        fittings=tuple((role, find(catalogue.fittings, row)) for role, row in kind.fittings),
        magnets=tuple((role, find(catalogue.magnets, row)) for role, row in kind.magnets),
    )
    return Specification(
        brief=brief,
        tooling=ToolingChoice(
            mould_board=_mould_board(kind, brief, catalogue),
            template_board=find(catalogue.boards, USUAL_TEMPLATE_BOARD),
        ),
    )


def what_would_hold(
    kind_name: str, catalogue: Catalogue, things: tuple[tuple[str, int], ...]
) -> str:
    """Return a sentence on what would hold things that go into no hollow of a kind.

    That is the same kind with them lying otherwise, or another kind as it usually begins.
    """
    own = kind_named(kind_name).arrangement

    def holds(name: str, arrangement: Arrangement | None = None) -> bool:
        try:
            spec = begin(name, catalogue, things=things, arrangement=arrangement)
            kind_named(name).construct(spec.brief)
        except RequestError:
            return False
        return True

    otherwise = [f"'arrangement: {a}'" for a in LYING if a != own and holds(kind_name, a)]
    kinds = [one.name for one in KINDS if one not in (FREE, kind_named(kind_name))]
    others = [name for name in kinds if holds(name)]
    ways = [f"with {' or '.join(otherwise)}"] if otherwise else []
    ways += [f"in another kind: {', '.join(others)}"] if others else []
    return f"It goes in {'; or '.join(ways)}" if ways else "No kind holds it: carry less"


def _measures(kind: Kind[Any], carried: tuple[Carried, ...]) -> Any:
    """Return the usual measures made to fit, with a rounder crown on what is deep and narrow."""
    usual = kind.measures()
    sized = kind.sized_for(usual, carried)
    if not carried or not hasattr(sized, "crown_radius_mm"):
        return sized
    slab = envelope(carried)
    if slab.thickness_mm <= DEEP_SHARE * min(slab.width_mm, slab.length_mm):
        return sized
    crown = min(round(2 * sized.depth_mm * CROWN_SHARE) / 2, usual.corner_radius_mm)
    if crown <= usual.crown_radius_mm:
        return sized
    try:
        return kind.sized_for(replace(usual, crown_radius_mm=crown), carried)
    except RequestError:  # its plan is too small for it
        return sized


def _mould_board(kind: Kind[Any], brief: Brief[Any], catalogue: Catalogue) -> Board:
    boards = [find(catalogue.boards, name) for name in USUAL_MOULD_BOARDS]
    try:
        pieces = kind.construct(brief).pieces
    except RequestError:  # its measures are yet to be changed
        return boards[0]
    depth = min((zone.depth_mm for piece in pieces for zone in piece.zones), default=math.inf)
    return next((one for one in boards if one.thickness_mm <= depth), boards[-1])
