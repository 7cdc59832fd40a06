"""What the workshop knows of its own, as the running app holds it for every page."""

from collections.abc import Callable
from typing import Any, Protocol

from hidewright.app.asked_book import BOOK, BookAsked, Effects, Learnt
from hidewright.app.worker import Done, Part, Progress, Tell
from hidewright.catalogue.step_rows import WorkTime
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.specification import Specification
from hidewright.errors import Remark
from hidewright.store.book import Book
from hidewright.store.book_readings import READINGS
from hidewright.store.book_settings import put_setting, setting
from hidewright.workshop.learned import (
    NOTHING,
    LearnedShelf,
    own_rates,
    own_times,
    with_learned,
)
from hidewright.workshop.learned_telling import board_remarks, learned_remarks

Spec = Specification[Any]
#: Whether designs are reckoned with the workshop's own values; the book keeps it under this.
SETTING = "reckon with own values"


class Asks(Protocol):
    """What learning needs of the running app."""

    book: Book

    def ask(self, make: str, key: str, question: object, tell: Tell) -> None:
        """Ask a process beside the server."""

    def tell(self, *kinds: str) -> None:
        """Tell every window what changed."""

    def look_anew(self) -> None:
        """Have every open design looked at again."""


class Knows:
    """The learned shelf of one running app; all of it runs in the event loop.

    Attributes:
        shelf: What was learned last.
        uses: Whether designs are reckoned with it.
        state: How far it is, in words.
    """

    def __init__(self, shop: Asks) -> None:
        """Begin with nothing learned; ``learn`` asks for it."""
        self._shop = shop
        self.shelf: LearnedShelf = NOTHING
        self.uses = setting(shop.book, SETTING, True) is not False
        self.state = ""

    def begin(self) -> None:
        """Learn from the readings that are there, if any are."""
        if READINGS.rows(self._shop.book):
            self.learn()

    def learn(self, design: str = "", told: Callable[[Effects | Done], None] | None = None) -> None:
        """Learn anew from all readings; every window hears of ``learned`` when it is done.

        Args:
            design: Whose figures are wanted besides.
            told: Hears them, and the end.
        """
        self.state = "Reckoning with your readings ..."
        self._shop.tell("learned")
        asked = BookAsked(path=self._shop.book.path, design=design)
        self._shop.ask(BOOK, f"book {design}", asked, self._telling(told))

    def _telling(self, told: Callable[[Effects | Done], None] | None) -> Tell:
        def tell(what: Part | Progress | Done) -> None:
            match what:
                case Part(value=Learnt(shelf=shelf)):
                    self.shelf = shelf
                    self.state = ""
                    self._shop.look_anew()
                case Part(value=Effects() as effects) if told is not None:
                    told(effects)
                case Progress(words=words):
                    self.state = f"Working on: {words} ..."
                    return
                case Done() as done:
                    self.state = str(done.refused or "")
                    if done.crashed:
                        self.state = "This could not be reckoned: a mistake of ours, not yours."
                    if told is not None:
                        told(done)
            self._shop.tell("learned")

        return tell

    def use(self, uses: bool) -> None:
        """Reckon designs with the workshop's own values from now on, or with the catalogue's."""
        self.uses = uses
        put_setting(self._shop.book, SETTING, uses)
        self._shop.look_anew()
        self._shop.tell("learned")

    def reckoned(self, spec: Spec) -> Spec:
        """Return a design as it is reckoned with."""
        return with_learned(spec, self.shelf).spec if self.uses else spec

    def times(self) -> tuple[WorkTime, ...]:
        """Return the minutes that were timed here, for whoever plans or prices."""
        return own_times(self.shelf) if self.uses else ()

    def rates(self, rates: WorkshopRates) -> WorkshopRates:
        """Return the workshop's rates with its own learning curve."""
        return own_rates(self.shelf, rates) if self.uses else rates

    def remarks(self, spec: Spec) -> tuple[Remark, ...]:
        """Return what is to be said about the values that a design is reckoned with."""
        if not self.uses:
            return board_remarks(spec, self.shelf)
        reckoned = with_learned(spec, self.shelf)
        return (*board_remarks(reckoned.spec, self.shelf), *learned_remarks(reckoned))
