"""The catalogue: what is built in, the maker's own rows over it, and finding a row by name."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cache
from importlib import resources
from types import MappingProxyType

from hidewright.catalogue.awls import Awl
from hidewright.catalogue.boards import Board
from hidewright.catalogue.common_names import names_of
from hidewright.catalogue.fittings import Fitting
from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.magnets import Magnet
from hidewright.catalogue.needles import Needle
from hidewright.catalogue.rows import Row, RowT, Words, near, noun_from_row
from hidewright.catalogue.strict_yaml import rows_from_yaml
from hidewright.catalogue.things import Thing
from hidewright.catalogue.threads import Thread
from hidewright.errors import RequestError

#: What an own row says when it names no source.
OWN_SOURCE = "the maker's own row"


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """Everything that can be chosen, one tuple for each kind, names unique within a kind."""

    leathers: tuple[Leather, ...] = ()
    boards: tuple[Board, ...] = ()
    threads: tuple[Thread, ...] = ()
    needles: tuple[Needle, ...] = ()
    awls: tuple[Awl, ...] = ()
    magnets: tuple[Magnet, ...] = ()
    fittings: tuple[Fitting, ...] = ()
    things: tuple[Thing, ...] = ()

    def __post_init__(self) -> None:
        for field in fields(self):
            names = [row.name for row in getattr(self, field.name)]
            twice = sorted({name for name in names if names.count(name) > 1})
            if twice:
                raise RequestError(f"two {field.name} are called {twice[0]!r}")


NOUNS: Mapping[str, type[Row]] = MappingProxyType(
    {
        "leathers": Leather,
        "boards": Board,
        "threads": Thread,
        "needles": Needle,
        "awls": Awl,
        "magnets": Magnet,
        "fittings": Fitting,
        "things": Thing,
    }
)


def find(rows: Sequence[RowT], name: str) -> RowT:
    """Return the row of a name, such as ``find(catalogue.boards, "MDF 6 mm")``.

    Failing that, the row that is called so in common use, in capitals or not.

    Raises:
        RequestError: When there is none; it lists names that are near.
    """
    for row in rows:
        if row.name == name:
            return row
    called = {one.lower(): row for row in reversed(rows) for one in names_of(row.name)}
    if name.lower() in called:
        return called[name.lower()]
    kind = type(rows[0]).__name__.lower() if rows else "row"
    known = [one for row in rows for one in names_of(row.name)]
    raise RequestError(f"no {kind} is called {name!r}", mend=near(name, known))


def with_rows(catalogue: Catalogue, rows: Mapping[str, Sequence[Words]]) -> Catalogue:
    """Return the catalogue with the maker's own rows laid over it.

    A row with a known name replaces it in its place; a new name goes to the end.

    Args:
        catalogue: What lies underneath.
        rows: Own rows by kind, such as ``{"boards": [{"name": "my MDF", ...}]}``.

    Raises:
        RequestError: When a kind or field is unknown, a row is incomplete or impossible, or two of
            the rows have one name.
    """
    changed = catalogue
    for kind, own in rows.items():
        if kind not in NOUNS:
            raise RequestError(f"the catalogue has no {kind!r}", mend=near(kind, tuple(NOUNS)))
        nouns: dict[str, Row] = {}
        for number, row in enumerate(own, start=1):
            where = f"{kind} row {number}"
            noun = noun_from_row(NOUNS[kind], {"source": OWN_SOURCE, **row}, where=where)
            if noun.name in nouns:
                raise RequestError(f"two of your {kind} are called {noun.name!r}", where=where)
            nouns[noun.name] = noun
        kept = [nouns.pop(old.name, old) for old in getattr(changed, kind)]
        changed = replace(changed, **{kind: (*kept, *nouns.values())})
    return changed


@cache
def built_in_catalogue() -> Catalogue:
    """Return the rows that come with the package; the same value at every call."""
    return Catalogue(
        leathers=_built_in("leathers", Leather),
        boards=_built_in("boards", Board),
        threads=_built_in("threads", Thread),
        needles=_built_in("needles", Needle),
        awls=_built_in("awls", Awl),
        magnets=_built_in("magnets", Magnet),
        fittings=_built_in("fittings", Fitting),
        things=_built_in("things", Thing),
    )


def _built_in(kind: str, noun: type[RowT]) -> tuple[RowT, ...]:
    file = resources.files("hidewright.catalogue") / "data" / f"{kind}.yaml"
    rows = rows_from_yaml(file.read_text(encoding="utf-8"), where=f"{kind}.yaml")
    return tuple(noun_from_row(noun, row, where=place) for place, row in rows)
