"""A design that is open: edited, undone, saved as it is edited, and the same in every window."""

import asyncio
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from hidewright.catalogue.shelf import Catalogue
from hidewright.design.specification import Specification
from hidewright.errors import Remedy, RequestError
from hidewright.store.book import Book
from hidewright.store.book_designs import design_of, rename
from hidewright.store.book_versions import (
    Conflict,
    save_version,
    set_current,
    specification_of,
    versions,
)
from hidewright.store.write_design import write_design
from hidewright.workshop.edit import edited, with_remedy

Spec = Specification[Any]
Clock = Callable[[], str]
#: What changed: the design itself, or only whether it is saved.
What = Literal["design", "saved"]
Heard = Callable[[What], None]

#: A drag that is not let go counts as one step after so long, s.
LEFT_S = 1.0


@dataclass(slots=True, eq=False)
class Step:
    """One state in the history of a design.

    Attributes:
        why: What was done, in a few words.
        number: Its version in the book; None until it is saved.
        spec: None until it is read from the book.
    """

    why: str
    number: int | None
    spec: Spec | None


class Desk:
    """One open design. All of it runs in the event loop; the book is written beside it.

    Attributes:
        id: Of the design in the book.
        spec: The design as it is edited now.
        revision: Grows with every change, also while a slider is held.
        trouble: Why the last edit is not saved; empty when all is well.
        notice: What another program did to it meanwhile, in words, until the next step.
    """

    def __init__(
        self, id: str, book: Book, clock: Clock, past: list[Step], future: list[Step]
    ) -> None:
        """Take the history of a design; ``open_desk`` reads it from a book."""
        first = past[-1].spec
        assert first is not None
        self.id = id
        self.spec: Spec = first
        self.revision = 0
        self.trouble = self.notice = ""
        self._book = book
        self._clock = clock
        self._past = past
        self._future = future
        self._at = past[-1].number
        self._heard: list[Heard] = []
        self._writing = asyncio.Lock()
        self._tasks: set[asyncio.Task[None]] = set()
        self._left: asyncio.TimerHandle | None = None
        self._doing = ""

    def listen(self, heard: Heard) -> Callable[[], None]:
        """Have every change told; return what ends that."""
        self._heard.append(heard)
        return lambda: self._heard.remove(heard) if heard in self._heard else None

    @property
    def is_watched(self) -> bool:
        """Whether any window shows it."""
        return bool(self._heard)

    @property
    def is_saved(self) -> bool:
        """Whether the book has all of it."""
        return not self._tasks and not self._doing and not self.trouble

    @property
    def undoes(self) -> str:
        """What undo would take back, in words; empty when there is nothing."""
        return self._doing or (self._past[-1].why if len(self._past) > 1 else "")

    @property
    def redoes(self) -> str:
        """What redo would do again, in words; empty when there is nothing."""
        return self._future[-1].why if self._future and not self._doing else ""

    def edit(self, field: str, text: str, shelf: Catalogue, *, held: bool = False) -> None:
        """Change one field.

        Args:
            field: Path of the field.
            text: The value as written.
            shelf: Where rows are taken from.
            held: A slider or handle is still held: the step is not finished.

        Raises:
            RequestError: When the field does not take the value; nothing is changed.
        """
        self.put(edited(self.spec, field, text, shelf), words_for(field, text), held=held)

    def mend(self, remedy: Remedy, shelf: Catalogue) -> None:
        """Make the changes of a remedy, as one step.

        Raises:
            RequestError: When a field does not take its value; nothing is changed.
        """
        why = f"{remedy.field.rpartition('.')[2].replace('_', ' ')}: mended"
        self.put(with_remedy(self.spec, remedy, shelf), why)

    def put(self, spec: Spec, why: str, *, held: bool = False) -> None:
        """Change the design as one step, or as part of one while something is held."""
        if self._doing and self._doing.split(":")[0] != why.split(":")[0]:
            self._commit()
        if spec == self.spec and not self._doing:
            return
        self.spec = spec
        self._doing = why
        self.revision += 1
        if self._left is not None:
            self._left.cancel()
            self._left = None
        if held:
            self._left = asyncio.get_running_loop().call_later(LEFT_S, self._commit)
        else:
            self._commit()
        self._tell("design")

    def look_anew(self) -> None:
        """Have every window look again: what the design is reckoned with has changed."""
        self.revision += 1
        self._tell("design")

    def undo(self) -> None:
        """Take the last step back."""
        self._commit()
        if len(self._past) > 1:
            self._future.append(self._past.pop())
            self._go()

    def redo(self) -> None:
        """Do again what was taken back last."""
        self._commit()
        if self._future:
            self._past.append(self._future.pop())
            self._go()

    async def settle(self) -> None:
        """Wait until the book has all of it, or writing failed."""
        self._commit()
        while self._tasks:
            await asyncio.gather(*self._tasks, return_exceptions=True)

    async def look_again(self) -> None:
        """Take over what another process wrote into the book."""
        async with self._writing:
            if self._doing or len(self._tasks) > 0:
                return
            await self._reload_if_moved()

    def _commit(self) -> None:
        if self._left is not None:
            self._left.cancel()
            self._left = None
        if not self._doing:
            return
        why, self._doing = self._doing, ""
        self.notice = ""
        if self._past[-1].spec == self.spec:
            return  # the slider came back to where it was
        step = Step(why=why, number=None, spec=self.spec)
        self._past.append(step)
        self._future.clear()
        self._do(self._save(step))

    def _go(self) -> None:
        self.notice = ""
        self._do(self._move(self._past[-1]))
        self._show(self._past[-1])

    def _show(self, step: Step) -> None:
        if step.spec is not None:
            self.spec = step.spec
            self.revision += 1
            self._tell("design")

    def _do(self, work: Any) -> None:
        task = asyncio.get_running_loop().create_task(work)
        self._tasks.add(task)

        def done(task: asyncio.Task[None]) -> None:
            self._tasks.discard(task)
            self._tell("saved")

        task.add_done_callback(done)

    async def _save(self, step: Step) -> None:
        async with self._writing:
            await self._written(step)

    async def _move(self, step: Step) -> None:
        async with self._writing:
            try:
                if step.spec is None and step.number is not None:
                    step.spec = await asyncio.to_thread(
                        specification_of, self._book, self.id, step.number
                    )
                    if self._past[-1] is step:
                        self._show(step)
                if step.number is None or self._at is None:
                    await self._written(step)
                    return
                moved = await asyncio.to_thread(
                    set_current, self._book, self.id, step.number, was=self._at, when=self._clock()
                )
            except RequestError as refused:
                self.trouble = refused.sentence
                return
            if isinstance(moved, Conflict):
                await self._reload_if_moved()
            else:
                self._at, self.trouble = moved, ""

    async def _written(self, step: Step) -> None:
        spec, parent = step.spec, self._at
        assert spec is not None
        assert parent is not None

        def write() -> int | Conflict:
            when = self._clock()
            saved = save_version(
                self._book,
                self.id,
                text=write_design(spec),
                parent=parent,
                when=when,
                why=step.why,
            )
            if not isinstance(saved, Conflict):
                rename(self._book, self.id, name=spec.brief.name, when=when)
            return saved

        try:
            saved = await asyncio.to_thread(write)
        except RequestError as refused:
            self.trouble = refused.sentence
            return
        if isinstance(saved, Conflict):
            await self._reload_if_moved()
            # nothing is lost: redo leads to what was done here
            self._future.append(step)
            self.notice = f"Another program changed it meanwhile; Redo brings back your {step.why}"
        else:
            step.number = self._at = saved
            self.trouble = ""

    async def _reload_if_moved(self) -> None:
        current = await asyncio.to_thread(design_of, self._book, self.id)
        if current.current == self._at:
            return
        past, future = await asyncio.to_thread(_history, self._book, self.id)
        self._past, self._future, self._at = past, future, past[-1].number
        self._show(past[-1])

    def _tell(self, what: What) -> None:
        for heard in tuple(self._heard):
            heard(what)


