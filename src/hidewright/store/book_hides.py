"""Hides and sheets in the workshop, in the book."""

from hidewright.design.stock_hide import StockHide
from hidewright.store.book import Book
from hidewright.store.book_drawers import Drawer

HIDES = Drawer(kind="hide", noun=StockHide)
SHEETS = Drawer(kind="sheet", noun=StockHide)


def leather_in_stock(book: Book) -> dict[str, float]:
    """Return how much leather there is in hides and their rests, m2 by its name."""
    found: dict[str, float] = {}
    for stock in HIDES.rows(book).values():
        if stock.state == "in stock":
            found[stock.material] = found.get(stock.material, 0.0) + stock.area_m2
    return found
