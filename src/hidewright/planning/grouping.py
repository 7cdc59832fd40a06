"""A load parted where stations or open times do not take all of it at once."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from hidewright.design.step import Step
from hidewright.errors import RequestError

#: Stations that are held while leather dries; a vise and a frame are free within the day.
OVERNIGHT = ("plug", "hold-down ring", "drying place")


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Things of a load that go through a step together.

    Attributes:
        step: The step.
        number: From 1.
        groups: In how many the load is parted at this step.
        things: How many there are.
        first: Number of the first article of the load that they serve, from 0.
        last: One behind the last.
    """

    step: Step
    number: int
    groups: int
    things: int
    first: int
    last: int

    @property
    def minutes(self) -> int:
        """Hands-on minutes."""
        return self.step.minutes(self.things)

    def meets(self, other: "Group") -> bool:
        """Whether they serve an article in common."""
        return self.first < other.last and other.first < self.last


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What limits how many things go through a step at once.

    Attributes:
        stations: How many there are, by the name of a hold.
        longest_window: Minutes that somebody works without a break.
        wet_limit: Wet leather is closed in a mould no longer, minutes.
        setups: Minutes of setting up a station before a step, by its kind.
    """

    stations: Mapping[str, int]
    longest_window: int
    wet_limit: int
    setups: Mapping[str, int] = field(default_factory=dict)

    def setup_minutes(self, step: Step) -> int:
        """Return what setting up a station for a step takes at most."""
        return max((self.setups.get(hold.station, 0) for hold in step.holds), default=0)


def blocks_of(steps: Sequence[Step]) -> tuple[tuple[Step, ...], ...]:
    """Return the steps in blocks that are parted alike.

    Steps that a largest wait or a station ties together are one block.
    """
    head = {step.name: step.name for step in steps}

    def find(name: str) -> str:
        while head[name] != name:
            name = head[name]
        return name

    for step in steps:
        for hold in step.holds:
            head[find(hold.until)] = find(step.name)
        for then in steps:
            if step.name in then.after and step.rest and step.rest.most_minutes is not None:
                head[find(then.name)] = find(step.name)
    found: dict[str, list[Step]] = {}
    for step in steps:
        found.setdefault(find(step.name), []).append(step)
    return tuple(tuple(block) for block in found.values())


def groups_of(
    steps: Sequence[Step],
    articles: int,
    room: Room,
    begun: Callable[[str], int | None] = lambda _: None,
) -> tuple[Group, ...]:
    """Return the groups in which a load goes through its steps, step by step.

    Args:
        steps: Of one article, in order.
        articles: In the load.
        room: What limits a group.
        begun: In how many groups a step has been begun already; None for not yet.

    Raises:
        RequestError: When not even one thing can go through a step; it says why.
    """
    parted: dict[str, int] = {}
    for block in blocks_of(steps):
        already = [count for step in block if (count := begun(step.name)) is not None]
        most = _that_fills(block, min(_most(step, block, room) for step in block), room)
        things = max(_things(step, articles) for step in block)
        for step in block:
            parted[step.name] = max(already) if already else math.ceil(things / most)
    return tuple(group for step in steps for group in _parted(step, articles, parted[step.name]))


def open_time(step: Step, then: Step, things: int, room: Room) -> tuple[int, int | None]:
    """Return least and most minutes from the end of a group's step to the start of the next.

    What was done first has waited while the rest was done, and what is done next last waits while
    the others are done; so that no thing waits too long, a group waits less.
    """
    rest = step.rest
    if rest is None:
        return 0, None
    most = _limit(step, room)
    if most is None:
        return rest.least_minutes, None
    spread = math.ceil((things - 1) * max(step.thing_minutes, then.thing_minutes) - 1e-9)
    return rest.least_minutes, max(rest.least_minutes, most - spread)


def _limit(step: Step, room: Room) -> int | None:
    """Return the longest rest behind a step."""
    rest = step.rest
    if rest is None or rest.most_minutes is None:
        return None
    if step.work == "press":
        return max(rest.least_minutes, min(rest.most_minutes, room.wet_limit))
    return rest.most_minutes


def _things(step: Step, articles: int) -> int:
    once = step.place_kind in ("tooling", "leather")
    return 1 if once else math.ceil(articles / step.articles)


def _parted(step: Step, articles: int, count: int) -> Iterator[Group]:
    things = _things(step, articles)
    count = min(count, things)
    whole = things == 1 and step.place_kind in ("tooling", "leather")
    done = 0
    for number in range(count):
        some = things // count + (number < things % count)
        first, last = done * step.articles, min(articles, (done + some) * step.articles)
        done += some
        yield Group(
            step=step,
            number=number + 1,
            groups=count,
            things=some,
            first=0 if whole else first,
            last=articles if whole else last,
        )


def _most(step: Step, block: Sequence[Step], room: Room) -> int:
    """Return how many things of a load go through a step together at most."""
    limits = [step.load_limit or math.inf]
    for hold in step.holds:
        count = room.stations.get(hold.name, math.inf)
        if count < 1:
            raise RequestError(
                f"{step.name} needs a {hold.name}",
                because="there is none",
                mend=f"Make one, or give the right number of each {hold.station}",
            )
        limits.append(count)
    longest = _limit(step, room)
    if longest is not None and step.rest is not None:
        for then in block:
            spread = max(step.thing_minutes, then.thing_minutes)
            if step.name in then.after and spread > 0:
                limits.append(1 + (longest - step.rest.least_minutes) // spread)
    if step.interrupt == "never":
        limits.append(_in_one_go(step, room))
    return max(1, int(min(min(limits), 1e6)))


def _that_fills(block: Sequence[Step], most: int, room: Room) -> int:
    """Return the size of a group, at most so large, that leaves fewest stations empty overnight.

    Groups of two fill four plugs, but leave one of three empty: there they are groups of one.
    """
    counts = [
        room.stations[hold.name]
        for step in block
        for hold in step.holds
        if hold.station in OVERNIGHT and hold.name in room.stations
    ]
    if not counts:
        return most
    few = min(counts)
    return max(range(1, min(most, few) + 1), key=lambda size: (few // size * size, size))


def _in_one_go(step: Step, room: Room) -> float:
    setup = room.setup_minutes(step)
    if step.minutes(1) + setup > room.longest_window:
        raise RequestError(
            f"{step.name} takes {step.minutes(1) + setup} minutes in one go",
            because=f"the longest working window has {room.longest_window} minutes",
            mend="Let the step pause over breaks, shorten it, or work longer without a break",
        )
    if not step.thing_minutes:
        return math.inf
    return (room.longest_window - setup - step.load_minutes) // step.thing_minutes
