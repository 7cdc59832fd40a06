"""What gives way to an edit stands still while its pictures are made, but never for long."""

import asyncio
import math
from collections.abc import Callable, Iterable

from hidewright.app.worker import Worker

#: They stand still at most so long at a time, s.
MOST_S = 0.5
#: And go on at least so long before they stand still again, so that a pack gets on under a drag, s.
LEAST_S = 0.2
#: The browser draws an answer in about so long, s.
DRAWN_S = 0.1


class GivingWay:
    """Has some processes stand still from an edit until its picture is drawn.

    Few machines have a core to spare: what runs beside an edit takes the memory's and the caches'
    speed from it, however low its rank. All of it runs in the event loop.
    """

    def __init__(self, those: Callable[[], Iterable[Worker]]) -> None:
        """Take what tells which processes give way now."""
        self._those = those
        self._since: float | None = None
        self._again = 0.0
        self._end: asyncio.TimerHandle | None = None

    def asked(self) -> None:
        """Stand still: an edit is to be answered."""
        loop = asyncio.get_running_loop()
        if self._since is None and loop.time() >= self._again:
            self._since = loop.time()
            for one in self._those():
                one.stand_still()
        self._go_on_by(math.inf)

    def answered(self) -> None:
        """Go on soon: the browser has what it draws."""
        self._go_on_by(asyncio.get_running_loop().time() + DRAWN_S)

    def _go_on_by(self, time_s: float) -> None:
        if self._since is None:
            return
        if self._end is not None:
            self._end.cancel()
        at = min(time_s, self._since + MOST_S)
        self._end = asyncio.get_running_loop().call_at(at, self._go_on)

    def _go_on(self) -> None:
        self._since = self._end = None
        self._again = asyncio.get_running_loop().time() + LEAST_S
        for one in self._those():
            one.go_on()
