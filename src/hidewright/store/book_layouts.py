"""Layouts that the maker keeps, in the book."""

from hidewright.design.cut_layout import CutLayout
from hidewright.store.book_drawers import Drawer

LAYOUTS = Drawer(kind="layout", noun=CutLayout)
