"""A batch's plan as the maker keeps it: what is done when, how far it is, and what it comes to."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Literal

from hidewright.planning.loads import Load
from hidewright.planning.plan import Status

State = Literal["planned", "started", "done"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """A time at work without a pause.

    Attributes:
        start: Minute from the plan's Monday.
        end: Minute.
        person: Name of the hands.
    """

    start: int
    end: int
    person: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A step of a group of things of one load.

    Attributes:
        key: Unique, and the same in every plan of the load.
        load: Number of the load.
        step: Name of the step.
        words: What is done to how many, such as ``soak pair of shells, 2 blanks``.
        how: What to do.
        group: Number of the group in its load, from 1.
        groups: In how many the load is parted here.
        minutes: Hands-on.
        colour: In the booth; empty when it is not done there.
        times: When, in order.
        state: How far it is.
        after: Keys of the tasks that it waits for.
        rest: What passes behind it: drying, glue setting; empty for nothing.
        ready: Minute at which the rest has passed; None without one.
        first_off: Done once for a new tool, leather lot or thickness.
        day: Day that the maker wants it on, from the plan's Monday; None for any.
    """

    key: str
    load: int
    step: str
    words: str
    how: str = ""
    group: int = 1
    groups: int = 1
    minutes: int
    colour: str = ""
    times: tuple[Work, ...]
    state: State = "planned"
    after: tuple[str, ...] = ()
    rest: str = ""
    ready: int | None = None
    first_off: bool = False
    day: int | None = None

    @property
    def start(self) -> int:
        """Minute at which it begins."""
        return self.times[0].start

    @property
    def end(self) -> int:
        """Minute at which the hands are off it."""
        return self.times[-1].end


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A station taken by things of a load, from minute to minute."""

    station: str
    load: int
    count: int
    start: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """When an order is ready.

    Attributes:
        order: Its id.
        customer: Who wants it.
        article: What.
        count: How many are still made.
        ready: Minute at which the last of them is.
        due: Minute by which it should be; None for no matter when.
    """

    order: str
    customer: str
    article: str
    count: int
    ready: int
    due: int | None

    @property
    def late_days(self) -> int:
        """Days by which it is late, begun days whole; 0 when it is not."""
        return 0 if self.due is None else max(0, -((self.due - self.ready) // 1440))

    @property
    def late_words(self) -> str:
        """How late it is, such as ``1 day late``; empty when it is not."""
        days = self.late_days
        return f"{days} day{'s' if days > 1 else ''} late" if days else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchPlan:
    """What is done on which day.

    Attributes:
        monday: The day that minute 0 begins.
        made: Minute at which it was made: what is planned does not begin before.
        loads: What goes through the workshop together.
        articles: (id of a design, what it is called).
        tasks: In order of their begin.
        taken: Which stations are taken when.
        stations: (name, how many there are).
        orders: When each is ready.
        status: How good the plan is known to be.
        finish: Minute at which all is done.
        bound: Minute before which no plan can be done.
        rounds: Rounds of search.
        seed: Of the search.
        notes: What the maker must know about it.
        off: Days from the plan's Monday on which nobody works, until a week behind its finish.
        zone: Name of the time zone whose clock its minutes are; empty for any.
    """

    monday: date
    made: int
    loads: tuple[Load, ...]
    articles: tuple[tuple[str, str], ...]
    tasks: tuple[Task, ...]
    taken: tuple[Taken, ...]
    stations: tuple[tuple[str, int], ...]
    orders: tuple[Outcome, ...]
    status: Status
    finish: int
    bound: int
    rounds: int
    seed: int
    notes: tuple[str, ...] = ()
    off: tuple[int, ...] = ()
    zone: str = ""

    def load(self, number: int) -> Load:
        """Return a load."""
        return next(one for one in self.loads if one.number == number)

    def task(self, key: str) -> Task | None:
        """Return a task; None when it is not in this plan."""
        return next((one for one in self.tasks if one.key == key), None)

    def article_of(self, design: str) -> str:
        """Return what a design's article is called."""
        return dict(self.articles).get(design, design)

    def called(self, load: Load) -> str:
        """Return a load in words, such as ``load 3: 4 Lens case, tan``."""
        first = ", first-off" if load.first_off else ""
        article = self.article_of(load.design)
        return f"load {load.number}: {load.count} {article}, {load.colour}{first}"

    def entries(self) -> Iterator[tuple[Work, Task, int]]:
        """Yield (time, task, number of the time in its task) in order of their begin."""
        yield from sorted(
            ((work, task, k) for task in self.tasks for k, work in enumerate(task.times)),
            key=lambda one: (one[0].start, one[0].person, one[1].key),
        )

    def is_finished(self, load: int) -> bool:
        """Whether all of a load is done."""
        return all(task.state == "done" for task in self.tasks if task.load == load)

    def is_begun(self, load: int) -> bool:
        """Whether anything of a load is begun."""
        return any(task.state != "planned" for task in self.tasks if task.load == load)
