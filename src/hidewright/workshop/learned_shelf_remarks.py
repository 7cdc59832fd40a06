"""What a book has to say about a design: values of its own, short stock, worn moulds."""

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from hidewright.design.specification import Specification
from hidewright.design.stock_item import (
    StockItem,
    ToolingSet,
    stock_remarks,
    tooling_remarks,
)
from hidewright.errors import Remark, RequestError
from hidewright.planning.steps_choice import BenchChoice
from hidewright.planning.workshop import Workshop
from hidewright.store.book import Book
from hidewright.store.book_designs import list_designs
from hidewright.store.book_stock import STOCK
from hidewright.store.book_tooling import TOOLING
from hidewright.store.book_versions import specification_of
from hidewright.store.book_workshop import workshop_of
from hidewright.workshop.learned import LearnedShelf, own_bench, with_learned
from hidewright.workshop.learned_beliefs import Beliefs, beliefs_of
from hidewright.workshop.learned_telling import measured_remarks

Spec = Specification[Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class ByBook:
    """A design as a workshop reckons with it.

    Attributes:
        spec: With the workshop's own values.
        believed: Of its leathers and boards.
        remarks: On those values, on what is short and on what is worn.
        shelf: All that the workshop knows.
        bench: How it is made at its bench.
    """

    spec: Spec
    believed: Beliefs
    remarks: tuple[Remark, ...]
    shelf: LearnedShelf
    bench: BenchChoice


def reckoned_by(
    path: Path,
    spec: Spec,
    learn: Callable[[Book], LearnedShelf],
) -> ByBook:
    """Return a design as the workshop of a book reckons with it.

    Args:
        path: The book's file.
        spec: The design.
        learn: Returns what the workshop knows.

    Raises:
        RequestError: When several designs of its name are in the book, none of them is this one as
            it stands, and they are made in different steps.
    """
    with Book(path, new=False) as book:
        shelf = learn(book)
        items, sets = STOCK.rows(book).values(), TOOLING.rows(book).values()
        named = {row.id for row in list_designs(book) if row.name == spec.brief.name}
        shop = workshop_of(book)
        several = named if len(named) > 1 else ()
        alike = {one for one in several if specification_of(book, one) == spec}
    own = with_learned(spec, shelf)
    boards = (own.spec.tooling.mould_board, own.spec.tooling.template_board)
    return ByBook(
        spec=own.spec,
        believed=beliefs_of(own.spec.brief.leathers, boards, shelf),
        remarks=(*measured_remarks(own, shelf), *on_the_shelf(items, sets, named, spec)),
        shelf=shelf,
        bench=own_bench(shelf, _bench(shop, alike or named, spec.brief.name)),
    )


def _bench(shop: Workshop, ids: Collection[str], name: str) -> BenchChoice:
    """Return how the design of that name is made, where all of them are made alike."""
    benches = [shop.bench_of(one) for one in sorted(ids) or [""]]
    if any(bench != benches[0] for bench in benches):
        raise RequestError(
            f"{len(ids)} designs in the book are called {name!r}",
            because="they are made in different steps, and it is not told which of them is meant",
            mend="Rename one of them in the app, and give the design file that name",
        )
    return benches[0]


def on_the_shelf(
    items: Iterable[StockItem], sets: Iterable[ToolingSet], designs: Iterable[str], spec: Spec
) -> tuple[Remark, ...]:
    """Return what is short of what a design takes, and which of its moulds are worn.

    Args:
        items: What lies on the shelf.
        sets: Moulds.
        designs: Ids of the design.
        spec: The design.
    """
    brief, tooling, ids = spec.brief, spec.tooling, set(designs)
    names = {
        brief.thread.name,
        tooling.mould_board.name,
        tooling.template_board.name,
        *(leather.name for _, leather in brief.leathers),
        *(fitting.name for _, fitting in brief.fittings),
        *(magnet.name for _, magnet in brief.magnets),
    }
    return (
        *stock_remarks(tuple(one for one in items if one.name in names)),
        *tooling_remarks(tuple(one for one in sets if one.design in ids)),
    )
