"""Looks a plan over, knowing nothing of how it was made: every rule anew.

What is fixed has happened or was asked for: it is not judged against itself, only against the rest.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from hidewright.planning.plan import Plan
from hidewright.planning.problem import Operation, Problem, Span

DAY = 1440
Rule = Literal["work", "hours", "hands", "pieces", "wait", "station", "booth", "release", "fixed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Breach:
    """What a plan breaks.

    Attributes:
        rule: Which rule.
        sentence: What is wrong, for the maker.
        operations: Numbers of the operations it is about.
    """

    rule: Rule
    sentence: str
    operations: tuple[int, ...]


def breaches(problem: Problem, plan: Plan) -> tuple[Breach, ...]:
    """Return all that a plan breaks; nothing when it can be worked."""
    spans: dict[int, list[Span]] = {i: [] for i in range(len(problem.operations))}
    for span in sorted(plan.spans, key=_by_time):
        if span.operation not in spans or span.end < span.start:
            text = f"a time from {span.start} to {span.end} of operation {span.operation}"
            return (Breach(rule="work", sentence=text, operations=(span.operation,)),)
        spans[span.operation].append(span)
    idle = [i for i, worked in spans.items() if not worked]
    if idle:
        said = f"{len(idle)} operations are not done, {problem.called(idle[0])} first"
        return (Breach(rule="work", sentence=said, operations=tuple(idle)),)
    fixed: dict[int, list[Span]] = {}
    for span in problem.fixed:
        fixed.setdefault(span.operation, []).append(span)
    look = _Look(problem=problem, spans=spans, fixed=fixed, asked=_asked(problem))
    return tuple(
        breach
        for rule in (_work, _pieces, _hours, _hands, _waits, _stations, _booth, _begins, _fixed)
        for breach in rule(look)
    )


def _by_time(span: Span) -> tuple[int, int, int]:
    return span.start, span.end, span.operation


@dataclass(frozen=True, slots=True, kw_only=True)
class _Look:
    """What is looked at: spans of operations in order, those fixed, and which are as a whole."""

    problem: Problem
    spans: dict[int, list[Span]]
    fixed: dict[int, list[Span]]
    asked: frozenset[int]

    def start(self, i: int) -> int:
        return self.spans[i][0].start

    def end(self, i: int) -> int:
        return self.spans[i][-1].end

    def breach(self, rule: Rule, said: str, *operations: int) -> Breach:
        names = " and ".join(self.problem.called(i) for i in operations)
        return Breach(rule=rule, sentence=f"{names}: {said}", operations=operations)


def _asked(problem: Problem) -> frozenset[int]:
    minutes: dict[int, int] = {}
    for span in problem.fixed:
        minutes[span.operation] = minutes.get(span.operation, 0) + span.end - span.start
    return frozenset(i for i, m in minutes.items() if m >= problem.operations[i].minutes)


def _work(look: _Look) -> Iterator[Breach]:
    """Each operation is worked for its minutes, and machines set up where the colour changes."""
    flushed = _flushed(look)
    for i, spans in look.spans.items():
        wanted = look.problem.operations[i].minutes
        wanted += flushed.get(i, 0)
        done = sum(one.end - one.start for one in spans)
        if done != wanted and i not in look.asked:
            yield look.breach("work", f"{done} minutes are planned, {wanted} are needed", i)


def _flushed(look: _Look) -> dict[int, int]:
    """Return the minutes of setting up before operations where a machine's colour changes."""
    problem = look.problem
    minutes = {"booth": problem.flush_minutes, "laser": problem.board_minutes}
    out: dict[int, int] = {}
    for machine, needed in minutes.items():
        order = sorted(
            (look.start(i), i)
            for i, one in enumerate(problem.operations)
            if one.colour is not None and one.machine == machine
        )
        for (_, before), (_, i) in pairwise(order):
            if problem.operations[i].colour != problem.operations[before].colour:
                out[i] = needed
    return out


def _pieces(look: _Look) -> Iterator[Breach]:
    """Nothing is split that must not be, and no piece is too short."""
    for i, spans in look.spans.items():
        operation = look.problem.operations[i]
        if i in look.asked:
            continue
        for one, then in pairwise(spans):
            if then.start < one.end:
                yield look.breach("pieces", "two persons are at it at once", i)
        if operation.kind == "never" and len(spans) > 1:
            yield look.breach("pieces", f"done in {len(spans)} pieces, but in one go it must be", i)
        elif operation.kind == "breaks":
            yield from _over_breaks(look, i, operation, spans)
        elif operation.kind == "any":
            yield from _too_short(look, i, operation, spans)


def _over_breaks(look: _Look, i: int, operation: Operation, spans: list[Span]) -> Iterator[Breach]:
    for part in (spans[0], spans[-1]) if len(spans) > 1 and i not in look.fixed else ():
        if part.end - part.start < operation.shortest_piece:
            yield look.breach("pieces", f"a part of {part.end - part.start} minutes", i)
    for one, then in pairwise(spans):
        if one.person != then.person:
            yield look.breach("pieces", "handed over in a break", i)
        elif _open_minutes(look, one.person, one.end, then.start):
            yield look.breach("pieces", f"paused at {one.end} outside a break", i)


