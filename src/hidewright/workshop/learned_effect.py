"""How a design's figures move from the catalogue's values to the workshop's own."""

from collections.abc import Callable
from typing import Any

from hidewright.catalogue.prices import Price
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.specification import Specification
from hidewright.learning.priors import leather_prior
from hidewright.planning.steps_choice import BenchChoice
from hidewright.units.minutes import format_minutes
from hidewright.units.money import Money, format_money
from hidewright.workshop import article
from hidewright.workshop.book_learned import Pressings
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.learned import (
    NOTHING,
    LearnedShelf,
    own_bench,
    own_rates,
    with_learned,
)
from hidewright.workshop.learned_effect_rows import DrySize, Effect, Moved
from hidewright.workshop.learned_minutes import minutes_words
from hidewright.workshop.learned_ranges import PIECE_MM
from hidewright.workshop.money.price import priced
from hidewright.workshop.money.priced import Priced

#: A batch for which minutes and price are told.
BATCH = 10
_WANTED = ("pressed blanks", "mouldings", "blank facts")


def effect_on(
    spec: Specification[Any],
    shelf: LearnedShelf,
    pressings: Pressings,
    rates: WorkshopRates,
    prices: tuple[Price, ...],
    bench: BenchChoice,
    cache: Cache,
    progress: Callable[[str], None] = lambda _: None,
) -> Effect:
    """Return how the figures of a design moved.

    Raises:
        RequestError: When the design cannot be computed.
    """
    own, timed = with_learned(spec, shelf).spec, own_bench(shelf, bench)
    figures = [_figures(one, by, cache, progress) for one, by in ((spec, bench), (own, timed))]
    asked = [
        priced(
            one,
            rate,
            prices,
            BATCH,
            cache,
            progress,
            bench=by,
            learned=known,
        )
        for one, rate, by, known in (
            (spec, rates, bench, NOTHING),
            (own, own_rates(shelf, rates), timed, shelf),
        )
    ]
    rows = [
        *((words, a, b) for (words, a), (_, b) in zip(*figures, strict=True)),
        (
            f"Hands on for one, in a batch of {BATCH}",
            *(minutes_words(one.likely.minutes) if one.likely else "" for one in asked),
        ),
        ("Price", *(_price_words(one) for one in asked)),
    ]
    return Effect(
        design=spec.brief.name,
        sizes=dry_sizes(spec, shelf, pressings),
        moved=tuple(Moved(words=w, catalogue=a, own=b) for w, a, b in rows),
    )


def _price_words(found: Priced) -> str:
    """Return the price that is asked, with the range in which hands and curve leave it."""

    def money(minor: float) -> str:
        return format_money(Money(minor=round(minor), currency=found.cost.currency))

    asked = money(found.asked.gross_minor)
    if found.likely is None:
        return asked
    return f"{asked}, likely {money(found.likely.price.low)} to {money(found.likely.price.high)}"


def dry_sizes(
    spec: Specification[Any], shelf: LearnedShelf, pressings: Pressings
) -> tuple[DrySize, ...]:
    """Return what the hollows of a design dry to over the plugs that the catalogue leads to."""
    out: list[DrySize] = []
    for one in pressings.blanks(spec):
        leather = dict(spec.brief.leathers)[one.blank.role]
        before = leather_prior(leather)
        about = shelf.of("leather", leather.name)
        now = about.result.after if about else before
        for zone in one.zones:
            place = "/".join(zone.sources[0])
            sheet, hollow = pressings.zone(spec, place)
            for direction, plug_mm in (
                ("along", zone.plug.height),
                ("across", zone.plug.width),
            ):
                ratio = sheet.prediction(f"{direction} {hollow}")

                def size(values: Any, ratio: Any = ratio, plug_mm: float = plug_mm) -> float:
                    return plug_mm * float(ratio(values))

                out.append(
                    DrySize(
                        place=place,
                        direction=direction,
                        plug_mm=plug_mm,
                        before=before.foretold(size, error=PIECE_MM),
                        now=now.foretold(size, error=PIECE_MM),
                    )
                )
    return tuple(out)


def _figures(
    spec: Specification[Any],
    bench: BenchChoice,
    cache: Cache,
    progress: Callable[[str], None],
) -> list[tuple[str, str]]:
    inputs = inputs_of(spec, "A4", bench=bench)
    values = evaluate(article.NODES, inputs, _WANTED, cache, progress).values
    for value in values.values():
        if isinstance(value, Missing):
            raise value.because
    rows = [
        ("Kerf in the mould board", f"{spec.tooling.mould_board.kerf_mm:.3f} mm"),
        ("Kerf in the template sheet", f"{spec.tooling.template_board.kerf_mm:.3f} mm"),
        ("Thickness of the mould board", f"{spec.tooling.mould_board.thickness_mm:.2f} mm"),
    ]
    facts = {one.blank: one for one in values["blank facts"]}
    for one, moulding in zip(values["pressed blanks"][0], values["mouldings"][0], strict=True):
        name = one.blank.name
        zone = one.zones[0]
        rows += [
            (f"Gap, {name}", f"{moulding.tool.gap_mm:.2f} mm"),
            (f"Plug, {name}", f"{zone.plug.width:.2f} x {zone.plug.height:.2f} mm"),
            (f"Plug height, {name}", f"{moulding.tool.plug_height_mm:.2f} mm"),
            (f"Blank to cut, {name}", f"{one.cut.width:.1f} x {one.cut.height:.1f} mm"),
            (f"On the plug, {name}", format_minutes(facts[name].plug_minutes)),
        ]
    return rows
