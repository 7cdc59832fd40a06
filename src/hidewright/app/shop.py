"""Everything one running app holds: the book, the open designs, the processes beside it."""

import asyncio
import hashlib
import uuid
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from hidewright.app.asked import (
    Asked,
    BringAsked,
    Brought,
    CheckAsked,
    Checked,
    MendAsked,
    PackAsked,
)
from hidewright.app.bench import Bench
from hidewright.app.desk import Clock, Desk, open_desk
from hidewright.app.giving_way import GivingWay
from hidewright.app.knows import Knows
from hidewright.app.on_the_shelf import KINDS, OnTheShelf
from hidewright.app.worker import Done, Part, Progress, Tell, Worker
from hidewright.catalogue.shelf import Catalogue, built_in_catalogue
from hidewright.design.kinds.registry import kind_named
from hidewright.design.specification import Specification
from hidewright.drawing.tiles import Paper
from hidewright.errors import Remark, RequestError
from hidewright.store import book_designs
from hidewright.store.book import Book
from hidewright.store.book_changes import changes_since
from hidewright.store.book_settings import put_setting, setting
from hidewright.store.book_versions import specification_of, thin
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.store.glossary import glossary
from hidewright.store.write_design import write_design
from hidewright.workshop.form import Unit
from hidewright.workshop.paper_choice import PaperChoice
from hidewright.workshop.views.thumbnail import thumbnail

Spec = Specification[Any]
#: What reckons; loaded by the processes beside the server alone.
ANSWERS = "hidewright.app.answers"
#: What reads files; a process of its own, so that they need not wait for a calculation.
BRING = "hidewright.app.answers_bring:bring"
#: What plans.
BATCH = "hidewright.app.answers_batch:batch"
#: What a maker waits for, and is short, does not give way to other work.
AT_ONCE = frozenset({BATCH, BRING})
#: Pictures that browsers may still fetch, bytes in all.
HELD_BYTES = 120_000_000
#: How often others' edits in the same book are looked for, s.
LOOK_S = 2.0
#: The processes that calculate are started so long after one another, s.
START_S = 1.0
#: Every step of the last so many days is kept; before them the last of each day.
KEPT_DAYS = 7
#: A file that is brought is given up after so long, s.
BRING_S = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """A calculation that could not be finished.

    Attributes:
        words: For the maker.
        report: What to send to us; empty when the maker can mend it.
    """

    words: str
    report: str = ""


