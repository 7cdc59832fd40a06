"""What is short on the shelf, or worn, for a design that is open."""

from typing import Any

from hidewright.design.specification import Specification
from hidewright.design.stock_item import (
    StockItem,
    ToolingSet,
    stock_remarks,
    tooling_remarks,
)
from hidewright.errors import Remark
from hidewright.store.book import Book
from hidewright.store.book_stock import STOCK
from hidewright.store.book_tooling import TOOLING

#: Kinds of rows that it goes by.
KINDS = frozenset({STOCK.kind, TOOLING.kind})


class OnTheShelf:
    """Stock and moulds as they were read last."""

    def __init__(self) -> None:
        self._items: tuple[StockItem, ...] = ()
        self._sets: tuple[ToolingSet, ...] = ()

    def read(self, book: Book) -> None:
        """Read them anew; called beside the event loop."""
        self._items = tuple(STOCK.rows(book).values())
        self._sets = tuple(TOOLING.rows(book).values())

    def remarks(self, design: str, spec: Specification[Any]) -> tuple[Remark, ...]:
        """Return what is short of what a design takes, and which of its moulds are worn."""
        brief, tooling = spec.brief, spec.tooling
        names = {
            brief.thread.name,
            tooling.mould_board.name,
            tooling.template_board.name,
            *(leather.name for _, leather in brief.leathers),
            *(fitting.name for _, fitting in brief.fittings),
            *(magnet.name for _, magnet in brief.magnets),
        }
        return (
            *stock_remarks(tuple(one for one in self._items if one.name in names)),
            *tooling_remarks(tuple(one for one in self._sets if one.design == design)),
        )
