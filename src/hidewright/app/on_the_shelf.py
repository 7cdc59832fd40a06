"""What is short on the shelf, or worn, for a design that is open."""

from typing import Any

from hidewright.design.specification import Specification
from hidewright.design.stock_item import StockItem, ToolingSet
from hidewright.errors import Remark
from hidewright.store.book import Book
from hidewright.store.book_stock import STOCK
from hidewright.store.book_tooling import TOOLING
from hidewright.workshop.learned_shelf_remarks import on_the_shelf

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
        return on_the_shelf(self._items, self._sets, (design,), spec)
