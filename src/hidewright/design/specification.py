"""What the maker asks for, as written in a design file: measures and choices, before any shape."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from hidewright.catalogue.fittings import Fitting
from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.magnets import Magnet
from hidewright.catalogue.threads import Thread
from hidewright.design.carried import Arrangement, Carried
from hidewright.design.choices import SewingChoice, ToolingChoice
from hidewright.design.design import Design
from hidewright.errors import RequestError

M = TypeVar("M")
N = TypeVar("N")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change laid over the design that a kind constructs.

    Attributes:
        place: Name of a piece, seam or blank, or ``piece/zone``; never an index.
        field: Field of the noun at that place, such as ``pitch``.
        value: The new value as written, with its unit.
    """

    place: str
    field: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Brief(Generic[M]):
    """What article is wanted: all that a kind needs to construct a design.

    Attributes:
        kind: Name of the kind of article.
        name: The maker's name for it.
        carried: What goes in.
        measures: The kind's own measures.
        leathers: (role, leather) for each role of the kind.
        thread: What it is sewn with.
        fittings: (role, fitting) for each fitting of the kind, such as ``stud``.
        magnets: (role, magnet) for each magnet of the kind.
    """

    kind: str
    name: str
    carried: tuple[Carried, ...]
    measures: M
    leathers: tuple[tuple[str, Leather], ...]
    thread: Thread
    fittings: tuple[tuple[str, Fitting], ...] = ()
    magnets: tuple[tuple[str, Magnet], ...] = ()

    def leather(self, role: str) -> Leather:
        """Return the leather of a role."""
        return _of_role(self.leathers, role, "leathers")

    def fitting(self, role: str) -> Fitting:
        """Return the fitting of a role."""
        return _of_role(self.fittings, role, "fittings")

    def magnet(self, role: str) -> Magnet:
        """Return the magnet of a role."""
        return _of_role(self.magnets, role, "magnets")


@dataclass(frozen=True, slots=True, kw_only=True)
class Specification(Generic[M]):
    """A design file's content: the brief, and how the workshop makes it.

    Attributes:
        brief: What article is wanted.
        tooling: How its moulds and templates are made.
        sewing: How its seams are sewn.
        changes: Changes laid over what the kind constructs, in order.
    """

    brief: Brief[M]
    tooling: ToolingChoice
    sewing: SewingChoice = field(default_factory=SewingChoice)
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind(Generic[M]):
    """A kind of article: how its measures become a design.

    Attributes:
        name: As written in design files.
        title: One line for lists.
        leathers: (role, usual row of the catalogue) for each role of leather it needs.
        fittings: (role, usual row) for each fitting it can use.
        magnets: (role, usual row) for each magnet it can use.
        carries: Things of the catalogue that a new design of this kind begins with.
        arrangement: How several things lie in a new design of this kind.
        measures: The class of its measures.
        construct: Brief to design, and nothing else.
        sized_for: Measures changed so that what is carried fits.
        own_fields: (place, usual field, own field) where a remedy for a place belongs to another
            measure than is usual, such as the lid's depth; an empty own field when this kind has
            no single measure for it. A place names itself and all below it; "" is everywhere.
    """

    name: str
    title: str
    leathers: tuple[tuple[str, str], ...]
    fittings: tuple[tuple[str, str], ...] = ()
    magnets: tuple[tuple[str, str], ...] = ()
    carries: tuple[str, ...]
    arrangement: Arrangement = "stacked"
    measures: type[M]
    construct: Callable[[Brief[M]], Design]
    sized_for: Callable[[M, tuple[Carried, ...]], M]
    own_fields: tuple[tuple[str, str, str], ...] = ()


def _of_role(rows: tuple[tuple[str, N], ...], role: str, section: str) -> N:
    for known, row in rows:
        if known == role:
            return row
    raise RequestError(
        f"no {section.removesuffix('s')} is given for {role!r}",
        because="the design needs one",
        mend=f"Add {section}.{role}",
        where=section,
    )
