"""What was learned, kept in the book between starts for as long as the same would be learned.

It is found by what learning depends on: readings, rates, the designs that were measured, the rows
of the catalogue, and the number of the model by which readings are understood. An update that
changes none of these learns nothing anew. What was learned from other readings is still shown
until those of now are understood.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from hidewright.catalogue.boards import Board
from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.rows import noun_from_row, row_from_noun
from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.catalogue.step_rows import built_in_times
from hidewright.design.interval import Interval
from hidewright.errors import RequestError
from hidewright.learning.belief import Belief
from hidewright.learning.quantities import BOARD, EXPONENT, LEATHER, MINUTES, Quantity
from hidewright.learning.update import Judged, Learned
from hidewright.store.book import Book
from hidewright.store.book_designs import list_designs
from hidewright.store.book_rates import rates_in
from hidewright.store.book_readings import READINGS
from hidewright.store.book_settings import put_setting, setting
from hidewright.store.book_versions import text_of
from hidewright.workshop.digest import digest
from hidewright.workshop.learned import About, LearnedShelf, Subject

#: Number of the model: raised whenever the same readings come to other figures, by a change of
#: ``learning``, of how leather is pressed and dried, or of what is predicted for a reading.
MODEL = 2
#: The book keeps it under this.
SETTING = "what was learned"
#: Made by a damaged or strange setting.
_STRANGE = (LookupError, TypeError, ValueError, AttributeError, RequestError)


def key_of(book: Book) -> str:
    """Return a name for all that learning goes by: readings, designs, rates, rows and the model.

    Of designs only those count that readings are of; all of them where a leather or board is not
    of the catalogue and may be named by any.
    """
    readings = READINGS.rows(book)
    shelf = built_in_catalogue()
    known = {row.name for row in shelf.leathers} | {row.name for row in shelf.boards}
    strange = any(
        one.subject not in known for one in readings.values() if one.kind.subject != "work"
    )
    measured = {one.design for one in readings.values()}
    rows = (*list_designs(book), *list_designs(book, "archived"))
    texts = {
        row.id: text_of(book, row.id, row.current) for row in rows if strange or row.id in measured
    }
    said = {
        id: {name: str(value) for name, value in asdict(one).items()}
        for id, one in readings.items()
    }
    rates = rates_in(book).rates
    subjects = {one.subject for one in readings.values()}
    goes_by = (
        *(row for row in shelf.leathers if row.name in subjects),
        *(row for row in shelf.boards if row.name in subjects),
        *(row.name for row in built_in_times()),
        *(LEATHER, BOARD, (MINUTES, EXPONENT)),
    )
    learned_by = (list(said.items()), texts, rates.learning, rates.times_hold_at, goes_by, MODEL)
    return digest(learned_by).hex()


def kept_shelf(book: Book) -> LearnedShelf | None:
    """Return what was learned from just what is in the book; None when that is to be learned."""
    last = last_shelf(book)
    return last.shelf if last is not None and last.is_of_now else None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LastShelf:
    """What was learned last.

    Attributes:
        shelf: That.
        is_of_now: Whether just the same would be learned from what is in the book now.
    """

    shelf: LearnedShelf
    is_of_now: bool


def last_shelf(book: Book) -> LastShelf | None:
    """Return what was learned last and is kept; None for nothing, or what cannot be read."""
    kept = setting(book, SETTING)
    if not isinstance(kept, dict):
        return None
    try:
        return LastShelf(shelf=_read(kept), is_of_now=kept.get("key") == key_of(book))
    except _STRANGE:
        return None


def keep_shelf(book: Book, key: str, shelf: LearnedShelf) -> None:
    """Keep what was learned in the book, over what was kept before.

    Args:
        book: Where to.
        key: Of the book when learning began.
        shelf: What was learned.
    """
    put_setting(book, SETTING, {"key": key, **_written(shelf)})


@cache
def program() -> bytes:
    """Return a digest of the program's own files: what is changed may learn otherwise."""
    found: dict[str, bytes] = {}
    folders = [files("hidewright")]
    while folders:
        for one in folders.pop().iterdir():
            if one.is_dir():
                folders.append(one)
            elif one.name.endswith((".py", ".yaml")):
                found[str(one)] = one.read_bytes()
    return digest([found[name] for name in sorted(found)])


def _written(shelf: LearnedShelf) -> dict[str, Any]:
    return {
        "about": [
            {
                "subject": asdict(one.subject),
                "row": row_from_noun(one.row) if one.row is not None else None,
                "quantities": [asdict(q) for q in one.result.after.quantities],
                "before": _said(one.result.before),
                "after": _said(one.result.after),
                "judged": [asdict(verdict) for verdict in one.result.judged],
                "wider": one.result.wider,
                "counted": one.counted,
                "latest": one.latest.isoformat() if one.latest else None,
            }
            for one in shelf.about
        ],
        "unplaced": [list(one) for one in shelf.unplaced],
    }


def _said(belief: Belief) -> list[Any]:
    return [belief.mean.tolist(), belief.spread.tolist()]


def _read(kept: Mapping[str, Any]) -> LearnedShelf:
    return LearnedShelf(
        about=tuple(_about(one) for one in kept["about"]),
        unplaced=tuple((key, why) for key, why in kept["unplaced"]),
    )


def _about(row: Mapping[str, Any]) -> About:
    subject = Subject(**row["subject"])
    quantities = tuple(Quantity(**one) for one in row["quantities"])
    if subject.sort != "work" and quantities != _learned_of(subject.sort, quantities):
        raise ValueError(f"other quantities are learned of a {subject.sort} now")
    noun: type[Leather] | type[Board] = Leather if subject.sort == "leather" else Board
    return About(
        subject=subject,
        row=noun_from_row(noun, row["row"]) if row["row"] is not None else None,
        result=Learned(
            before=_belief(quantities, row["before"]),
            after=_belief(quantities, row["after"]),
            judged=tuple(
                Judged(**{**one, "foretold": Interval(**one["foretold"])}) for one in row["judged"]
            ),
            wider=float(row["wider"]),
        ),
        counted=int(row["counted"]),
        latest=date.fromisoformat(row["latest"]) if row["latest"] else None,
    )


def _learned_of(sort: str, kept: tuple[Quantity, ...]) -> tuple[Quantity, ...]:
    """Return the quantities that are learned of a leather or board, with the spreads kept."""
    now = LEATHER if sort == "leather" else BOARD
    spreads = {one.name: one.spread for one in kept}
    return tuple(replace(one, spread=spreads.get(one.name, one.spread)) for one in now)


def _belief(quantities: tuple[Quantity, ...], said: list[Any]) -> Belief:
    mean, spread = (np.array(one, dtype=float) for one in said)
    return Belief(quantities=quantities, mean=mean, spread=spread)
