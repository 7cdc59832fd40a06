"""The words of the trade, each in one meaning."""

from dataclasses import dataclass

from hidewright.app.parts import Words, box, frame
from hidewright.app.shop import Shop


@dataclass(frozen=True, slots=True)
class WordsPage:
    """The glossary."""

    shop: Shop

    def build(self) -> None:
        """Build the page."""
        with frame(self.shop, "Words of the trade"), box("section", "designs facts words"):
            Words("h1", "Words of the trade")
            with box("dl"):
                for word, meaning in self.shop.words.items():
                    Words("dt", word)
                    Words("dd", meaning)
