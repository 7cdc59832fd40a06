"""Independent checks of tools, which share nothing with what makes them."""
