"""Customers' orders in the book."""

from hidewright.design.customer_order import CustomerOrder
from hidewright.store.book_drawers import Drawer

ORDERS = Drawer(kind="order", noun=CustomerOrder)
