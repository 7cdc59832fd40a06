"""Laying pieces on hides and parts on sheets: search, bounds and an independent checker."""
