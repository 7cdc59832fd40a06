"""Hides and sheets in the workshop, in the book."""

from hidewright.design.stock_hide import StockHide
from hidewright.store.book_drawers import Drawer

HIDES = Drawer(kind="hide", noun=StockHide)
SHEETS = Drawer(kind="sheet", noun=StockHide)
