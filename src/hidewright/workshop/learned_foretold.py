"""Times that readings are compared with: as the catalogue tells them, whoever told them."""

from dataclasses import replace

from hidewright.catalogue.leathers import Leather
from hidewright.design.bench_reading import BenchReading, SubjectKind
from hidewright.learning.priors import minutes_name
from hidewright.workshop.learned import HANDS, LearnedShelf


def by_catalogue(reading: BenchReading, shelf: LearnedShelf) -> BenchReading:
    """Return a reading whose foretold time was told by own values as if the catalogue had told it.

    What is learned is how far the bench is from the catalogue. Compared with a time in which that
    is reckoned already, a reading would say that the catalogue was right after all.
    """
    factor = own_over_catalogue(reading.kind.subject, reading.what, reading.subject, shelf)
    if reading.of is None or factor is None:
        return reading
    return replace(reading, of=reading.of / factor)


def own_over_catalogue(
    sort: SubjectKind, what: str, subject: str, shelf: LearnedShelf
) -> float | None:
    """Return own over catalogue's of a time that readings are compared with; None for no own one.

    Args:
        sort: What the reading is about.
        what: Its kind.
        subject: Name of the leather or the kind of work.
        shelf: What the workshop has learned.
    """
    about = shelf.of(sort, HANDS if sort == "work" else subject)
    if about is None:
        return None
    if what == "minutes":
        return about.own.get(minutes_name(subject))
    own = about.own.get("drying_hours") if what == "drying hours" else None
    if own is None or not isinstance(about.row, Leather):
        return None
    return own / about.row.drying_hours
