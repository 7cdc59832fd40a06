"""What the process that reckons money answers: the price at once, ladder and tornado after it.

Where materials have no price, it names them in its place.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from hidewright.app.asked import Progress
from hidewright.app.asked_money import BenchAsked, MoneyAsked
from hidewright.costing.unpriced import Unpriced, UnpricedError
from hidewright.workshop.bench_page import bench_page
from hidewright.workshop.graph import Cache
from hidewright.workshop.money.price import priced
from hidewright.workshop.money.priced import Priced

Answer = Priced | tuple[Unpriced, ...] | bytes


@dataclass(slots=True)
class Reckoner:
    """Keeps what each article takes, so that a slider moves the reckoning alone."""

    cache: Cache = field(default_factory=Cache)

    def answer(self, asked: MoneyAsked | BenchAsked, progress: Progress) -> Iterator[Answer]:
        """Yield cost and price, then with ladder, tornado and ranges; or a page for the bench."""
        if isinstance(asked, BenchAsked):
            yield bench_page(
                asked.spec,
                asked.key,
                asked.day,
                self.cache,
                progress,
                laser_speed=asked.laser_speed,
                bench=asked.bench,
                written=asked.written,
            )
            return
        try:
            for alone in (True, False):
                yield self._priced(asked, progress, alone=alone)
        except UnpricedError as refused:
            yield refused.missing
            raise

    def _priced(self, asked: MoneyAsked, progress: Progress, *, alone: bool) -> Priced:
        return priced(
            asked.spec,
            asked.rates,
            asked.prices,
            asked.batch,
            self.cache,
            progress,
            bench=asked.bench,
            yields=asked.yields,
            what_if=asked.what_if,
            alone=alone,
            learned=asked.learned,
        )


def money() -> Callable[[MoneyAsked | BenchAsked, Progress], Iterator[Answer]]:
    """Return what answers."""
    return Reckoner().answer
