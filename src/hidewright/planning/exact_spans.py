"""What a plan of one pair of hands is, said to the solver without the pieces of what is split.

What may be split is a span, from the start of its first piece to the end of its last. Of two such
spans one lies behind the other, or within it: where they cross, the one that begins first may have
the first of the minutes that both are worked in, and the other one the rest; then the first ends
sooner, the other begins later, and nothing else changes. So in some best plan no two spans cross,
and a span is long enough if it holds its own minutes, those of all that lies in it, the breaks, and
the gaps that are too short for any piece. That is all there is to say, but that each piece is long
enough: uncrossed spans share out what was one piece. So what no such plan beats, no plan beats.
"""

from collections.abc import Sequence
from typing import Any

from hidewright.planning.exact_model import Means
from hidewright.planning.exact_shares import SharesModel
from hidewright.planning.narrowing import Times
from hidewright.planning.rules import Rules
from hidewright.planning.twins import twins


class SpansModel(SharesModel):
    """Variables and constraints of a problem for which spans suffice.

    Args:
        rules: Of a problem for which spans suffice.
        times: That are left to the operations.
        bound: A finish known not to be beaten.
        latest: No plan that finishes later is looked for.
        scraps: Whether gaps that are too short for any piece count.
        shared: Whether uncrossed spans may share what was one piece; without, plans are sooner
            found, but nothing is proven.
        rooms: Whether what is done of a span on either side of a break has its room there.
    """

    means: Means = "none"

    def __init__(
        self,
        rules: Rules,
        times: Times,
        *,
        bound: int,
        latest: int,
        scraps: bool,
        shared: bool,
        rooms: bool = False,
    ) -> None:
        self.means = "least first" if shared else "none"
        self.scraps_count, self.may_share, self.rooms_count = scraps, shared, rooms
        operations = rules.problem.operations
        self.splits = [i for i, whole in enumerate(rules.whole) if not whole]
        self.shortest = min((operations[i].shortest_piece for i in self.splits), default=1)
        self.within: dict[tuple[int, int], Any] = {}
        super().__init__(rules, times, bound=bound, latest=latest)

    def _hands(self) -> None:
        """Add what is done in one go, one behind the other, and the spans around it."""
        self.behind = self.rules.behind()
        breaks, before = [], 0
        for begin, end in [*self.windows, (self.latest, self.latest)]:
            if begin > before:
                breaks.append((before, begin))
            before = end
        whole = [i for i, whole in enumerate(self.rules.whole) if whole]
        intervals, self.scraps = [], {}
        for i in whole:
            begin, scrap = self._scrap(
                self.starts[i], self.times.soonest[i], self.times.latest[i], self.behind[i]
            )
            self.scraps[i] = scrap
            size = self.model.new_int_var(0, self.latest, "")
            (_, _, end, _), *behind_breaks = self.parts[i]
            intervals.append(self.model.new_interval_var(begin, size, end, ""))
            intervals += [self.model.new_optional_interval_var(*part, "") for part in behind_breaks]
        gaps = []
        for a, b in breaks:
            if a == 0 or b == self.latest:
                begin, scrap = a, 0
            else:
                begin, scrap = self._scrap(a, a, a, 0)
            gaps.append((a, b, scrap))
            size = self.model.new_int_var(0, self.latest, "")
            intervals.append(self.model.new_interval_var(begin, size, b, ""))
        self.model.add_no_overlap(intervals)
        self.shares: list[list[Any]] = [[0] for _ in self.starts]
        never = self.model.new_constant(0)
        self.shared = {
            i: self._sharing(i) if self.may_share else (never, never) for i in self.splits
        }
        self.breaks_in: dict[int, list[tuple[Any, int, Any, int]]] = {i: [] for i in self.splits}
        for i in self.splits:
            self._span(i, gaps)
        self._windows_hold(gaps)
        if self.rooms_count:
            for i in self.splits:
                self._breaks_hold(i)

    def _scrap(self, start: Any, soonest: int, latest: int, behind: int) -> tuple[Any, Any]:
        """Return where a gap before a time begins if it is of no use, and its minutes; else 0."""
        if not self.scraps_count:
            return start, 0
        model, times, most = self.model, self.times, self.shortest - 1
        scrap = model.new_int_var(0, most, "")
        useful = model.new_bool_var("")
        model.add(scrap == 0).only_enforce_if(useful)
        begin = model.new_int_var(0, self.latest, "")
        model.add(begin == start - scrap - self.shortest * useful)
        ways = [useful]
        for j, whole in enumerate(self.rules.whole):
            first_end = times.soonest[j] if self.rules.pauses[j] else times.soonest_end[j]
            if (
                whole
                and not behind >> j & 1
                and first_end <= latest
                and times.latest_end[j] >= soonest - most
            ):
                for _, _, end, there in self.parts[j]:
                    ways.append(model.new_bool_var(""))
                    model.add(begin == end).only_enforce_if(ways[-1])
                    if there is not None:
                        model.add_implication(ways[-1], there)
        for opens, _ in self.windows:
            if soonest - most <= opens <= latest:
                ways.append(model.new_bool_var(""))
                model.add(begin == opens).only_enforce_if(ways[-1])
        model.add_bool_or(ways)
        return begin, scrap

    def _span(self, i: int, gaps: Sequence[tuple[int, int, Any]]) -> None:
        """Let a span be long enough for all that lies in it."""
        model, times = self.model, self.times
        start, end = self.starts[i], self.ends[i]
        filled: list[Any] = [self.problem.operations[i].minutes]
        for k in range(len(self.starts)):
            if k == i or self.behind[i] >> k & 1 or self.behind[k] >> i & 1:
                continue
            ways = [self._in(k, i)]
            if times.soonest_end[k] <= times.latest[i]:
                ways.append(model.new_bool_var(""))
                model.add(self.ends[k] <= start).only_enforce_if(ways[-1])
            if times.latest[k] >= times.soonest_end[i]:
                ways.append(model.new_bool_var(""))
                model.add(self.starts[k] >= end).only_enforce_if(ways[-1])
            if not self.rules.whole[k]:
                ways.append(self._in(i, k))
            model.add_exactly_one(ways) if self.rules.whole[k] else model.add_bool_or(ways)
            filled.append(self._filled(k, ways[0]))
        for a, b, scrap in gaps:
            if times.soonest[i] >= b or times.latest_end[i] <= a:
                self.shares[i].append(filled[0] if times.latest_end[i] <= a else 0)
                continue
            inside, before, behind = (model.new_bool_var("") for _ in range(3))
            model.add(start >= b).only_enforce_if(before)
            model.add(end <= a).only_enforce_if(behind)
            self._parted(i, inside, a - scrap, b)
            model.add_exactly_one([inside, before, behind])
            filled.append((b - a) * inside)
            share = model.new_int_var(0, filled[0], "")
            model.add(share == 0).only_enforce_if(before)
            model.add(share == filled[0]).only_enforce_if(behind)
            model.add(share >= self.shares[i][-1])
            self.breaks_in[i].append((inside, len(self.shares[i]), a - scrap, b))
            self.shares[i].append(share)
            filled.append(self._if(inside, scrap, self.shortest - 1))
        model.add(end - start >= sum(filled))

    def _breaks_hold(self, i: int) -> None:
        """Let what is done before a break within a span, and behind it, have its room.

        All that lies in the span is done between its start and its end too, on one side of the
        break or the other. Of the span itself neither side has less than a piece, but where the
        first or the last one is shared.
        """
        model, (begun, ended) = self.model, self.shared[i]
        minutes = [one.minutes for one in self.problem.operations]
        nested = [(k, there) for (k, around), there in self.within.items() if around == i]
        for inside, place, begin, end in self.breaks_in[i]:
            before, behind = self.shares[i][place], minutes[i] - self.shares[i][place]
            model.add(before >= self.shortest).only_enforce_if(inside, begun.Not())
            model.add(behind >= self.shortest).only_enforce_if(inside, ended.Not())
            for k, there in nested:
                done = self.shares[k][place]
                before += self._if(there, done, minutes[k])
                behind += self._if(there, minutes[k] - done, minutes[k])
            model.add(before <= begin - self.starts[i]).only_enforce_if(inside)
            model.add(behind <= self.ends[i] - end).only_enforce_if(inside)

    def _windows_hold(self, gaps: Sequence[tuple[int, int, Any]]) -> None:
        """Let no more be done between two gaps than there are minutes."""
        model, times = self.model, self.times
        for k, whole in enumerate(self.rules.whole):
            if not whole:
                continue
            minutes = self.problem.operations[k].minutes
            for a, b, _ in gaps:
                if times.latest_end[k] <= a:
                    self.shares[k].append(minutes)
                elif times.soonest[k] >= b:
                    self.shares[k].append(0)
                else:
                    done = model.new_bool_var("")
                    model.add(self.ends[k] <= a).only_enforce_if(done)
                    self.shares[k].append(self._before(k, done, a, b))
        for w in range(1, len(gaps)):
            length = gaps[w][0] - gaps[w - 1][1]
            model.add(sum(one[w + 1] - one[w] for one in self.shares) + gaps[w][2] <= length)
        opens = gaps[-1][1] if gaps else self.latest
        if opens < self.latest:
            by = self.finish if self.bound >= opens else self.latest
            total = sum(one.minutes for one in self.problem.operations)
            model.add(total - sum(one[-1] for one in self.shares) <= by - opens)

    def _before(self, k: int, done: Any, a: int, b: int) -> Any:
        """Return the minutes that whole work has before a break, if it is not all ahead or done."""
        model, minutes = self.model, self.problem.operations[k].minutes
        if not self.rules.pauses[k]:
            model.add(self.starts[k] >= b).only_enforce_if(done.Not())
            return minutes * done
        ahead, share = model.new_bool_var(""), model.new_int_var(0, minutes, "")
        model.add(self.starts[k] >= b).only_enforce_if(ahead)
        model.add(share == 0).only_enforce_if(ahead)
        model.add(share == minutes).only_enforce_if(done)
        model.add(share <= a - self.starts[k]).only_enforce_if(ahead.Not(), done.Not())
        model.add(minutes - share <= self.ends[k] - b).only_enforce_if(ahead.Not(), done.Not())
        return share

    def _in(self, k: int, i: int) -> Any:
        """Return whether an operation lies in a span."""
        if (k, i) not in self.within:
            inside = self.within[k, i] = self.model.new_bool_var("")
            self._parted(i, inside, self.starts[k] - self.scraps.get(k, 0), self.ends[k], k)
        return self.within[k, i]

    def _parted(self, i: int, inside: Any, begin: Any, end: Any, k: int | None = None) -> None:
        """Let what lies in a span have work of the span before and behind it."""
        model = self.model
        model.add(self.starts[i] < begin).only_enforce_if(inside)
        model.add(self.ends[i] > end).only_enforce_if(inside)
        if k is None or self.rules.whole[k] or not self.may_share:
            begun, ended = self.shared[i]
            model.add(self.starts[i] + self.shortest <= begin).only_enforce_if(inside, begun.Not())
            model.add(self.ends[i] >= end + self.shortest).only_enforce_if(inside, ended.Not())

    def _sharing(self, i: int) -> tuple[Any, Any]:
        """Return whether the first and the last piece of a span may be too short by themselves.

        Then other work goes on before the one, or behind the other, in what was one piece before
        spans were uncrossed. It is none that the span waits for, or that waits for it.
        """
        model, near = self.model, self.shortest - 1
        begun, ended = model.new_bool_var(""), model.new_bool_var("")
        before, after = [begun.Not()], [ended.Not()]
        for j in self.splits:
            if j != i and not self.behind[j] >> i & 1:
                before.append(model.new_bool_var(""))
                model.add(self.starts[j] < self.starts[i]).only_enforce_if(before[-1])
                model.add(self.ends[j] >= self.starts[i] - near).only_enforce_if(before[-1])
            if j != i and not self.behind[i] >> j & 1:
                after.append(model.new_bool_var(""))
                model.add(self.starts[j] <= self.ends[i] + near).only_enforce_if(after[-1])
                model.add(self.ends[j] > self.ends[i]).only_enforce_if(after[-1])
        model.add_bool_or(before)
        model.add_bool_or(after)
        return begun, ended

    def _filled(self, k: int, inside: Any) -> Any:
        """Return the minutes that an operation, with the scrap before it, takes of a span."""
        minutes = self.problem.operations[k].minutes
        if not self.rules.whole[k]:
            return minutes * inside
        setup = self.problem.setup_minutes(self.problem.operations[k])
        more = self.scraps[k] + self.sizes[k] - minutes
        return minutes * inside + self._if(inside, more, self.shortest - 1 + setup)

    def _if(self, there: Any, what: Any, most: int) -> Any:
        """Return a variable that is no less than another, if that counts."""
        counted = self.model.new_int_var(0, most, "")
        self.model.add(counted >= what).only_enforce_if(there)
        return counted

    def _twins(self) -> None:
        """Put loads that are the same in order at every step."""
        for first, second in twins(self.problem):
            for a, b in zip(first, second, strict=True):
                self.model.add(self.ends[a] <= self.starts[b])
                self.twins.append(([(a, b)], (a, b), False))
        self._colours()
        if self.may_share:  # without, it is looked near to the plan there is
            self._in_stretches(in_pieces=False)

    def _one_first(self, a: int, b: int, when: list[Any]) -> None:
        self.model.add(self.ends[a] <= self.starts[b]).only_enforce_if(when)
