"""A hide read from a photo with scale cards: the door to the library of pictures."""
