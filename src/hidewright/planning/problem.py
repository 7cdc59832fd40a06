"""What is to be planned: operations, waits between them, stations they hold, hands and orders."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

from hidewright.errors import RequestError
from hidewright.planning.calendar import Calendar

Kind = Literal["never", "breaks", "any"]
#: What is set up for the work, one thing at a time: the booth for a colour, the laser for a board.
Machine = Literal["booth", "laser"]
MACHINES: tuple[Machine, ...] = ("booth", "laser")
#: No piece of an operation that other work may split is shorter, minutes.
SHORTEST_PIECE = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One step done in one go for one load.

    Attributes:
        load: Number of the load; what goes through the workshop together.
        step: Name of the step, the same for all loads.
        minutes: Hands-on work, setting up a machine not counted.
        kind: ``never`` interrupted; may pause over ``breaks`` of the hands that do it; ``any``
            other work may split it.
        pieces: How many pieces are worked.
        order: Number of the order it belongs to.
        colour: What a machine must be set up for: what is sprayed in the booth, or the board on the
            laser; None when it is done at neither.
        machine: Which of them, where there is a colour.
        hands: Whether it needs a pair of hands; otherwise it runs at any hour.
        least_part: Where it pauses over breaks, minutes that its first and its last part have at
            least; what lies between fills the hours.
    """

    load: int
    step: str
    minutes: int
    kind: Kind = "never"
    pieces: int = 1
    order: int = 0
    colour: str | None = None
    machine: Machine = "booth"
    hands: bool = True
    least_part: int = 1

    @property
    def shortest_piece(self) -> int:
        """Minutes that a piece of it has at least."""
        least = {"never": 1, "breaks": self.least_part, "any": SHORTEST_PIECE}[self.kind]
        return min(least, self.minutes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """Minutes, by day and night, from the end of one operation to the start of another.

    Attributes:
        before: Number of the operation that ends.
        after: Number of the operation that starts.
        least: At least; negative where the other may start before the end.
        most: At most; None for no limit.
    """

    before: int
    after: int
    least: int = 0
    most: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """Something that is taken and freed: vises, plugs, rings, clamps, drying places.

    Attributes:
        name: Unique.
        capacity: How many there are.
    """

    name: str
    capacity: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A station held from the start of one operation to the end of another, or of the same.

    Attributes:
        station: Its name.
        first: Number of the operation at whose start it is taken.
        last: Number of the operation at whose end it is free again.
        amount: How many are taken.
    """

    station: str
    first: int
    last: int
    amount: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """A pair of hands."""

    name: str
    calendar: Calendar


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """Who wants it, and when.

    Attributes:
        name: For messages.
        release: Minute before which nothing of it can begin.
        due: Minute at which all of it should be done; None for no matter when.
        weight: What a minute of lateness counts.
    """

    name: str = "the batch"
    release: int = 0
    due: int | None = None
    weight: int = 1


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Span:
    """A time at work on an operation, without a pause; without length for one of no minutes.

    Attributes:
        operation: Its number.
        start: Minute at which it begins.
        end: Minute at which it ends.
        person: Number of the pair of hands; -1 where none is needed.
    """

    start: int
    end: int
    operation: int
    person: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """All that a plan is made from.

    Attributes:
        operations: Numbered by their place here.
        waits: Between them.
        stations: What can be held.
        holds: What holds it.
        persons: Who works; none when no operation needs hands.
        flush_minutes: Hands-on work before an operation in the booth whose colour differs from the
            one before it.
        board_minutes: The same before an operation on the laser with another board.
        orders: Numbered by their place here.
        fixed: What is done, running or pinned: these spans stay. Spans that do not make up the
            whole operation are its beginning, the rest is planned.
        now: Nothing that is not fixed starts before.
    """

    operations: tuple[Operation, ...]
    waits: tuple[Wait, ...] = ()
    stations: tuple[Station, ...] = ()
    holds: tuple[Hold, ...] = ()
    persons: tuple[Person, ...] = ()
    flush_minutes: int = 0
    board_minutes: int = 0
    orders: tuple[Order, ...] = field(default=(Order(),))
    fixed: tuple[Span, ...] = ()
    now: int = 0

    def __post_init__(self) -> None:
        _check_operations(self)
        _check_waits(self)
        _check_stations(self)
        _check_orders(self)
        _check_fixed(self)

    def called(self, number: int) -> str:
        """Return an operation in words, such as ``operation 12 (press of load 3)``."""
        operation = self.operations[number]
        return f"operation {number} ({operation.step} of load {operation.load})"

    def at(self, machine: Machine) -> tuple[int, ...]:
        """Return the numbers of the operations that are done at a machine."""
        return tuple(
            i
            for i, one in enumerate(self.operations)
            if one.colour is not None and one.machine == machine
        )

    def setup_minutes(self, operation: Operation) -> int:
        """Return the minutes of setting up before an operation, where it is set up; 0 for none."""
        if operation.colour is None:
            return 0
        return self.flush_minutes if operation.machine == "booth" else self.board_minutes

    def in_one_go(self, number: int) -> bool:
        """Whether an operation is never interrupted: it must not be, or two pieces are too long."""
        one = self.operations[number]
        longest = one.minutes + self.setup_minutes(one)
        return one.kind == "never" or longest < 2 * one.shortest_piece

    @property
    def crews(self) -> tuple[tuple[int, ...], ...]:
        """Return the persons, those who keep the same hours together."""
        same: dict[Calendar, list[int]] = {}
        for number, one in enumerate(self.persons):
            same.setdefault(one.calendar, []).append(number)
        return tuple(map(tuple, same.values()))

    @property
    def by_hand(self) -> bool:
        """Whether hands do the work."""
        return bool(self.operations) and self.operations[0].hands


def _check_operations(problem: Problem) -> None:
    with_hands = {one.hands for one in problem.operations}
    if len(with_hands) > 1:
        raise RequestError(
            "some operations need hands and others do not",
            mend="Give what runs by itself as a wait between the operations beside it",
        )
    if True in with_hands and not problem.persons:
        raise RequestError("nobody works", mend="Give at least one person")
    windows = max((one.calendar.longest() for one in problem.persons), default=0)
    for number, one in enumerate(problem.operations):
        if one.minutes < (0 if not one.hands else 1):
            raise RequestError(
                f"{problem.called(number)} takes {one.minutes} minutes", mend="Give 1 or more"
            )
        longest = one.minutes + problem.setup_minutes(one)
        if one.hands and one.kind == "never" and longest > windows:
            raise RequestError(
                f"{problem.called(number)} takes {longest} minutes in one go",
                because=f"the longest working window has {windows} minutes",
                mend="Make the load smaller, let the step pause over breaks, or work longer",
            )


def _check_waits(problem: Problem) -> None:
    count = len(problem.operations)
    for wait in problem.waits:
        for number in (wait.before, wait.after):
            if not 0 <= number < count:
                raise RequestError(
                    f"a wait names operation {number}", mend=f"There are 0 to {count - 1}"
                )
        if wait.most is not None and wait.most < wait.least:
            raise RequestError(
                f"the wait from {problem.called(wait.before)} to {problem.called(wait.after)} is at"
                f" most {wait.most} minutes and at least {wait.least}",
                mend="Give a largest wait that is no shorter than the least",
            )
    circle = _circle(problem)
    if circle and problem.by_hand:
        raise RequestError(
            "the steps go in a circle: " + ", then ".join(problem.called(i) for i in circle),
            because="none of them can be the first",
            mend="Take one of these waits out",
        )


def _circle(problem: Problem) -> list[int]:
    """Return operations each of which waits for the one before, the first for the last."""
    after: dict[int, list[int]] = {}
    waiting = [0] * len(problem.operations)
    for wait in problem.waits:
        after.setdefault(wait.before, []).append(wait.after)
        waiting[wait.after] += 1
    free = [i for i, count in enumerate(waiting) if not count]
    while free:
        for then in after.get(free.pop(), ()):
            waiting[then] -= 1
            if not waiting[then]:
                free.append(then)
    stuck = {i for i, count in enumerate(waiting) if count}
    if not stuck:
        return []
    before = {w.after: w.before for w in problem.waits if w.before in stuck and w.after in stuck}
    walked = [min(stuck)]
    while before[walked[-1]] not in walked:
        walked.append(before[walked[-1]])
    return walked[walked.index(before[walked[-1]]) :][::-1]


def _check_stations(problem: Problem) -> None:
    capacity = {one.name: one.capacity for one in problem.stations}
    if len(capacity) < len(problem.stations):
        raise RequestError("two stations have the same name", mend="Name each once")
    for station in problem.stations:
        if station.capacity < 0:
            raise RequestError(f"{station.capacity} of {station.name}", mend="Give 0 or more")
    count = len(problem.operations)
    for hold in problem.holds:
        if hold.station not in capacity:
            raise RequestError(
                f"there is no station {hold.station!r}",
                mend=f"Choose one of: {', '.join(capacity) or 'none is given'}",
            )
        if not (0 <= hold.first < count and 0 <= hold.last < count):
            raise RequestError(
                f"a hold of {hold.station} names operations {hold.first} and {hold.last}",
                mend=f"There are 0 to {count - 1}",
            )
        if not 0 < hold.amount <= capacity[hold.station]:
            raise RequestError(
                f"{problem.called(hold.first)} takes {hold.amount} of {hold.station}",
                because=f"there are {capacity[hold.station]}",
                mend=f"Make the load smaller, or get more of {hold.station}",
            )
    _check_order_of_holds(problem)


def _check_order_of_holds(problem: Problem) -> None:
    """Refuse a hold whose last operation is not the first one or behind it."""
    pairs = [(one.first, one.last) for one in problem.holds if one.first != one.last]
    if not pairs:
        return
    after: dict[int, list[int]] = {}
    for wait in problem.waits:
        after.setdefault(wait.before, []).append(wait.after)
    for first, last in pairs:
        if not _comes_behind(last, first, after):
            raise RequestError(
                f"a hold goes from {problem.called(first)} to {problem.called(last)}",
                because="the second does not wait for the first",
                mend="Add the wait between them, or hold it otherwise",
            )


def _comes_behind(last: int, first: int, after: dict[int, list[int]]) -> bool:
    """Whether an operation waits for another: it is looked for among what is near first."""
    line, found = [first], {first}
    for one in line:
        for then in after.get(one, ()):
            if then == last:
                return True
            if then not in found:
                found.add(then)
                line.append(then)
    return False


def reached(start: Iterable[int], after: dict[int, list[int]]) -> set[int]:
    """Return what can be reached from some numbers, themselves included."""
    found = set(start)
    todo = list(found)
    while todo:
        for then in after.get(todo.pop(), ()):
            if then not in found:
                found.add(then)
                todo.append(then)
    return found


def _check_orders(problem: Problem) -> None:
    for number, one in enumerate(problem.operations):
        if not 0 <= one.order < len(problem.orders):
            raise RequestError(
                f"{problem.called(number)} belongs to order {one.order}",
                mend=f"There are 0 to {len(problem.orders) - 1}",
            )
    for order in problem.orders:
        if order.due is not None and order.due <= problem.now:
            raise RequestError(
                f"{order.name} is due at minute {order.due}",
                because=f"that is past: it is minute {problem.now} now",
                mend="Agree on a later date, or leave it out to learn the earliest",
            )
        if order.due is not None and order.due <= order.release:
            raise RequestError(
                f"{order.name} is due at minute {order.due} and begins at minute {order.release}",
                mend="Give a due date behind the release",
            )
        if order.weight < 1:
            raise RequestError(f"{order.name} weighs {order.weight}", mend="Give 1 or more")


def _check_fixed(problem: Problem) -> None:
    total: dict[int, int] = {}
    for span in problem.fixed:
        if not 0 <= span.operation < len(problem.operations):
            raise RequestError(f"a fixed time names operation {span.operation}")
        if span.end <= span.start or span.start < 0:
            raise RequestError(
                f"{problem.called(span.operation)} is fixed from minute {span.start} to {span.end}",
                mend="Give an end behind the start",
            )
        if span.person >= len(problem.persons):
            raise RequestError(
                f"{problem.called(span.operation)} is fixed for person {span.person}",
                mend=f"There are 0 to {len(problem.persons) - 1}",
            )
        total[span.operation] = total.get(span.operation, 0) + span.end - span.start
    for number, minutes in total.items():
        one = problem.operations[number]
        if one.kind == "never" and minutes < one.minutes:
            raise RequestError(
                f"{problem.called(number)} is fixed for {minutes} of its {one.minutes} minutes",
                because="it is done in one go",
                mend="Fix all of it, or none",
            )
