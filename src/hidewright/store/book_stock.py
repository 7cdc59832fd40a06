"""What lies on the shelf, in the book."""

import uuid
from dataclasses import replace

from hidewright.design.stock_item import StockItem
from hidewright.errors import RequestError
from hidewright.store.book import Book
from hidewright.store.book_drawers import Drawer
from hidewright.store.book_hides import leather_in_stock

STOCK = Drawer(kind="stock", noun=StockItem)


def take(book: Book, id: str, quantity: float) -> StockItem:
    """Take some of a thing off the shelf, or put some on with a quantity below 0.

    Raises:
        RequestError: When there is not so much of it, or it is not in the book.
    """

    def less(item: StockItem) -> StockItem:
        if quantity > item.quantity:
            raise RequestError(
                f"{quantity:g} {item.unit} of {item.name}",
                because=f"there are {item.quantity:g}",
                mend="Count what is there and write that",
            )
        used = item.used + max(quantity, 0.0)
        return replace(item, quantity=item.quantity - quantity, used=used)

    return STOCK.edit(book, id, less)


def stock_quantities(book: Book) -> dict[str, float]:
    """Return how much there is of everything by name, for shopping lists; rows of one name add.

    Leather is what lies on the shelf and the area of the hides and rests in stock, m2.
    """
    found = leather_in_stock(book)
    for item in STOCK.rows(book).values():
        found[item.name] = found.get(item.name, 0.0) + item.quantity
    return found


def keep_item(book: Book, item: StockItem) -> str:
    """Put a thing on the shelf; return its id."""
    id = str(uuid.uuid4())
    STOCK.put(book, id, item)
    return id
