"""How late a batch must be at least, its orders taken together: what no plan beats.

Where no order need be late by itself, all of them together may, for one must be behind another. So
what is known are boxes: each order late by so much at least and at most. In a box the least is
raised to what the rules leave, the most lowered to what the sum allows; a box with nothing left is
dropped. The box with the least sum is parted at what is just not possible, for there one order or
another is later (branch and bound: Land and Doig, Econometrica 28 (1960) 497-520). No plan beats
the least sum of the boxes that are left.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

#: Whether any plan may have no order later than by so many minutes, order by order. It may say so
#: wrongly, but then of all that is later, too.
Possible = Callable[[Sequence[int]], bool]


@dataclass(frozen=True, slots=True, order=True)
class _Box:
    """Late minutes of each order, at least and at most; ``least`` is the sum by weight."""

    least: int
    low: tuple[int, ...]
    high: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Late:
    """What is known of all plans that are no later than so.

    Attributes:
        least: Late minutes by weight that none of them beats; one more than asked for if there is
            no such plan.
        most: Minutes by which each order is late at most; None if there is no such plan.
    """

    least: int
    most: tuple[int, ...] | None


def late_between(weights: Sequence[int], late: int, possible: Possible, tries: int) -> Late:
    """Return how late orders are in plans that are no later than so.

    Args:
        weights: Of the orders that have a date.
        late: Late minutes by weight at most.
        possible: Asked of late minutes.
        tries: How often it may be asked, but for the last box that is parted.
    """
    boxes = _Boxes(weights, late, possible, tries)
    while boxes.open and boxes.tries < tries:
        first = boxes.open[0]
        if first.low == first.high or boxes.ask(first.low):
            break
        boxes.part(heappop(boxes.open))
    if not boxes.open:
        return Late(least=late + 1, most=None)
    most = tuple(max(row) for row in zip(*(one.high for one in boxes.open), strict=True))
    return Late(least=boxes.open[0].least, most=most)


class _Boxes:
    """The boxes that may have a plan: at first one with all that there is."""

    def __init__(self, weights: Sequence[int], late: int, possible: Possible, tries: int) -> None:
        self.weights, self.late, self.possible, self.most_tries = weights, late, possible, tries
        high = tuple(late // weight for weight in weights)
        self.open = [_Box(0, (0,) * len(weights), high)]
        self.tries = 0

    def ask(self, late: Sequence[int]) -> bool:
        self.tries += 1
        return self.possible(late)

    def part(self, box: _Box) -> None:
        """Part a box whose orders cannot all be in time: each in turn is later than they can be."""
        low, high = 0, self.late - box.least
        while low < high:
            middle = (low + high + 1) // 2
            if self.ask(self._later(box, middle)):
                high = middle - 1
            else:
                low = middle
        for k, by in enumerate(self._later(box, low)):
            if by < box.high[k]:
                self.add([*box.low[:k], by + 1, *box.low[k + 1 :]], list(box.high))

    def _later(self, box: _Box, late: int) -> list[int]:
        """Return minutes by which each order is late, each by so many minutes by weight more."""
        rows = zip(self.weights, box.low, box.high, strict=True)
        return [min(low + late // weight, high) for weight, low, high in rows]

    def add(self, low: list[int], high: list[int]) -> None:
        """Keep what is left of a box, if anything is."""
        changed = True
        while changed:
            changed = False
            least = self._sum(low)
            if least > self.late:
                return
            for k, weight in enumerate(self.weights):
                high[k] = min(high[k], low[k] + (self.late - least) // weight)
            if self.tries >= self.most_tries:
                break
            if not self.ask(high):
                return
            for k in range(len(low)):
                raised = self._raised(low, high, k)
                changed = changed or raised > low[k]
                low[k] = raised
        heappush(self.open, _Box(self._sum(low), tuple(low), tuple(high)))

    def _raised(self, low: Sequence[int], high: Sequence[int], k: int) -> int:
        """Return the least that an order is late by, the others as late as the box lets them be."""
        least, most = low[k], high[k]
        while least < most and self.tries < self.most_tries:
            middle = (least + most) // 2
            if self.ask([*high[:k], middle, *high[k + 1 :]]):
                most = middle
            else:
                least = middle + 1
        return least

    def _sum(self, late: Sequence[int]) -> int:
        return sum(weight * by for weight, by in zip(self.weights, late, strict=True))
