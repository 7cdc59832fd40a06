"""What was learned as remarks on a design, as lines of words and as plain figures."""

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from hidewright.design.specification import Specification
from hidewright.errors import Remark
from hidewright.learning.priors import leather_with
from hidewright.tooling.gap import soaked_thickness_mm
from hidewright.workshop.learned import LearnedShelf, Reckoned, Used
from hidewright.workshop.learned_words import surprise_words, told

#: A board this much off what is reckoned with does not matter, mm: as much as a card shim mends.
NO_MATTER_MM = 0.1
#: A remark tells so many own values, those that moved furthest; the page Book tells all.
MOST_TOLD = 5


def learned_remarks(reckoned: Reckoned) -> tuple[Remark, ...]:
    """Return one note for each row that the workshop's own values stand in for."""
    rows: dict[tuple[str, str], list[Used]] = {}
    for one in reckoned.used:
        rows.setdefault((one.place, one.row), []).append(one)
    return tuple(
        Remark(
            code="reckoned-with-own-values",
            severity="note",
            place=place,
            sentence=(
                f"{row} is reckoned with your workshop's own values: "
                + "; ".join(
                    f"{one.known.words} {told(one.known.now, one.known.unit)} (catalogue: "
                    f"{told(one.known.before, one.known.unit, likely=False)})"
                    for one in sorted(some, key=_moved, reverse=True)[:MOST_TOLD]
                )
                + (f"; and {len(some) - MOST_TOLD} more" if len(some) > MOST_TOLD else "")
            ),
        )
        for (place, row), some in rows.items()
    )


def _moved(one: Used) -> float:
    """Return how far a value moved, as a share of the catalogue's range."""
    before = one.known.before
    return abs(one.known.now.likely - before.likely) / max(before.high - before.low, 1e-12)


def board_remarks(spec: Specification[Any], shelf: LearnedShelf) -> tuple[Remark, ...]:
    """Return a warning for each board that was measured and is not what a design reckons with.

    A plug and its frame are stacks of plates: what each of them is off adds up in the heights.
    """
    remarks: list[Remark] = []
    for words, board in (
        ("mould board", spec.tooling.mould_board),
        ("template board", spec.tooling.template_board),
    ):
        about = shelf.of("board", board.name)
        measured = about.own.get("thickness_mm") if about else None
        if measured is None or abs(measured - board.thickness_mm) <= NO_MATTER_MM:
            continue
        remarks.append(
            Remark(
                code="board-not-as-measured",
                severity="warning",
                place=words,
                amount=abs(measured - board.thickness_mm),
                limit=NO_MATTER_MM,
                sentence=(
                    f"Your {board.name} was measured at {measured:.2f} mm, the design reckons with "
                    f"{board.thickness_mm:.2f} mm: each plate is off by that, so the plug's height "
                    "and the gaps of the mould do not come out as drawn"
                ),
            )
        )
    return tuple(remarks)


def gap_remarks(spec: Specification[Any], shelf: LearnedShelf) -> tuple[Remark, ...]:
    """Return a warning for each leather that was measured and wants another gap than a design's.

    That is so where the maker has written a thickness of his own into the design, or reckons with
    the catalogue.
    """
    remarks: list[Remark] = []
    factor = spec.tooling.gap_factor
    for role, leather in spec.brief.leathers:
        about = shelf.of("leather", leather.name)
        names = ("thickness_mm", "soak_growth_thickness")
        own = {name: about.own[name] for name in names if name in about.own} if about else {}
        if not own:
            continue
        gap, wanted = (
            factor * soaked_thickness_mm(one) for one in (leather, leather_with(leather, own))
        )
        if abs(wanted - gap) <= NO_MATTER_MM:
            continue
        remarks.append(
            Remark(
                code="gap-not-as-measured",
                severity="warning",
                place=role,
                amount=abs(wanted - gap),
                limit=NO_MATTER_MM,
                sentence=(
                    f"Your {leather.name} as measured wants a gap of {wanted:.2f} mm, the design "
                    f"reckons with {gap:.2f} mm: "
                    + (
                        "the wall would be pinched"
                        if wanted > gap
                        else "the wall would come out slack"
                    )
                ),
            )
        )
    return tuple(remarks)


def measured_remarks(reckoned: Reckoned, shelf: LearnedShelf) -> tuple[Remark, ...]:
    """Return all that measured values say about a design that is reckoned with them."""
    return (
        *board_remarks(reckoned.spec, shelf),
        *gap_remarks(reckoned.spec, shelf),
        *learned_remarks(reckoned),
    )


def in_words(shelf: LearnedShelf) -> Iterator[str]:
    """Yield what is known, a line for each value of the workshop's own, then odd readings."""
    for about in shelf.about:
        lot = f", {about.subject.lot}" if about.subject.lot else ""
        count = "1 reading counts" if about.counted == 1 else f"{about.counted} readings count"
        yield f"{about.subject.name}{lot}: {count}"
        if surprised := surprise_words(about.result.wider):
            yield f"  {surprised}"
        for one in about.known:
            if one.informed:
                before = told(one.before, one.unit)
                yield f"  {one.words}: {told(one.now, one.unit)} (catalogue: {before})"
    for key, verdict in shelf.judged.items():
        if verdict.questioned:
            yield (
                f"{key[:8]} is questioned: {abs(verdict.off):.0f} times the usual deviation off; "
                "withdraw or keep it"
            )
    for key, why in shelf.unplaced:
        yield f"{key[:8]} says nothing: {why}"


def as_figures(shelf: LearnedShelf) -> dict[str, Any]:
    """Return what is known as plain figures for machines."""
    return {
        "about": [
            {
                **asdict(about.subject),
                "readings": about.counted,
                "catalogue_taken_wider_by": about.result.wider,
                "known": [asdict(one) for one in about.known],
            }
            for about in shelf.about
        ],
        "questioned": [key for key, one in shelf.judged.items() if one.questioned],
        "unplaced": dict(shelf.unplaced),
    }
