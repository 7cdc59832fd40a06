"""Loads and their steps as a planning problem, what is begun held fast."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from hidewright.design.step import Step
from hidewright.errors import RequestError
from hidewright.planning.batch_plan import BatchPlan, Work
from hidewright.planning.calendar import DAY
from hidewright.planning.free_time import first_spans
from hidewright.planning.grouping import Group, Room, groups_of, open_time
from hidewright.planning.laid import Laid, key_of
from hidewright.planning.loads import Load, Wanted
from hidewright.planning.problem import (
    Hold,
    Kind,
    Operation,
    Order,
    Person,
    Problem,
    Span,
    Station,
    Wait,
)
from hidewright.planning.wall_clock import WallClock
from hidewright.planning.workshop import Workshop

#: A day that the maker asks for counts so much more than an order's lateness.
ASKED_WEIGHT = 50
CUTTING = ("cut blank", "cut piece")
MEASURED = "measure the first-off"
#: The booth is planned by its colour, not by how much is in it; the laser by the board on it.
BY_COLOUR = "booth"
LASER = "laser"


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """How an article of some colour is made.

    Attributes:
        design: Id of the design.
        colour: Of the dye.
        steps: Of one of a batch.
        first_off: Of the first one, with its tools.
    """

    design: str
    colour: str
    steps: tuple[Step, ...]
    first_off: tuple[Step, ...]

    def of(self, load: Load) -> tuple[Step, ...]:
        """Return the steps of a load."""
        return self.first_off if load.first_off else self.steps


def lay_out(
    loads: Sequence[Load],
    recipes: Sequence[Recipe],
    wanted: Sequence[Wanted],
    workshop: Workshop,
    monday: date,
    now: int,
    before: BatchPlan | None = None,
) -> Laid:
    """Return the problem that plans loads.

    Args:
        loads: What goes through the workshop together.
        recipes: How each is made.
        wanted: The orders with their due minutes.
        workshop: Hands, stations, limits.
        monday: The day that minute 0 begins.
        now: Minute before which nothing new begins, by the clock on the wall as all that is given.
        before: The plan until now, counted from the same Monday; what is begun in it stays.

    Raises:
        RequestError: When something cannot be done at all, in words.
    """
    one = _Laying(loads, recipes, wanted, workshop, monday, now, before)
    for load in loads:
        one.add(load)
    one.release_cutting()
    return one.laid()


@dataclass
class _Laying:
    """The problem as it is put together."""

    loads: Sequence[Load]
    recipes: Sequence[Recipe]
    wanted: Sequence[Wanted]
    workshop: Workshop
    monday: date
    now: int
    before: BatchPlan | None
    operations: list[Operation] = field(default_factory=list)
    keys: list[str] = field(default_factory=list)
    of: list[tuple[Load, Group]] = field(default_factory=list)
    waits: list[Wait] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)
    orders: list[Order] = field(default_factory=list)
    at: dict[tuple[int, str], list[int]] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        hands, holidays = self.workshop.hands, self.workshop.holidays
        self.clock = WallClock(self.workshop.zone, self.monday)
        self.now = self.clock.passed(self.now)
        shifts = self.clock.shifts()
        self.persons = tuple(
            Person(name=one.name, calendar=one.calendar(self.monday, holidays, shifts))
            for one in hands
        )
        self.longest = max(one.calendar.longest() for one in self.persons)
        self.setups = {BY_COLOUR: self.workshop.flush_minutes, LASER: self.workshop.board_minutes}
        passed = self.clock.passed
        dues = {one.order: None if one.due is None else passed(one.due) for one in self.wanted}
        self.number = {name: k for k, name in enumerate(dues)}
        for name, due in dues.items():
            # what is late already cannot be on time any more, but the sooner the better
            self.orders.append(
                Order(name=name, due=None if due is None else max(due, self.now + 1))
            )
        if not self.orders:
            self.orders.append(Order())
        self.begun = {
            task.key: task
            for task in (self.before.tasks if self.before else ())
            if task.state != "planned"
        }
        self.days = {
            task.key: task.day
            for task in (self.before.tasks if self.before else ())
            if task.day is not None and task.state == "planned"
        }
        self.parted = {(task.load, task.step): task.groups for task in self.begun.values()}

    def recipe(self, load: Load) -> Recipe:
        """Return how a load is made."""
        return next(
            one for one in self.recipes if (one.design, one.colour) == (load.design, load.colour)
        )

    def add(self, load: Load) -> None:
        """Put a load's operations, waits and holds in."""
        steps = self.recipe(load).of(load)
        stations = self._stations(load, steps)
        room = Room(
            stations=stations,
            longest_window=self.longest,
            wet_limit=self.workshop.wet_limit_minutes,
            setups=self.setups,
        )
        groups = groups_of(
            steps, load.count, room, lambda step: self.parted.get((load.number, step))
        )
        for group in groups:
            self._add_group(load, group, room)
        by_name = {step.name: step for step in steps}
        for group in groups:
            self._tie(load, group, by_name, room)

    def _stations(self, load: Load, steps: Iterable[Step]) -> dict[str, int]:
        """Return how many there are of each station that a load's steps hold, by its name."""
        shop, means = self.workshop, self.workshop.of(load.design)
        out: dict[str, int] = {}
        for hold in (hold for step in steps for hold in step.holds):
            moulds = means.moulds_of(hold.of)
            out[hold.name] = {
                "plug": moulds.plugs,
                "frame": moulds.frames,
                "hold-down ring": moulds.rings,
                "vise": shop.vises,
                "clamps": shop.clamps,
                "drying place": shop.drying_places,
                "tub": shop.bench.tub_holds,
                "booth": shop.bench.booth_holds,
                "laser": 1,
            }[hold.station]
            self.counts[self._counted_as(load, hold.name, hold.of)] = out[hold.name]
        return out

    def _counted_as(self, load: Load, name: str, of: str) -> str:
        """Return the station's name in the problem: moulds of two designs are different ones."""
        return f"{name}, {load.design}" if of else name

    def _add_group(self, load: Load, group: Group, room: Room) -> None:
        number = len(self.operations)
        step, key = group.step, key_of(load, group)
        held = {hold.station for hold in step.holds}
        board = step.setup if LASER in held and step.setup else None
        order = self.number.get(load.shares[0].order, 0)
        if key in self.days:
            order = self._asked_for(key)
        self.operations.append(
            Operation(
                load=load.number,
                step=step.name,
                minutes=max(1, group.minutes),
                kind=self._kind(group, room),
                least_part=self._least_part(),
                pieces=group.things,
                order=order,
                colour=load.colour if BY_COLOUR in held else board,
                machine="laser" if board else "booth",
            )
        )
        self.keys.append(key)
        self.of.append((load, group))
        self.at.setdefault((load.number, step.name), []).append(number)

    def _kind(self, group: Group, room: Room) -> Kind:
        """Return how a group may be parted: what is too short for two parts is done in one go."""
        step = group.step
        short = group.minutes + room.setup_minutes(step) < 2 * self._least_part()
        return "never" if step.interrupt == "breaks" and short else step.interrupt

    def _least_part(self) -> int:
        """Return the least part, where the hours have room for two of them."""
        least = self.workshop.least_part_minutes
        return least if 2 * least <= self.longest else 1

    def _asked_for(self, key: str) -> int:
        """Return the number of an order of one task alone, that is due on the day it is wanted."""
        day, passed = self.days[key] or 0, self.clock.passed
        self.orders.append(
            Order(
                name=key,
                release=passed(day * DAY),
                due=max(passed((day + 1) * DAY), self.now + 1),
                weight=ASKED_WEIGHT,
            )
        )
        return len(self.orders) - 1

    def _tie(self, load: Load, group: Group, steps: Mapping[str, Step], room: Room) -> None:
        here = self._number(load, group)
        for name in group.step.after:
            for before in self.at[load.number, name]:
                other = self.of[before][1]
                if group.meets(other):
                    least, most = open_time(other.step, group.step, other.things, room)
                    if other.step.work == "dye" and most is None:
                        most = self._dyed_limit(other.step, group.step, least, steps)
                    self.waits.append(Wait(before=before, after=here, least=least, most=most))
        for hold in group.step.holds:
            if hold.station == BY_COLOUR:
                continue
            last = next(i for i in self.at[load.number, hold.until] if self.of[i][1].meets(group))
            name = self._counted_as(load, hold.name, hold.of)
            one = hold.station == LASER
            self.holds.append(
                Hold(
                    station=name,
                    first=here,
                    last=last,
                    # what was begun with more than there are now has happened
                    amount=1 if one else max(1, min(group.things, self.counts[name])),
                )
            )

    def _dyed_limit(
        self, dye: Step, then: Step, least: int, steps: Mapping[str, Step]
    ) -> int | None:
        """Return how long what is dyed waits for a step at most; None for no limit.

        A step that also waits for another one behind the dyeing is not its next step.
        """
        limit = self.workshop.dyed_limit_minutes
        if not limit:
            return None
        if limit < least:
            raise RequestError(
                f"what is dyed must go on within {limit} minutes",
                because=f"{dye.name} dries for {least} minutes",
                mend="Let it wait longer, or 0 min for any time",
                where="dyed_limit",
            )
        todo, behind = list(then.after), set[str]()
        while todo:
            name = todo.pop()
            if name not in behind and name != dye.name:
                behind.add(name)
                todo += steps[name].after
        later = any(dye.name in steps[name].after for name in behind)
        return None if later else limit

    def _number(self, load: Load, group: Group) -> int:
        return next(
            i for i in self.at[load.number, group.step.name] if self.of[i][1].number == group.number
        )

    def release_cutting(self) -> None:
        """Let the cutting of a batch wait until its first-off is measured."""
        measured = {
            load.design: i
            for i, (load, group) in enumerate(self.of)
            if load.first_off and group.step.name == MEASURED
        }
        for i, (load, group) in enumerate(self.of):
            if load.first_off or load.design not in measured or group.step.work not in CUTTING:
                continue
            if not group.step.after:
                self.waits.append(Wait(before=measured[load.design], after=i))

    def laid(self) -> Laid:
        """Return the problem, with what is begun fixed."""
        fixed = tuple(self._fixed())
        waits, notes = self._still_to_keep(fixed)
        stations = tuple(
            Station(name=name, capacity=count) for name, count in sorted(self.counts.items())
        )
        return Laid(
            problem=Problem(
                operations=tuple(self.operations),
                waits=waits,
                stations=stations,
                holds=tuple(self.holds),
                persons=self.persons,
                flush_minutes=self.workshop.flush_minutes,
                board_minutes=self.workshop.board_minutes,
                orders=tuple(self.orders),
                fixed=fixed,
                now=self.now,
            ),
            keys=tuple(self.keys),
            loads=tuple(load for load, _ in self.of),
            groups=tuple(group for _, group in self.of),
            clock=self.clock,
            notes=notes,
        )

    def _fixed(self) -> Iterable[Span]:
        names = [one.name for one in self.workshop.hands]
        for i, key in enumerate(self.keys):
            task = self.begun.get(key)
            if task is None:
                continue
            for work in fitted(task.times, self.operations[i].minutes):
                person = names.index(work.person) if work.person in names else 0
                start = self.clock.passed(work.start)
                end = start + work.end - work.start
                yield Span(operation=i, start=start, end=end, person=person)

    def _still_to_keep(self, fixed: Sequence[Span]) -> tuple[tuple[Wait, ...], tuple[str, ...]]:
        """Return the waits, those that cannot be kept any more without their end; and notes."""
        ends: dict[int, int] = {}
        for span in fixed:
            ends[span.operation] = max(ends.get(span.operation, 0), span.end)
        waits: list[Wait] = []
        notes: list[str] = []
        for wait in self.waits:
            begun = wait.before in ends and wait.after not in ends
            if wait.most is not None and begun:
                latest = ends[wait.before] + wait.most
                if not self._somebody_can(wait.after, ends[wait.before] + wait.least, latest):
                    load, group = self.of[wait.after]
                    notes.append(
                        f"{group.step.name} of load {load.number} comes later than it should: "
                        "look at the leather first, and do the step before it again if need be."
                    )
                    wait = replace(wait, most=None)
            waits.append(wait)
        return tuple(waits), tuple(dict.fromkeys(notes))

    def _somebody_can(self, i: int, soonest: int, latest: int) -> bool:
        operation = self.operations[i]
        for one in self.persons:
            windows = one.calendar.until(latest + 14 * DAY)
            found = first_spans(
                windows,
                0,
                [],
                max(soonest, self.now),
                operation.minutes,
                operation.shortest_piece,
                operation.kind == "any",
                operation.kind == "breaks",
            )
            if found and found[0][0] <= latest:
                return True
        return False


def fitted(times: Sequence[Work], minutes: int) -> tuple[Work, ...]:
    """Return the times of what is begun, made as long as the step is now reckoned to take."""
    total = sum(one.end - one.start for one in times)
    if total >= minutes:
        return tuple(times)
    return (*times[:-1], replace(times[-1], end=times[-1].end + minutes - total))


def must_be_possible(workshop: Workshop, recipes: Iterable[Recipe]) -> None:
    """Refuse moulds that no design has, such as a plug of a blank that is not there."""
    blanks = {
        recipe.design: {hold.of for step in recipe.first_off for hold in step.holds if hold.of}
        for recipe in recipes
    }
    for means in workshop.means:
        for moulds in means.moulds if means.design in blanks else ():
            if moulds.blank not in blanks[means.design]:
                known = ", ".join(sorted(blanks[means.design])) or "it has none"
                raise RequestError(
                    f"there is no mould of {moulds.blank!r}",
                    because=f"the design's blanks are: {known}",
                    mend="Name one of them",
                    where="moulds",
                )
