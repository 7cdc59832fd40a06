"""What the workshop knows, from its book: readings, the rows they are about, what was pressed."""

from collections.abc import Callable, Mapping, MutableMapping
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.shelf import Catalogue, built_in_catalogue
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.bench_reading import BenchReading
from hidewright.design.specification import Specification
from hidewright.errors import RequestError
from hidewright.learning.belief import Predict, Values
from hidewright.learning.models import Pressed
from hidewright.learning.priors import leather_prior
from hidewright.store.book import Book
from hidewright.store.book_designs import list_designs
from hidewright.store.book_rates import rates_in
from hidewright.store.book_readings import READINGS
from hidewright.store.book_versions import specification_of
from hidewright.tooling.bench_pieces import CROWN_MM, SHARP_MM
from hidewright.workshop.article import NODES
from hidewright.workshop.digest import digest
from hidewright.workshop.forming_chain import PressedBlank
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.learned import LearnedShelf, Subject, learned_shelf, subject_of
from hidewright.workshop.learned_kept import keep_shelf, kept_shelf, key_of
from hidewright.workshop.learned_pressing import (
    SheetForetold,
    disc,
    plug_sheet,
    sheet_foretold,
    used_at,
)
from hidewright.workshop.live_chain import with_live_pressing

Spec = Specification[Any]


@dataclass(slots=True)
class Pressings:
    """Solved sheets with their predictions, kept between calls by the caller.

    Attributes:
        plugs: Of the test plug, by leather, depth and rounding of its top.
        zones: Of designs, by design file, leather and ``piece/zone``: the sheet and its hollow.
    """

    plugs: MutableMapping[tuple[Leather, float, float], SheetForetold] = field(default_factory=dict)
    zones: MutableMapping[tuple[bytes, str], tuple[SheetForetold, int]] = field(
        default_factory=dict
    )
    cache: Cache = field(default_factory=Cache)

    def blanks(self, spec: Spec) -> tuple[PressedBlank, ...]:
        """Return the blanks of a design as they are pressed, on wide triangles.

        Raises:
            RequestError: When the design cannot be computed.
        """
        nodes = with_live_pressing(NODES, {})
        values = evaluate(nodes, inputs_of(spec, "A4"), ("pressed blanks",), self.cache).values
        found = values["pressed blanks"]
        if isinstance(found, Missing):
            raise found.because
        blanks: tuple[PressedBlank, ...] = found[0]
        return blanks

    def plug(self, leather: Leather, depth_mm: float, crown_mm: float = CROWN_MM) -> SheetForetold:
        """Return the test plug at a depth, solved at the first call."""
        key = (leather, depth_mm, crown_mm)
        if key not in self.plugs:
            sheet = plug_sheet(leather, depth_mm, crown_mm)
            self.plugs[key] = sheet_foretold(sheet, leather, leather_prior(leather), disc())
        return self.plugs[key]

    def zone(self, spec: Spec, place: str) -> tuple[SheetForetold, int]:
        """Return the sheet that has a zone of a design, and which of its hollows it is.

        Raises:
            RequestError: When the design has no such zone, or it cannot be pressed.
        """
        key = (digest(spec), place)
        if key not in self.zones:
            self._solve(spec, key[0])
        if key not in self.zones:
            raise RequestError(f"no moulded zone {place!r} in {spec.brief.name}")
        return self.zones[key]

    def _solve(self, spec: Spec, design: bytes) -> None:
        for one in self.blanks(spec):
            for layer in one.layers[:1]:
                leather = dict(spec.brief.leathers)[layer.role]
                foretold = sheet_foretold(layer.sheet, leather, leather_prior(leather))
                for k, zone in enumerate(layer.zones):
                    for source in zone.sources:
                        self.zones[(design, "/".join(source))] = (foretold, k)


@dataclass(frozen=True, slots=True, kw_only=True)
class BookRead:
    """What a book holds for learning.

    Attributes:
        readings: By id, in the order in which they came in.
        designs: By id, those that can be read.
    """

    readings: Mapping[str, BenchReading]
    designs: Mapping[str, Spec]


