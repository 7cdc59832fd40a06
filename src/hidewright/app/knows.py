"""What the workshop knows of its own, as the running app holds it for every page."""

import asyncio
from collections.abc import Callable
from typing import Any, Protocol

from hidewright.app.asked_book import BOOK, BookAsked, Effects, Learnt
from hidewright.app.worker import Done, Part, Progress, Tell
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.specification import Specification
from hidewright.errors import Remark
from hidewright.planning.steps_choice import BenchChoice
from hidewright.store.book import Book
from hidewright.store.book_readings import READINGS
from hidewright.store.book_settings import put_setting, setting
from hidewright.workshop.learned import (
    NOTHING,
    LearnedShelf,
    Reckoned,
    own_bench,
    own_rates,
    with_learned,
)
from hidewright.workshop.learned_beliefs import Beliefs, beliefs_of
from hidewright.workshop.learned_kept import last_shelf
from hidewright.workshop.learned_telling import measured_remarks

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
        self._asked: set[str] = set()
        self._put_off: dict[str, tuple[Callable[[], None], Tell]] = {}

    async def begin(self) -> None:
        """Take over what was learned last, and learn where readings or model are others since."""
        last = await asyncio.to_thread(last_shelf, self._shop.book)
        if last is not None:
            self.shelf = last.shelf
            self._shop.look_anew()
            self._shop.tell("learned")
        if last is None or not last.is_of_now:
            rows = await asyncio.to_thread(READINGS.rows, self._shop.book)
            if rows or last is not None:
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
        key = f"book {design}"
        self._asked.add(key)
        self._shop.ask(BOOK, key, asked, self._telling(key, told))

    def after(self, key: str, do: Callable[[], None], tell: Tell) -> None:
        """Do something at once, or when what is being learned now is known.

        Args:
            key: By which it can be given up until then.
            do: What to do.
            tell: Hears what it waits for, and the end if it is given up.
        """
        if not self._asked or not self.uses:
            do()
            return
        self._put_off[key] = (do, tell)
        tell(Progress("your readings, with which it is reckoned"))

    def give_up(self, key: str) -> bool:
        """Give up what was put off; return whether it was."""
        _, tell = self._put_off.pop(key, (None, None))
        if tell is not None:
            tell(Done(dropped=True))
        return tell is not None

    def _known(self, key: str) -> None:
        self._asked.discard(key)
        while self._put_off and not self._asked:
            do, _ = self._put_off.pop(next(iter(self._put_off)))
            do()

    def _telling(self, key: str, told: Callable[[Effects | Done], None] | None) -> Tell:
        def tell(what: Part | Progress | Done) -> None:
            match what:
                case Part(value=Learnt(shelf=shelf)):
                    self.shelf = shelf
                    self.state = ""
                    self._shop.look_anew()
                    self._known(key)
                case Part(value=Effects() as effects) if told is not None:
                    told(effects)
                case Progress(words=words):
                    self.state = f"Working on: {words} ..."
                    return
                case Done() as done:
                    self.state = str(done.refused or "")
                    if done.crashed:
                        self.state = "This could not be reckoned: a mistake of ours, not yours."
                    self._known(key)
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

    def believed(self, spec: Spec) -> Beliefs:
        """Return what is believed about the rows of a design as it is reckoned with."""
        tooling = spec.tooling
        boards = (tooling.mould_board, tooling.template_board)
        return beliefs_of(spec.brief.leathers, boards, self.used())

    def bench(self, bench: BenchChoice) -> BenchChoice:
        """Return how the maker works with the minutes that were timed here, where none is typed."""
        return own_bench(self.used(), bench)

    def rates(self, rates: WorkshopRates) -> WorkshopRates:
        """Return the workshop's rates with its own learning curve."""
        return own_rates(self.shelf, rates) if self.uses else rates

    def used(self) -> LearnedShelf:
        """Return what was learned where designs are reckoned with it; nothing where not."""
        return self.shelf if self.uses else NOTHING

    def remarks(self, spec: Spec) -> tuple[Remark, ...]:
        """Return what is to be said about the values that a design is reckoned with."""
        reckoned = with_learned(spec, self.shelf) if self.uses else Reckoned(spec=spec)
        return measured_remarks(reckoned, self.shelf)
