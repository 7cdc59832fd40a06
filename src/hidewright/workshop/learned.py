"""From the book's readings to what this workshop knows, and designs reckoned with it.

What is learned takes the place of a row's value only where readings bear on it and the design has
the catalogue's value: what the maker has written in the design himself stays.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, TypeVar

from hidewright.catalogue.boards import Board
from hidewright.catalogue.leathers import MEASURED, Leather
from hidewright.catalogue.shelf import Catalogue
from hidewright.catalogue.step_rows import WorkTime, built_in_times
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.bench_reading import BenchReading, SubjectKind
from hidewright.design.interval import Interval
from hidewright.design.specification import Specification
from hidewright.errors import RequestError
from hidewright.learning.belief import Belief
from hidewright.learning.models import Catalogues, Pressed, observation
from hidewright.learning.priors import (
    board_prior,
    board_with,
    leather_prior,
    leather_values,
    leather_with,
    minutes_name,
    work_prior,
)
from hidewright.learning.quantities import EXPONENT
from hidewright.learning.update import Judged, Learned, Observation, learned
from hidewright.planning.step_times import told_first
from hidewright.planning.steps_choice import BenchChoice

#: Values that agree to this share are the same.
SAME = 1e-6
#: Times are the hands', whatever the work.
HANDS = "your hands"

Row = TypeVar("Row", Leather, Board)


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What readings are about: a leather, a board, or the hands; and which lot of it."""

    sort: SubjectKind
    name: str
    lot: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """One quantity, before the readings and now.

    Attributes:
        name: Of the quantity.
        words: The same for the maker.
        unit: As in ``Quantity``.
        before: What the catalogue says.
        now: What the readings say.
        informed: Whether readings bear on it.
    """

    name: str
    words: str
    unit: str
    before: Interval
    now: Interval
    informed: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class About:
    """What is known about one subject.

    Attributes:
        subject: Which.
        row: The catalogue's row of it; None for the hands.
        result: Beliefs, and how each reading was taken.
        counted: Readings that count.
        latest: Day of the last one that counts.
    """

    subject: Subject
    row: Leather | Board | None
    result: Learned
    counted: int
    latest: date | None

    @property
    def known(self) -> tuple[Known, ...]:
        """Every quantity, before and now."""
        informed = self.result.informed
        return tuple(
            Known(
                name=one.name,
                words=one.words,
                unit=one.unit,
                before=self.result.before.interval(one.name),
                now=self.result.after.interval(one.name),
                informed=one.name in informed,
            )
            for one in self.result.after.quantities
        )

    @property
    def own(self) -> dict[str, float]:
        """Values that readings bear on, by name, no finer than a bench can tell."""
        values = self.result.after.values
        return {
            name: round(values[name], 2) if name == "thickness_mm" else float(f"{values[name]:.4g}")
            for name in self.result.informed
        }


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LearnedShelf:
    """All that the workshop has learned.

    Attributes:
        about: Every subject and lot that has readings.
        unplaced: (id of a reading, why it says nothing) such as a leather that no row names.
    """

    about: tuple[About, ...] = ()
    unplaced: tuple[tuple[str, str], ...] = ()

    @property
    def judged(self) -> dict[str, Judged]:
        """How each reading was taken, by its id."""
        return {one.key: one for about in self.about for one in about.result.judged}

    def of(self, sort: SubjectKind, name: str) -> About | None:
        """Return what is known of the lot in use: the one that was read last."""
        found = [
            one
            for one in self.about
            if (one.subject.sort, one.subject.name) == (sort, name) and one.counted
        ]
        return max(found, key=lambda one: one.latest or date.min, default=None)


NOTHING = LearnedShelf()


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """A value of the workshop's own that a design is reckoned with.

    Attributes:
        place: Role of the leather, or which board.
        row: Name of the row.
        known: The quantity.
        field: Its first field in the design file.
    """

    place: str
    row: str
    known: Known
    field: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reckoned:
    """A design as it is reckoned with.

    Attributes:
        spec: With the workshop's own values.
        used: Each of them.
    """

    spec: Specification[Any]
    used: tuple[Used, ...] = field(default=())


def learned_shelf(
    readings: Mapping[str, BenchReading],
    rows: Catalogue,
    pressed: Mapping[Subject, Pressed],
    rates: WorkshopRates,
) -> LearnedShelf:
    """Return what readings say.

    Args:
        readings: By id, in the order in which they came in; withdrawn ones are as if not there.
        rows: Leathers and boards that they may be about.
        pressed: Predicts what is read on pressed leather, for each leather with such readings.
        rates: The learning curve that is believed before, and the batch that times hold at.
    """
    groups: dict[Subject, list[tuple[str, BenchReading]]] = {}
    for key, one in sorted(readings.items(), key=lambda item: item[1].day):
        if one.standing != "withdrawn":
            groups.setdefault(subject_of(one), []).append((key, one))
    about: list[About] = []
    unplaced: list[tuple[str, str]] = []
    for subject, some in groups.items():
        try:
            row, before = _before(subject, [one for _, one in some], rows, rates)
        except RequestError as refused:
            unplaced += [(key, str(refused)) for key, _ in some]
            continue
        predict = pressed.get(subject, _nothing_pressed)
        catalogue = Catalogues(times_hold_at=rates.times_hold_at)
        if isinstance(row, Leather):
            catalogue = replace(catalogue, drying_hours=row.drying_hours)
        seen: list[Observation] = []
        for key, one in some:
            try:
                seen.append(observation(key, one, predict, catalogue, before.values))
            except RequestError as refused:
                unplaced.append((key, str(refused)))
        result = learned(before, seen)
        counts = {one.key for one in result.judged if not one.questioned}
        days = [one.day for key, one in some if key in counts]
        about.append(
            About(
                subject=subject,
                row=row,
                result=result,
                counted=len(days),
                latest=max(days, default=None),
            )
        )
    return LearnedShelf(about=tuple(about), unplaced=tuple(unplaced))


