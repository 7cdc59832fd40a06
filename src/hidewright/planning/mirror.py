"""How late each step of a plan could be done: the plan laid down backwards, from its finish.

What is last goes first, in hours that run backwards. The starts found so are keys to plan by anew;
to and fro, gaps close from both ends (Valls, Ballestin and Quintanilla, Justification and RCPSP: a
technique that pays, European Journal of Operational Research 165 (2005) 375-386).
"""

from dataclasses import replace

from hidewright.planning.bench import Bench
from hidewright.planning.calendar import DAY
from hidewright.planning.dispatch import Dispatcher
from hidewright.planning.draft import Draft, Wishes
from hidewright.planning.problem import Problem

#: Hours before the first day, should the plan laid down backwards begin sooner.
DAYS_BEFORE = 60


class Mirror:
    """A problem seen backwards.

    Args:
        problem: Nothing in it is fixed.
        bench: The same, laid out.
    """

    def __init__(self, problem: Problem, bench: Bench) -> None:
        self._windows = bench.windows
        self._back = Bench(
            replace(
                problem,
                waits=tuple(
                    replace(one, before=one.after, after=one.before) for one in problem.waits
                ),
                holds=tuple(replace(one, first=one.last, last=one.first) for one in problem.holds),
                orders=tuple(replace(one, due=None, release=0) for one in problem.orders),
                now=0,
            )
        )
        self._dispatcher = Dispatcher(self._back)

    def latest_starts(self, draft: Draft, wishes: Wishes) -> list[float] | None:
        """Return when each operation could start at the latest; None where it does not go back."""
        last = draft.finish
        self._back.keep_hours([self._backwards(windows, last) for windows in self._windows])
        found = self._dispatcher.run(
            Wishes(
                keys=[-float(end) for end in draft.ends],
                stretch=wishes.stretch,
                flush_key=wishes.flush_key,
                scrap_key=wishes.scrap_key,
            )
        )
        return None if found is None else [float(last - end) for end in found.ends]

    @staticmethod
    def _backwards(windows: list[tuple[int, int]], last: int) -> list[tuple[int, int]]:
        out = [
            (max(0, last - end), last - begin) for begin, end in reversed(windows) if begin < last
        ]
        begun = last // DAY * DAY + DAY
        return out + [
            (begun + begin, begun + end) for begin, end in windows if begin < DAYS_BEFORE * DAY
        ]
