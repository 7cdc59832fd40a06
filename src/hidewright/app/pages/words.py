"""The words of the trade, each in one meaning."""

from hidewright.app.parts import Words, box, frame
from hidewright.app.shop import Shop


def words_page(shop: Shop) -> None:
    """Build the page."""
    with frame(shop, "Words of the trade"), box("section", "designs facts words"):
        Words("h1", "Words of the trade")
        with box("dl"):
            for word, meaning in shop.words.items():
                Words("dt", word)
                Words("dd", meaning)
