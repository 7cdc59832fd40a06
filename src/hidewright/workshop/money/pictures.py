"""Two pictures of a price: how it falls with the batch, and what moves it most."""

import math
from collections.abc import Iterator, Sequence
from html import escape

from hidewright.costing.ladder import Rung
from hidewright.costing.tornado import BY, Swing
from hidewright.drawing.line_styles import number
from hidewright.workshop.money.priced import CAUSES
from hidewright.workshop.money.tables import in_currency

WIDTH = 420.0
#: Height of the ladder; room at its left, right, top and bottom.
LADDER_HIGH = 250.0
LEFT, RIGHT, TOP, BOTTOM = 64.0, 14.0, 16.0, 40.0
#: Batches that the level axis names.
NAMED = (1, 2, 5, 10, 20, 50, 120)
#: A bar of the tornado, the room above it for its words, and the room under all bars.
BAR, BAR_WORDS, FOOT = 18.0, 20.0, 8.0
BAR_ENDS = 86.0


def ladder_picture(rungs: Sequence[Rung], batch: int, currency: str) -> str:
    """Return price and cost of one over batches of 1 to 120, the chosen one marked.

    Each batch size counts as much as its doubling: the level axis is logarithmic. Classes, no
    colours: ``price``, ``cost``, ``here``, ``axis``, ``rule``.
    """
    said = in_currency(currency)
    high = max(rung.asked.gross_minor for rung in rungs) or 1
    step = _round_step(high / 4)
    top = step * math.ceil(high / step)

    def at(rung: Rung, minor: int) -> str:
        return f"{number(_across(rung.batch))} {number(_up(minor, top))}"

    parts = [
        f'<path class="rule" d="M{LEFT:g} {number(_up(value, top))}H{WIDTH - RIGHT:g}"/>'
        f'<text class="axis" text-anchor="end" x="{LEFT - 6:g}" y="{number(_up(value, top) + 4)}">'
        f"{escape(said(value).partition(' ')[0])}</text>"
        for value in range(0, top + 1, step)
    ]
    parts += [
        f'<text class="axis" text-anchor="middle" x="{number(_across(n))}" '
        f'y="{LADDER_HIGH - BOTTOM + 16:g}">{n}</text>'
        for n in NAMED
    ]
    parts.append(
        f'<text class="axis" text-anchor="end" x="{WIDTH - RIGHT:g}" y="{LADDER_HIGH - 6:g}">'
        "how many are made at a time</text>"
        f'<text class="axis" x="4" y="{LADDER_HIGH - 6:g}">{escape(currency)}</text>'
    )
    for name, minors in (
        ("price", [rung.asked.gross_minor for rung in rungs]),
        ("cost", [rung.asked.cost_minor for rung in rungs]),
    ):
        line = "L".join(at(rung, minor) for rung, minor in zip(rungs, minors, strict=True))
        parts.append(f'<path class="{name}" d="M{line}"/>')
        above = max(minors[-NAMED[-1] // 2 :])
        last = _up(above, top)
        parts.append(
            f'<text class="axis" text-anchor="end" x="{WIDTH - RIGHT:g}" y="{number(last - 7)}">'
            f"{name} of one</text>"
        )
    here = next((rung for rung in rungs if rung.batch == batch), None)
    label = "Price and cost of one by batch size"
    if here is not None:
        parts.append(
            f'<circle class="here" r="5" cx="{number(_across(batch))}" '
            f'cy="{number(_up(here.asked.gross_minor, top))}"/>'
        )
        label += f"; at {batch} the price is {said(here.asked.gross_minor)}"
    return _svg(label, LADDER_HIGH, "".join(parts))


def tornado_picture(swings: Sequence[Swing], currency: str) -> str:
    """Return a bar for each cause, from the price when it is less to that when it is more.

    Classes, no colours: ``less``, ``more``, ``axis``, ``rule``.
    """
    said = in_currency(currency)
    low = min(swing.low_minor for swing in swings)
    high = max(swing.high_minor for swing in swings)
    middle = _middle(swings)
    reach = max(high - middle, middle - low, 1)

    def across(minor: float) -> float:
        return WIDTH / 2 + (minor - middle) / reach * (WIDTH / 2 - BAR_ENDS)

    parts: list[str] = []
    for i, swing in enumerate(swings):
        y = (BAR + BAR_WORDS) * i + BAR_WORDS
        parts.append(f'<text class="axis" x="4" y="{y - 5:g}">{escape(CAUSES[swing.cause])}</text>')
        for sort, start, end in (
            ("less", swing.low_minor, middle),
            ("more", middle, swing.high_minor),
        ):
            wide = max(across(end) - across(start), 0.0)
            parts.append(
                f'<rect class="{sort}" x="{number(across(start))}" y="{y:g}" '
                f'width="{number(wide)}" height="{BAR:g}"/>'
            )
        ends = (
            ("end", swing.low_minor, -5.0),
            ("start", swing.high_minor, 5.0),
        )
        parts += [
            f'<text class="axis" text-anchor="{anchor}" x="{number(across(minor) + beside)}" '
            f'y="{y + 13:g}">{escape(said(minor).partition(" ")[0])}</text>'
            for anchor, minor, beside in ends
        ]
    tall = (BAR + BAR_WORDS) * len(swings) + FOOT
    parts.append(f'<path class="rule" d="M{number(WIDTH / 2)} {BAR_WORDS - 4:g}V{tall - 4:g}"/>')
    told = "; ".join(
        f"{CAUSES[one.cause]}: {said(one.low_minor)} to {said(one.high_minor)}" for one in swings
    )
    label = f"Price before tax when each is {BY:.0%} less or more. {told}"
    return _svg(label, tall, "".join(parts))


def _middle(swings: Sequence[Swing]) -> float:
    """Return where the bars' two halves meet: a price is a straight line in each of its causes."""
    return sum(one.low_minor + one.high_minor for one in swings) / (2 * len(swings))


def _across(batch: int) -> float:
    share = math.log(batch) / math.log(NAMED[-1])
    return LEFT + share * (WIDTH - LEFT - RIGHT)


def _up(minor: float, top: float) -> float:
    return LADDER_HIGH - BOTTOM - minor / top * (LADDER_HIGH - TOP - BOTTOM)


def _round_step(about: float) -> int:
    """Return 1, 2 or 5 with noughts behind, not below a number and at least 1.

    >>> _round_step(37.0), _round_step(0.2)
    (50, 1)
    """
    return next(step for step in _steps() if step >= about)


def _steps() -> Iterator[int]:
    power = 1
    while True:
        yield from (power, 2 * power, 5 * power)
        power *= 10


def _svg(label: str, high: float, inner: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="money-picture" role="img" '
        f'viewBox="0 0 {WIDTH:g} {high:g}" aria-label="{escape(label)}">{inner}</svg>'
    )
