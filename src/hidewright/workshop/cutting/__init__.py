"""Pieces of designs on hides, tools on boards: what is asked, the layout, its files."""
