"""Moulds in the book, and how often they have been pressed."""

import uuid
from dataclasses import replace

from hidewright.design.stock_item import ToolingSet
from hidewright.store.book import Book
from hidewright.store.book_drawers import Drawer

TOOLING = Drawer(kind="tooling", noun=ToolingSet)


def pressed(book: Book, id: str, times: int = 1) -> ToolingSet:
    """Count pressings of a mould; below 0 takes some back.

    Raises:
        RequestError: When it is not in the book, or has not been pressed so often.
    """
    return TOOLING.edit(book, id, lambda one: replace(one, pressings=one.pressings + times))


def keep_tooling(book: Book, one: ToolingSet) -> str:
    """Put a mould into the book; return its id."""
    id = str(uuid.uuid4())
    TOOLING.put(book, id, one)
    return id
