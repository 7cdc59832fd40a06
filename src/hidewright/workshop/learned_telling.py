"""What was learned as remarks on a design, as lines of words and as plain figures."""

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from hidewright.design.specification import Specification
from hidewright.errors import Remark
from hidewright.workshop.learned import LearnedShelf, Reckoned, Used
from hidewright.workshop.learned_words import told

#: A board this much off what is reckoned with does not matter, mm: as much as a card shim mends.
NO_MATTER_MM = 0.1


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
                    for one in some
                )
            ),
        )
        for (place, row), some in rows.items()
    )


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


def in_words(shelf: LearnedShelf) -> Iterator[str]:
    """Yield what is known, a line for each value of the workshop's own, then odd readings."""
    for about in shelf.about:
        lot = f", {about.subject.lot}" if about.subject.lot else ""
        count = "1 reading counts" if about.counted == 1 else f"{about.counted} readings count"
        yield f"{about.subject.name}{lot}: {count}"
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
                "known": [asdict(one) for one in about.known],
            }
            for about in shelf.about
        ],
        "questioned": [key for key, one in shelf.judged.items() if one.questioned],
        "unplaced": dict(shelf.unplaced),
    }