def read_book(book: Book) -> BookRead:
    """Return readings and designs of a book; designs put away are among them."""
    designs: dict[str, Spec] = {}
    for row in (*list_designs(book), *list_designs(book, "archived")):
        try:
            designs[row.id] = specification_of(book, row.id, row.current)
        except RequestError:
            continue  # told where the design is opened
    return BookRead(readings=READINGS.rows(book), designs=designs)


def known_rows(shelf: Catalogue, designs: Mapping[str, Spec]) -> Catalogue:
    """Return the catalogue with leathers and boards that only designs name."""
    leathers = {row.name: row for row in shelf.leathers}
    boards = {row.name: row for row in shelf.boards}
    for spec in designs.values():
        for _, leather in spec.brief.leathers:
            leathers.setdefault(leather.name, leather)
        for board in (spec.tooling.mould_board, spec.tooling.template_board):
            boards.setdefault(board.name, board)
    return replace(shelf, leathers=tuple(leathers.values()), boards=tuple(boards.values()))


def learned_from(
    read: BookRead,
    shelf: Catalogue,
    rates: WorkshopRates,
    pressings: Pressings,
    progress: Callable[[str], None] = lambda _: None,
) -> LearnedShelf:
    """Return what the workshop knows.

    Args:
        read: Of the book.
        shelf: The catalogue.
        rates: Learning curve and batch before any reading.
        pressings: Solved sheets, kept by the caller.
        progress: Called with words before a slow step.
    """
    rows = known_rows(shelf, read.designs)
    leathers = {row.name: row for row in rows.leathers}
    pressed: dict[Subject, Pressed] = {}
    for one in read.readings.values():
        subject = subject_of(one)
        leather = leathers.get(subject.name)
        if one.kind.pressed and subject not in pressed and leather is not None:
            progress(f"pressing {leather.name}")
            pressed[subject] = _predictor(leather, read.designs, pressings)
    return learned_shelf(read.readings, rows, pressed, rates)


def shelf_in(
    book: Book,
    pressings: Pressings,
    progress: Callable[[str], None] = lambda _: None,
) -> LearnedShelf:
    """Return what the workshop knows as the book keeps it; learned, and kept there, where not.

    Args:
        book: Whose readings count.
        pressings: Solved sheets, kept by the caller.
        progress: Called with words before a slow step.
    """
    kept = kept_shelf(book)
    if kept is not None:
        return kept
    key = key_of(book)
    shelf = learned_from(
        read_book(book), built_in_catalogue(), rates_in(book).rates, pressings, progress
    )
    if key_of(book) == key:  # nobody has written readings meanwhile
        keep_shelf(book, key, shelf)
    return shelf


def _predictor(leather: Leather, designs: Mapping[str, Spec], pressings: Pressings) -> Pressed:
    def predict(reading: BenchReading) -> Predict:
        if reading.kind.cracks:
            top = SHARP_MM if reading.kind.sharp else CROWN_MM
            plug = partial(pressings.plug, leather, crown_mm=top)
            return used_at(plug, reading.value, reading.kind.cracks)
        if not reading.design:
            sheet, hollow = pressings.plug(leather, reading.depth_mm or 0.0), 0
        else:
            spec = designs.get(reading.design)
            if spec is None:
                raise RequestError(
                    f"{reading.what} of a design that is not in the book",
                    mend="Withdraw the reading",
                )
            sheet, hollow = pressings.zone(spec, reading.place)
        return _of(sheet, hollow, reading)

    return predict


def _of(sheet: SheetForetold, hollow: int, reading: BenchReading) -> Predict:
    if reading.what.startswith("pull-in"):
        return sheet.prediction(reading.what)
    ratio = sheet.prediction(f"{reading.what.removeprefix('dry size ')} {hollow}")
    plug = reading.of or 0.0

    def size(values: Values) -> float:
        return plug * ratio(values)

    return size