class Shop:
    """What the pages are built on; all of it runs in the event loop.

    Attributes:
        book: The workshop's book.
        shelf: The catalogue.
        words: Meanings of the words of the trade.
        knows: The workshop's own values, with which designs are reckoned.
        bench: What phones at the bench are shown, once it is switched on.
        left_at: What a page had chosen when it was left, by the page's name; until the app ends.
    """

    def __init__(self, path: Path | None, clock: Clock) -> None:
        """Open the book.

        Args:
            path: Its file; the user's own without it.
            clock: Tells the time now, ISO 8601 with its offset from UTC.
        """
        self.book = Book(path)
        self.shelf: Catalogue = built_in_catalogue()
        self.words: Mapping[str, str] = dict(glossary())
        self._checked: dict[str, tuple[int, Checked | Trouble]] = {}
        self._clock = clock
        self._desks: dict[str, Desk] = {}
        self._opening = asyncio.Lock()
        self._held: OrderedDict[str, tuple[bytes, str]] = OrderedDict()
        self._live = Worker("live", f"{ANSWERS}:live")
        self._whole = Worker("whole", f"{ANSWERS}:whole", behind=True)
        self._mend = Worker("mend", f"{ANSWERS}:mend", behind=True)
        self._seen = changes_since(self.book, 0).counter
        self._looking: asyncio.Task[None] | None = None
        self._unit: Unit = "in" if setting(self.book, "unit", "mm") == "in" else "mm"
        self._waiters: dict[str, list[Callable[[], None]]] = {}
        #: The revision of each design that is being looked at closely, or was last.
        self._checking: dict[str, int] = {}
        self._starts: list[asyncio.TimerHandle] = []
        self._others: dict[str, Worker] = {}
        self._giving_way = GivingWay(self._behind)
        self._hearers: list[Callable[[frozenset[str]], None]] = []
        self.knows = Knows(self)
        self.bench = Bench()
        self.left_at: dict[str, Any] = {}
        self._on_shelf = OnTheShelf()

    async def start(self) -> None:
        """Start the processes and care for the book; called once in the running event loop."""
        loop = asyncio.get_running_loop()
        # one after the other, so that the first page need not share the machine with all of them
        workers = (self._live, self._whole)
        self._starts = [
            loop.call_later(START_S * turn, worker.start) for turn, worker in enumerate(workers, 1)
        ]
        self._looking = loop.create_task(self._look())
        await asyncio.to_thread(self._on_shelf.read, self.book)
        await asyncio.to_thread(self._care)
        await self.knows.begin()

    def _care(self) -> None:
        """Back the book up once a day, and of days long past keep one version each."""
        now = datetime.fromisoformat(self._clock())
        today = now.date().isoformat()
        if setting(self.book, "backed up on", "") == today:
            return
        self.book.back_up()
        since = (now - timedelta(days=KEPT_DAYS)).isoformat(timespec="seconds")
        for row in book_designs.list_designs(self.book):
            thin(self.book, row.id, since=since)
        put_setting(self.book, "backed up on", today)

    async def stop(self) -> None:
        """Save what is open, and end the processes."""
        for start in self._starts:
            start.cancel()
        if self._looking is not None:
            self._looking.cancel()
        await self.bench.close()
        for desk in self._desks.values():
            await desk.settle()
        for worker in (self._live, self._whole, self._mend, *self._others.values()):
            worker.stop()
        self.book.close()

    def now(self) -> str:
        """Return the time now, ISO 8601 with its offset from UTC."""
        return self._clock()

    @property
    def unit(self) -> Unit:
        """Unit that lengths are shown in."""
        return self._unit

    def choose_unit(self, unit: Unit) -> None:
        """Show lengths in another unit, from now on."""
        self._unit = unit
        put_setting(self.book, "unit", unit)

    async def desk(self, id: str) -> Desk:
        """Return an open design, opening it when it is not.

        Raises:
            RequestError: When it is not in the book, or cannot be read.
        """
        async with self._opening:
            if id not in self._desks:
                desk = await asyncio.to_thread(open_desk, id, self.book, self._clock)
                self._desks[id] = desk
            return self._desks[id]

    async def close_desk(self, id: str) -> None:
        """Forget an open design that no window shows, once it is saved."""
        desk = self._desks.get(id)
        if desk is None or desk.is_watched:
            return
        await desk.settle()
        if not desk.is_watched and not desk.trouble:
            self._desks.pop(id, None)
            self._checked.pop(id, None)

    async def add(self, spec: Spec, why: str) -> str:
        """Put a new design into the book and return its id."""
        id = str(uuid.uuid4())
        await asyncio.to_thread(self._add, id, spec, why)
        return id

    def _add(self, id: str, spec: Spec, why: str) -> None:
        book_designs.add_design(
            self.book,
            id,
            name=spec.brief.name,
            text=write_design(spec),
            when=self._clock(),
            why=why,
        )

    async def copy(self, id: str) -> str:
        """Copy a design and return the copy's id."""
        if id in self._desks:
            await self._desks[id].settle()
        spec = (await asyncio.to_thread(open_desk, id, self.book, self._clock)).spec
        name = f"{spec.brief.name[:70]} (copy)"
        return await self.add(
            replace(spec, brief=replace(spec.brief, name=name)), f"copy of {spec.brief.name}"
        )

    async def rename(self, id: str, name: str) -> None:
        """Give a design another name.

        Raises:
            RequestError: When it is no name, or the design is not there.
        """
        desk = await self.desk(id)
        desk.edit("name", name, self.shelf)
        await desk.settle()

    def begin_with_the_demo(self) -> None:
        """Put the demo workshop's articles into a book that has never had any."""
        if setting(self.book, "demo put in", False):
            return
        for name, data in demo_designs().items():
            spec = read_design(data, name=name).specification
            self._add(str(uuid.uuid4()), spec, "from the demo workshop")
        put_setting(self.book, "demo put in", True)

    def look(self, window: str, asked: Asked, tell: Tell) -> None:
        """Ask for pictures and figures for one window; newer questions take their place."""
        self._whole.leave_off(window)

        def told(what: Part | Progress | Done) -> None:
            tell(what)
            if isinstance(what, Done):
                self._giving_way.answered()

        self._giving_way.asked()
        self._live.ask(window, self._reckoned(asked), told)

    def look_sharply(self, window: str, asked: Asked, tell: Tell) -> None:
        """Ask for pictures of the fine pressing for one window, where it is known already."""
        self._whole.ask(window, self._reckoned(asked), tell)

    def _reckoned(self, asked: Asked) -> Asked:
        spec = self.knows.reckoned(asked.spec)
        return replace(asked, spec=spec, believed=self.knows.believed(spec))

    def _behind(self) -> tuple[Worker, ...]:
        others = (worker for make, worker in self._others.items() if make not in AT_ONCE)
        return (self._whole, self._mend, *others)

    def no_longer(self, window: str) -> None:
        """A window has gone."""
        self._live.cancel(window)
        self._whole.leave_off(window)

    def check(self, desk: Desk, done: Callable[[], None]) -> None:
        """Look closely at a design; ``done`` is called when ``known`` has what was found."""
        revision, spec = desk.revision, self.knows.reckoned(desk.spec)
        self._waiters.setdefault(desk.id, []).append(done)
        self._checking[desk.id] = revision

        def told(what: Part | Progress | Done) -> None:
            match what:
                case Part(value=Checked() as found):
                    self._checked[desk.id] = (revision, found)
                case Done() if (trouble := trouble_of(what)) is not None:
                    self._checked[desk.id] = (revision, trouble)
                case Done():
                    pass
                case _:
                    return
            if isinstance(what, Done):
                for waiting in self._waiters.pop(desk.id, []):
                    waiting()

        asked = CheckAsked(spec=spec, believed=self.knows.believed(spec))
        self._whole.ask(desk.id, asked, told)

    def check_no_more(self, desk: Desk) -> None:
        """Leave off looking closely at a design as it was: the maker goes on, and cores are few."""
        if self._checking.get(desk.id) != desk.revision:
            self._whole.leave_off(desk.id)

    def pack(self, key: str, spec: Spec, paper: Paper, choice: PaperChoice, tell: Tell) -> None:
        """Make a pack; ``tell`` hears progress, a ``Packed`` and the end."""

        def make() -> None:
            own = self.knows.reckoned(spec)
            believed = self.knows.believed(own)
            asked = PackAsked(
                spec=own,
                paper=paper,
                choice=replace(choice, bench=self.knows.bench(choice.bench)),
                believed=believed,
                told=self.knows.remarks(spec),
            )
            self._whole.ask(key, asked, tell)

        self.knows.after(key, make, tell)

    def mend(self, key: str, spec: Spec, tell: Tell) -> None:
        """Look for what would mend a design; ``tell`` hears progress, findings and the end."""
        self._mend.ask(key, MendAsked(spec=self.knows.reckoned(spec)), tell)

    def cancel(self, key: str) -> None:
        """Give up a pack or a search."""
        if not self.knows.give_up(key):
            self._whole.cancel(key)
            self._mend.cancel(key)

    def ask(self, make: str, key: str, question: object, tell: Tell) -> None:
        """Ask a process of its own, started at its first question.

        Args:
            make: ``module:function`` that makes what answers, see ``Worker``.
            key: Who asks for what; a newer question of a key takes the place of an older.
            question: Anything that can be pickled.
            tell: Hears parts, progress and the end.
        """
        if make not in self._others:
            behind = make not in AT_ONCE
            self._others[make] = Worker(make.partition(":")[2], make, behind=behind)
        self._others[make].ask(key, question, tell)

    def give_up(self, make: str, key: str) -> None:
        """Give up what was asked of such a process."""
        if make in self._others:
            self._others[make].cancel(key)

    def listen(self, hear: Callable[[frozenset[str]], None]) -> Callable[[], None]:
        """Call ``hear`` with the kinds of rows that others wrote; return what ends that.

        Kinds are those of ``book_drawers``, and ``design`` and ``setting``.
        """
        self._hearers.append(hear)
        return lambda: self._hearers.remove(hear)

    def tell(self, *kinds: str) -> None:
        """Tell every window that rows of some kinds were written here."""
        if KINDS & set(kinds):
            asyncio.get_running_loop().run_in_executor(None, self._on_shelf.read, self.book)
        for hear in tuple(self._hearers):
            hear(frozenset(kinds))

    async def bring(self, data: bytes, name: str, unit: str | None) -> Brought:
        """Read a design file or a drawing, with a time limit.

        Raises:
            RequestError: When it cannot be read, or not in time.
        """
        loop = asyncio.get_running_loop()
        answer: asyncio.Future[Brought] = loop.create_future()
        key = f"bring {uuid.uuid4()}"

        def told(what: Part | Progress | Done) -> None:
            if answer.done():
                return
            if isinstance(what, Part):
                answer.set_result(what.value)
            elif isinstance(what, Done):
                trouble = trouble_of(what)
                words = trouble.words if trouble else f"{name} took too long to read"
                answer.set_exception(what.refused or RequestError(words))

        self.ask(BRING, key, BringAsked(data=data, name=name, unit=unit), told)
        try:
            return await asyncio.wait_for(asyncio.shield(answer), BRING_S)
        except TimeoutError:
            self.give_up(BRING, key)
            raise RequestError(
                f"{name} was not read",
                because=f"it takes longer than {BRING_S:g} s",
                mend="Save it with fewer points, or in parts",
            ) from None

    def findings(
        self, desk: Desk, quick: tuple[Remark, ...] = ()
    ) -> tuple[tuple[Remark, ...], str]:
        """Return the remarks on a design, and a word on how closely it was looked at.

        Args:
            desk: The design.
            quick: Remarks to show until it was looked at closely.
        """
        own = (*self.knows.remarks(desk.spec), *self._on_shelf.remarks(desk.id, desk.spec))
        quick = (*quick, *own)
        match self.known(desk):
            case None:
                return quick, "Looking closely at the leather and the tools ..."
            case Trouble(words=words):
                return quick, words
            case Checked(remarks=found, missing=missing):
                remarks = (*map(_cannot_be_computed, missing), *found, *own)
        count = sum(r.severity == "forbids" for r in remarks)
        if not count:
            return remarks, "Looked at closely: nothing stands in the way of making it."
        are = "remark forbids" if count == 1 else "remarks forbid"
        return remarks, f"Looked at closely: {count} {are} making it so."

    def look_anew(self) -> None:
        """Have every open design looked at again with other values of the workshop's own."""
        self._checked.clear()
        for desk in self._desks.values():
            desk.look_anew()

    def known(self, desk: Desk) -> Checked | Trouble | None:
        """Return what looking closely at a design as it is now has found; None while it looks."""
        revision, found = self._checked.get(desk.id, (-1, None))
        return found if revision == desk.revision else None

    async def thumbnail(self, id: str) -> str:
        """Return a small picture of a design as SVG; empty when it cannot be drawn."""
        return await asyncio.to_thread(self._thumbnail, id)

    def _thumbnail(self, id: str) -> str:
        version = book_designs.design_of(self.book, id).current
        key = f"picture {id}"
        kept = setting(self.book, key)
        if isinstance(kept, list) and kept[0] == version:
            return str(kept[1])
        try:
            brief = specification_of(self.book, id, version).brief
            picture = thumbnail(kind_named(brief.kind).construct(brief))
        except RequestError:
            picture = ""
        put_setting(self.book, key, [version, picture])
        return picture

    def hold(self, data: bytes, sort: str) -> str:
        """Keep bytes for browsers to fetch; return their name, which is their digest."""
        name = hashlib.sha256(data).hexdigest()[:32]
        self._held[name] = (data, sort)
        self._held.move_to_end(name)
        while sum(len(d) for d, _ in self._held.values()) > HELD_BYTES and len(self._held) > 1:
            self._held.popitem(last=False)
        return name

    def held(self, name: str) -> tuple[bytes, str] | None:
        """Return bytes and their media type, or None when they are gone."""
        return self._held.get(name)

    async def _look(self) -> None:
        while True:
            await asyncio.sleep(LOOK_S)
            try:
                seen = await asyncio.to_thread(changes_since, self.book, self._seen)
            except RequestError:
                continue  # told where the next edit is saved
            self._seen = seen.counter
            for id in seen.designs & self._desks.keys():
                await self._desks[id].look_again()
            kinds = {
                *seen.kept,
                *(("design",) if seen.designs else ()),
                *(("setting",) if seen.settings else ()),
            }
            if kinds:
                self.tell(*kinds)


def _cannot_be_computed(refused: RequestError) -> Remark:
    return Remark(
        code="cannot-be-computed", severity="forbids", place="", sentence=refused.sentence
    )


def trouble_of(done: Done) -> Trouble | None:
    """Return what the end of a calculation has to tell, or None when all is well."""
    if done.refused is not None:
        return Trouble(words=str(done.refused))
    if done.crashed:
        return Trouble(
            words="This could not be calculated: a mistake of ours, not yours. Your design is "
            "saved and the rest works on. Change a measure to try again, or send us the report.",
            report=done.crashed,
        )
    return None
