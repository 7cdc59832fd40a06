"""How fast loads can come through a station whose places are held back to back."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from hidewright.planning.bench import NEVER, Bench
from hidewright.planning.hours import Hours
from hidewright.planning.problem import Hold, Kind, Problem, reached

#: (minutes, kind, waits before it within the hold), of each operation of a hold in order.
Shape = tuple[tuple[int, str, tuple[tuple[int, int], ...]], ...]


#: Lines of later holds that are looked at for each station.
MOST_LINES = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """Holds of a station, none of which can begin before a time.

    Attributes:
        ends: The soonest minute at which every place can have been freed 0, 1, 2, ... times.
        holds: (last operation, amount) of each hold.
    """

    ends: tuple[int, ...]
    holds: tuple[tuple[int, int], ...]

    def in_time(self, capacity: int, latest_ends: list[int]) -> bool:
        """Whether the holds can end by the latest ends of their last operations."""
        held = 0
        cycle = 0
        for latest, amount in sorted((latest_ends[last], amount) for last, amount in self.holds):
            held += amount
            while cycle * capacity < held:
                cycle += 1
            if self.ends[cycle] > latest:
                return False
        return True


@dataclass(frozen=True, slots=True, kw_only=True)
class Through:
    """A station seen as places that are held back to back, each for the shortest hold.

    Attributes:
        capacity: How many places.
        lines: All holds, then those alone that cannot begin before each of some later times: a
            batch that waits for its first-off has the places only from then on.
        holds: (first operation, last operation) of each hold.
        steps: (operation, amount) of a step, and the soonest starts of what the first, second, ...
            time that all places are held can be, of each step that lies in or behind the holds.
            Known for the slowest station alone.
    """

    capacity: int
    lines: tuple[Line, ...]
    holds: tuple[tuple[int, int], ...]
    steps: tuple[tuple[tuple[tuple[int, int], ...], tuple[int, ...]], ...] = ()

    @property
    def freed(self) -> int:
        """The soonest minute at which all holds can have ended."""
        return self.lines[0].ends[-1]

    def in_time(self, latest_ends: list[int]) -> bool:
        """Whether the holds can end by the latest ends of their last operations."""
        return all(one.in_time(self.capacity, latest_ends) for one in self.lines)


def through(problem: Problem, bench: Bench, hours: Hours, heads: list[int]) -> list[Through]:
    """Return how loads come through each station that is held by several operations in turn."""
    found: list[tuple[_Station, Through]] = []
    for station in problem.stations:
        holds = [
            one
            for one in problem.holds
            if one.station == station.name
            and one.first not in bench.fixed
            and one.first not in bench.begun
            and one.last not in bench.fixed
        ]
        if sum(one.amount for one in holds) > station.capacity:
            one = _Station(problem, bench, hours, heads, station.capacity, holds)
            found.append((one, one.through()))
    if not found:
        return []
    slowest = max(range(len(found)), key=lambda k: found[k][1].freed)
    slow, seen = found[slowest]
    seen = replace(seen, steps=tuple(slow.steps_seen()))
    return [seen if k == slowest else one for k, (_, one) in enumerate(found)]


class _Station:
    """One station, its holds and the operations in and behind them."""

    def __init__(
        self,
        problem: Problem,
        bench: Bench,
        hours: Hours,
        heads: list[int],
        capacity: int,
        holds: list[Hold],
    ) -> None:
        self.bench, self.hours, self.heads = bench, hours, heads
        self.capacity, self.holds = capacity, holds
        self.steps = [one.step for one in problem.operations]
        self.before: dict[int, list[tuple[int, int]]] = {}
        self.most: dict[tuple[int, int], int] = {}
        for wait in problem.waits:
            self.before.setdefault(wait.after, []).append((wait.before, wait.least))
            if wait.most is not None:
                self.most[wait.before, wait.after] = wait.most

    def through(self) -> Through:
        """Return how fast loads come through."""
        self._reach()
        heads = [self.heads[one.first] for one in self.holds]
        later = sorted(set(heads))
        chosen = later[:: -(-len(later) // MOST_LINES)]
        lines = tuple(
            self._line([k for k, head in enumerate(heads) if head >= since]) for since in chosen
        )
        self.ends = lines[0].ends
        return Through(
            capacity=self.capacity,
            lines=lines,
            holds=tuple((one.first, one.last) for one in self.holds),
        )

    def _line(self, numbers: list[int]) -> Line:
        """Return how fast some of the holds come through."""
        some = [self.holds[k] for k in numbers]
        shapes = {self._shape(k, self.holds[k]) for k in numbers}
        ends = [min(self.heads[one.first] for one in some)]
        for _ in range(-(-sum(one.amount for one in some) // self.capacity)):
            ends.append(min(self._held_until(shape, ends[-1]) for shape in shapes))
        return Line(ends=tuple(ends), holds=tuple((one.last, one.amount) for one in some))

    def _reach(self) -> None:
        """Note for each operation which holds it lies in, and which have ended before it starts."""
        count = self.bench.count
        begins, closes = [0] * count, [0] * count
        for number, hold in enumerate(self.holds):
            begins[hold.first] |= 1 << number
            closes[hold.last] |= 1 << number
        started, self.behind = begins[:], [0] * count
        for i in self.bench.order:
            for before, _ in self.before.get(i, ()):
                started[i] |= started[before]
                self.behind[i] |= self.behind[before] | closes[before]
        self.within = [a & ~b for a, b in zip(started, self.behind, strict=True)]
        self.inside: list[list[int]] = [[] for _ in self.holds]
        for i in self.bench.order:
            for number in _bits(self.within[i]):
                self.inside[number].append(i)

    def _shape(self, number: int, hold: Hold) -> Shape:
        inside = self.inside[number]
        needed = self._leading_to(hold.last, set(inside))
        inside = [i for i in inside if i in needed]
        place = {i: k for k, i in enumerate(inside)}
        return tuple(
            (
                self.bench.minutes[i],
                self.bench.kinds[i],
                tuple((place[a], least) for a, least in self.before.get(i, ()) if a in place),
            )
            for i in inside
        )

    def _leading_to(self, last: int, inside: set[int]) -> set[int]:
        found, todo = {last}, [last]
        while todo:
            for before, _ in self.before.get(todo.pop(), ()):
                if before in inside and before not in found:
                    found.add(before)
                    todo.append(before)
        return found

    def _held_until(self, shape: Shape, since: int) -> int:
        ends: list[int] = []
        for minutes, kind, before in shape:
            start = max([since, *(ends[a] + least for a, least in before)])
            ends.append(self.hours.soonest(start, minutes, kind))  # type: ignore[arg-type]
        return ends[-1]

    # -- the k-th load at a step -------------------------------------------------------------------

    def steps_seen(self) -> list[tuple[tuple[tuple[int, int], ...], tuple[int, ...]]]:
        """Return operations with amounts, and soonest starts, of the steps in or behind."""
        self.groups: dict[str, list[int]] = {}
        near = self._near()
        for i, step in enumerate(self.steps):
            if i in near and i not in self.bench.fixed and i not in self.bench.begun:
                self.groups.setdefault(step, []).append(i)
        self.edges = self._edges(near)
        self.line = [
            name
            for name in dict.fromkeys(self.steps[i] for i in self.bench.order)
            if name in self.groups
        ]
        self.shortest = {step: self._shortest(group) for step, group in self.groups.items()}
        first = {self.steps[one.first] for one in self.holds}
        last = {self.steps[one.last] for one in self.holds}
        if len(first) != 1 or len(last) != 1:
            return []
        begun = [self._walk(min(first), since, ended=False) for since in self.ends[:-1]]
        freed = [self._walk(min(last), since, ended=True) for since in self.ends[1:]]
        tied = self._tied_before(min(first))
        out = []
        for step, group in self.groups.items():
            amounts = self._apart(group, self.within)
            starts = [one.get(step) for one in begun]
            if step in tied:
                amounts, earlier = tied[step]
                starts = [since - earlier for since in self.ends[:-1]]
            elif amounts is None:
                amounts = self._apart(group, self.behind)
                starts = [one.get(step) for one in freed]
            known = [start for start in starts if start is not None]
            if amounts is not None and known and len(known) == len(starts):
                out.append((tuple(zip(group, amounts, strict=True)), tuple(known)))
        return out

    def _near(self) -> set[int]:
        """Return the operations that lie in, behind or before the holds of the station."""
        out = {i for i, mask in enumerate(self.within) if mask or self.behind[i]}
        before = {i: [a for a, _ in self.before.get(i, ())] for i in range(self.bench.count)}
        return out | reached((one.first for one in self.holds), before)

    def _edges(self, near: set[int]) -> dict[str, dict[str, int]]:
        """Return, for each step, the steps near that all its operations wait for, and how long."""
        out: dict[str, dict[str, int]] = {}
        for step, group in self.groups.items():
            common: dict[str, int] | None = None
            for i in group:
                mine: dict[str, int] = {}
                for before, least in self.before.get(i, ()):
                    if before in near:
                        name = self.steps[before]
                        mine[name] = min(least, mine.get(name, least))
                common = (
                    mine
                    if common is None
                    else {
                        name: min(least, mine[name])
                        for name, least in common.items()
                        if name in mine
                    }
                )
            out[step] = common or {}
        return out

    def _apart(self, group: list[int], masks: list[int]) -> list[int] | None:
        """Return what is held for each operation of a step, if each has holds of its own."""
        union = bits = 0
        for i in group:
            if not masks[i]:
                return None
            union |= masks[i]
            bits += masks[i].bit_count()
        if union.bit_count() != bits:
            return None
        return [sum(self.holds[k].amount for k in _bits(masks[i])) for i in group]

    def _tied_before(self, step: str) -> dict[str, tuple[list[int], int]]:
        """Return the step a largest wait ties to the start of a step: amounts, how much sooner.

        Only where every operation of the step has one of its own, done in one go.
        """
        pairs = {b: (a, most) for (a, b), most in self.most.items() if self.steps[b] == step}
        befores = {a: b for b, (a, _) in pairs.items()}
        names = {self.steps[a] for a in befores}
        amounts = self._apart(self.groups.get(step, []), self.within)
        if len(befores) != len(self.groups.get(step, ())) or len(names) != 1 or not amounts:
            return {}
        name = names.pop()
        group = self.groups.get(name, [])
        if set(group) != set(befores) or any(self.bench.kinds[a] != "never" for a in group):
            return {}
        held = dict(zip(self.groups[step], amounts, strict=True))
        longest = max(
            most + self.bench.minutes[a] + self.bench.setups[a] for a, most in pairs.values()
        )
        return {name: ([held[befores[a]] for a in group], longest)}

    def _walk(self, step: str, since: int, *, ended: bool) -> dict[str, int]:
        """Return the soonest starts of the steps behind one that starts, or ended, at a time."""
        starts = {step: since}
        ends = {step: since if ended else self._end(step, since)}
        for name in self.line:
            waits = [ends[a] + least for a, least in self.edges.get(name, {}).items() if a in ends]
            if waits and name != step:
                starts[name] = max(waits)
                ends[name] = self._end(name, starts[name])
        return starts

    def _end(self, step: str, start: int) -> int:
        end = self.hours.soonest(start, *self.shortest[step])
        return end if end < NEVER else start

    def _shortest(self, group: list[int]) -> tuple[int, Kind]:
        """Return the least minutes of some operations, split unless none of them may be."""
        whole = all(self.bench.kinds[i] == "never" for i in group)
        return min(self.bench.minutes[i] for i in group), "never" if whole else "any"


def _bits(mask: int) -> Iterator[int]:
    """Return the numbers of the bits that are set, ascending."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low
