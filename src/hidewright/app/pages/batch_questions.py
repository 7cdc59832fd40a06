"""What one window asks the process that plans."""

from collections.abc import Callable
from typing import Any

from nicegui import ui

from hidewright.app.asked_batch import BatchAsked
from hidewright.app.shop import BATCH, Shop
from hidewright.app.worker import Done, Part, Progress, Tell


class Questions:
    """Questions of one window, one of each sort at a time."""

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._client = ui.context.client
        self._sorts: set[str] = set()

    def ask(
        self,
        sort: str,
        question: BatchAsked,
        found: Callable[[Any], object],
        done: Callable[[Done], None] = lambda _: None,
        says: Callable[[str], None] = lambda _: None,
    ) -> None:
        """Ask, in place of an older question of the sort.

        Args:
            sort: In a word.
            question: What is asked.
            found: Called with each answer.
            done: Called at the end.
            says: Called with what is being worked on.
        """

        def tell(what: Part | Progress | Done) -> None:
            with self._client:
                match what:
                    case Progress(words=words):
                        says(words)
                    case Part(value=value):
                        found(value)
                    case Done():
                        done(what)

        told: Tell = tell
        self._sorts.add(sort)
        self._shop.ask(BATCH, f"{sort} {self._client.id}", question, told)

    def give_up(self, *sorts: str) -> None:
        """Give up questions of some sorts; of all when none is named."""
        for sort in sorts or tuple(self._sorts):
            self._shop.give_up(BATCH, f"{sort} {self._client.id}")
