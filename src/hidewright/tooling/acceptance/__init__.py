"""Independent checks of moulds, templates and cut paths; they share nothing with what makes them."""
