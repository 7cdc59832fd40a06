"""A new specification of a kind, from the usual rows of the catalogue."""

from typing import Any

from hidewright.catalogue.shelf import Catalogue, find
from hidewright.design.carried import Carried
from hidewright.design.choices import ToolingChoice
from hidewright.design.kinds.registry import kind_named
from hidewright.design.specification import Brief, Specification

USUAL_MOULD_BOARD = "MDF 6 mm"
USUAL_TEMPLATE_BOARD = "clear acrylic 5 mm"
USUAL_THREAD = "waxed linen 18/3"


def begin(
    kind_name: str,
    catalogue: Catalogue,
    *,
    name: str = "",
    things: tuple[tuple[str, int], ...] = (),
) -> Specification[Any]:
    """Return a specification to start from, with its hollow sized for what is carried.

    Args:
        kind_name: Name of a kind.
        catalogue: Where its rows are taken from.
        name: The maker's name for the article; the kind's name if empty.
        things: (thing, count) carried; what the kind usually carries if empty.

    Raises:
        RequestError: For an unknown kind or thing, or things that no hollow of the kind holds.
    """
    kind = kind_named(kind_name)
    wanted = things or tuple((thing, 1) for thing in kind.carries)
    carried = tuple(
        Carried(thing=find(catalogue.things, thing), count=count, arrangement=kind.arrangement)
        for thing, count in wanted
    )
    brief = Brief(
        kind=kind.name,
        name=name or kind.name,
        carried=carried,
        measures=kind.sized_for(kind.measures(), carried),
        leathers=tuple((role, find(catalogue.leathers, row)) for role, row in kind.leathers),
        thread=find(catalogue.threads, USUAL_THREAD),
        fittings=tuple((role, find(catalogue.fittings, row)) for role, row in kind.fittings),
        magnets=tuple((role, find(catalogue.magnets, row)) for role, row in kind.magnets),
    )
    return Specification(
        brief=brief,
        tooling=ToolingChoice(
            mould_board=find(catalogue.boards, USUAL_MOULD_BOARD),
            template_board=find(catalogue.boards, USUAL_TEMPLATE_BOARD),
        ),
    )