def subject_of(reading: BenchReading) -> Subject:
    """Return what a reading is about; all kinds of work are the hands'."""
    sort = reading.kind.subject
    return Subject(sort=sort, name=HANDS if sort == "work" else reading.subject, lot=reading.lot)


def with_learned(spec: Specification[Any], shelf: LearnedShelf) -> Reckoned:
    """Return a design reckoned with the workshop's own values."""
    used: list[Used] = []
    leathers = tuple(
        (role, _own_leather(role, leather, shelf, used)) for role, leather in spec.brief.leathers
    )
    tooling = replace(
        spec.tooling,
        mould_board=_own_board("mould_board", spec.tooling.mould_board, shelf, used),
        template_board=_own_board("template_board", spec.tooling.template_board, shelf, used),
    )
    if not used:
        return Reckoned(spec=spec)
    return Reckoned(
        spec=replace(
            spec,
            brief=replace(spec.brief, leathers=leathers),
            tooling=tooling,
        ),
        used=tuple(used),
    )


def own_times(shelf: LearnedShelf) -> tuple[WorkTime, ...]:
    """Return the minutes of the kinds of work that were timed."""
    hands = shelf.of("work", HANDS)
    own = hands.own if hands else {}
    rows: list[WorkTime] = []
    for row in built_in_times():
        factor = own.get(minutes_name(row.name))
        if factor is not None:
            rows.append(
                replace(
                    row,
                    load_minutes=row.load_minutes * factor,
                    thing_minutes=row.thing_minutes * factor,
                    unit_minutes=row.unit_minutes * factor,
                    source="timed in this workshop",
                )
            )
    return tuple(rows)


def own_bench(shelf: LearnedShelf, bench: BenchChoice) -> BenchChoice:
    """Return how the maker works by the times of the workshop: typed ones before timed ones."""
    return replace(bench, times=told_first(bench.times, own_times(shelf)))


def own_rates(shelf: LearnedShelf, rates: WorkshopRates) -> WorkshopRates:
    """Return the workshop's rates with its own learning curve."""
    hands = shelf.of("work", HANDS)
    exponent = hands.own.get(EXPONENT.name) if hands else None
    if exponent is None:
        return rates
    return replace(rates, learning=max(0.5, min(1.0, 2.0**-exponent)))


def _before(
    subject: Subject, readings: Sequence[BenchReading], rows: Catalogue, rates: WorkshopRates
) -> tuple[Leather | Board | None, Belief]:
    if subject.sort == "board":
        board = _row(rows.boards, subject)
        return board, board_prior(board)
    if subject.sort == "leather":
        leather = _row(rows.leathers, subject)
        return leather, leather_prior(leather)
    works = tuple(dict.fromkeys(one.subject for one in readings))
    known = {row.name for row in built_in_times()}
    for work in works:
        if work not in known:
            raise RequestError(f"no step is a {work!r}", mend=f"There are: {', '.join(known)}")
    return None, work_prior(works, rates.learning)


def _row(rows: tuple[Row, ...], subject: Subject) -> Row:
    for row in rows:
        if row.name == subject.name:
            return row
    raise RequestError(
        f"no {subject.sort} is called {subject.name!r}",
        because="neither the catalogue nor a design names it",
        mend="Write its name as the design does",
    )


def _nothing_pressed(reading: BenchReading) -> Any:
    raise RequestError(
        f"{reading.what} of {reading.subject}",
        because="what was pressed is not in the book any more",
        mend="Withdraw the reading",
    )


def _own_leather(role: str, leather: Leather, shelf: LearnedShelf, used: list[Used]) -> Leather:
    about = shelf.of("leather", leather.name)
    if about is None:
        return leather
    assert isinstance(about.row, Leather)
    as_written = {
        **leather_values(leather),
        "stiffness": leather.wet_matrix_MPa / about.row.wet_matrix_MPa,
    }
    own = _own(f"leathers.{role}", role, leather.name, about, as_written, used)
    if not own:
        return leather
    return replace(leather_with(leather, own), source=_source(leather.source, own))


def _own_board(field: str, board: Board, shelf: LearnedShelf, used: list[Used]) -> Board:
    about = shelf.of("board", board.name)
    if about is None:
        return board
    as_written = {"kerf_mm": board.kerf_mm, "thickness_mm": board.thickness_mm}
    own = _own(f"tooling.{field}", field.replace("_", " "), board.name, about, as_written, used)
    if not own:
        return board
    return replace(board_with(board, own), source=_source(board.source, own))


def _source(catalogue: str, own: Mapping[str, float]) -> str:
    """Return where a row's figures come from; packs carry it in their design file."""
    return f"{', '.join(own)} {MEASURED}; else {catalogue}"


def _own(
    path: str,
    place: str,
    row: str,
    about: About,
    as_written: Mapping[str, float],
    used: list[Used],
) -> dict[str, float]:
    own: dict[str, float] = {}
    for known in about.known:
        catalogue = math.isclose(as_written[known.name], known.before.likely, rel_tol=SAME)
        if known.informed and catalogue:
            own[known.name] = about.own[known.name]
            used.append(Used(place=place, row=row, known=known, field=f"{path}.{known.name}"))
    return own
