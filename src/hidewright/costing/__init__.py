"""Costing: what an article costs, what to ask for it, and what moves the price."""
