"""A wet sheet between plug and cavity: stretch, thinning, puckering, pull-in, force, drying."""