def _too_short(look: _Look, i: int, operation: Operation, spans: list[Span]) -> Iterator[Breach]:
    begun = {(one.start, one.end) for one in look.fixed.get(i, ())}
    for one in spans:
        if one.end - one.start < operation.shortest_piece and (one.start, one.end) not in begun:
            said = f"a piece of {one.end - one.start} minutes"
            yield look.breach("pieces", said, i)


def _open_minutes(look: _Look, person: int, start: int, end: int) -> int:
    """Return how many minutes of a time a person works."""
    calendar = look.problem.persons[person].calendar
    minutes = 0
    for day in range(start // DAY, -(-end // DAY)):
        windows = next((w for d, w in calendar.special if d == day), calendar.week[day % 7])
        changed = [later for first, later in calendar.shifts if first <= day]
        zero = day * DAY + (changed[-1] if changed else 0)
        for opens, shuts in windows:
            minutes += max(0, min(end, zero + shuts) - max(start, zero + opens))
    return minutes


def _hours(look: _Look) -> Iterator[Breach]:
    """Hands work in their hours only."""
    for i, spans in look.spans.items():
        operation = look.problem.operations[i]
        for one in spans:
            if i in look.asked or _is_fixed(look, one):
                continue
            if not operation.hands:
                if one.person >= 0:
                    yield look.breach("hands", "it needs nobody", i)
            elif not 0 <= one.person < len(look.problem.persons):
                yield look.breach("hands", f"done by person {one.person}", i)
            elif _open_minutes(look, one.person, one.start, one.end) < one.end - one.start:
                yield look.breach("hours", f"from {one.start} to {one.end} outside the hours", i)


def _is_fixed(look: _Look, span: Span) -> bool:
    return any(one.start == span.start for one in look.fixed.get(span.operation, ()))


def _hands(look: _Look) -> Iterator[Breach]:
    """No one does two things at once."""
    by_person: dict[int, list[Span]] = {}
    for spans in look.spans.values():
        for one in spans:
            if look.problem.operations[one.operation].hands:
                by_person.setdefault(one.person, []).append(one)
    for spans in by_person.values():
        spans.sort(key=_by_time)
        for one, then in pairwise(spans):
            if then.start < one.end and not {one.operation, then.operation} <= look.asked:
                said = f"both at minute {then.start} by the same hands"
                yield look.breach("hands", said, one.operation, then.operation)


def _waits(look: _Look) -> Iterator[Breach]:
    for wait in look.problem.waits:
        if {wait.before, wait.after} <= look.asked:
            continue
        waited = look.start(wait.after) - look.end(wait.before)
        if waited < wait.least:
            said = f"{waited} minutes between, {wait.least} are needed"
            yield look.breach("wait", said, wait.before, wait.after)
        if wait.most is not None and waited > wait.most:
            said = f"{waited} minutes between, {wait.most} are allowed"
            yield look.breach("wait", said, wait.before, wait.after)


def _stations(look: _Look) -> Iterator[Breach]:
    """No more is held of a station than there is."""
    for station in look.problem.stations:
        changes: list[tuple[int, int, int]] = []
        for hold in look.problem.holds:
            if hold.station == station.name and look.end(hold.last) > look.start(hold.first):
                changes.append((look.start(hold.first), hold.amount, hold.first))
                changes.append((look.end(hold.last), -hold.amount, hold.first))
        held = 0
        by: dict[int, int] = {}
        for minute, change, first in sorted(changes):
            held += change
            by[first] = by.get(first, 0) + change
            # what is given back makes nothing worse; what has happened is judged against the rest
            if (
                held > station.capacity
                and change > 0
                and any(amount > 0 and i not in look.asked for i, amount in by.items())
            ):
                said = f"at minute {minute} {held} of {station.name} are held of {station.capacity}"
                yield look.breach("station", said, first)


def _booth(look: _Look) -> Iterator[Breach]:
    """One thing at a time is in the booth, and one on the laser."""
    for machine in ("booth", "laser"):
        spans = [
            (look.start(i), look.end(i), i)
            for i, one in enumerate(look.problem.operations)
            if one.colour is not None and one.machine == machine
        ]
        spans.sort()
        for (_, end, one), (start, _, then) in pairwise(spans):
            if start < end and not {one, then} <= look.asked:
                yield look.breach("booth", f"both at the {machine} at minute {start}", one, then)


def _begins(look: _Look) -> Iterator[Breach]:
    """Nothing begins before its order does, nor in the past."""
    for i, operation in enumerate(look.problem.operations):
        if i in look.asked:
            continue
        release = max(look.problem.orders[operation.order].release, look.problem.now)
        new = [one for one in look.spans[i] if not _is_fixed(look, one)]
        if new and new[0].start < release:
            yield look.breach("release", f"begins at {new[0].start}, before {release}", i)


def _fixed(look: _Look) -> Iterator[Breach]:
    """What is fixed stays."""
    for fixed in look.problem.fixed:
        kept = any(
            one.person == fixed.person and one.start <= fixed.start and fixed.end <= one.end
            for one in look.spans[fixed.operation]
        )
        if not kept:
            said = f"fixed from {fixed.start} to {fixed.end}, planned otherwise"
            yield look.breach("fixed", said, fixed.operation)