def open_desk(id: str, book: Book, clock: Clock) -> Desk:
    """Return a design of the book as it was left, with its history.

    Raises:
        RequestError: When it is not there, or its text cannot be read.
    """
    past, future = _history(book, id)
    return Desk(id, book, clock, past, future)


def words_for(field: str, text: str) -> str:
    """Return an edit in a few words, such as ``lip radius: 3 mm``."""
    name = field.rpartition(".")[2].replace("_", " ")
    return f"{name}: {text[:40]}"


def _history(book: Book, id: str) -> tuple[list[Step], list[Step]]:
    """Return (steps up to the current one, steps that redo leads to, the next one last)."""
    rows = {version.number: version for version in versions(book, id)}
    current = design_of(book, id).current
    past: list[Step] = []
    at: int | None = current
    while at is not None:
        past.append(Step(why=rows[at].why, number=at, spec=None))
        at = rows[at].parent
    past.reverse()
    past[-1].spec = specification_of(book, id, current)
    future: list[Step] = []
    newest = {version.parent: version for version in rows.values() if version.parent is not None}
    after = newest.get(current)  # rows rise, so the newest child stands
    while after is not None:
        future.append(Step(why=after.why, number=after.number, spec=None))
        after = newest.get(after.number)
    future.reverse()
    return past, future
