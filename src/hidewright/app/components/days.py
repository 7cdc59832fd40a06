"""The days of a plan, with ticks, and steps that can be sent to another day."""

from collections.abc import Awaitable, Callable
from typing import Any, get_args

from nicegui import ui
from nicegui.events import GenericEventArguments

from hidewright.planning.batch_plan import State


class Days(ui.element, component="days.js"):
    """A list of days.

    Args:
        on_tick: Called with the key of a task and how far it is now.
        on_move: Called with the key of a task and the number of a day.
    """

    def __init__(
        self,
        on_tick: Callable[[str, State], Awaitable[None]],
        on_move: Callable[[str, int], Awaitable[None]],
    ) -> None:
        super().__init__()
        self._props["days"] = []
        self._props["choices"] = []
        self._props["answered"] = 0

        async def tick(event: GenericEventArguments) -> None:
            if event.args["state"] in get_args(State):
                await on_tick(str(event.args["key"]), event.args["state"])
            self._props["answered"] = max(self._props["answered"], int(event.args["sent"]))
            self.update()

        async def move(event: GenericEventArguments) -> None:
            await on_move(str(event.args["key"]), int(event.args["day"]))

        self.on("tick", tick)
        self.on("move", move)

    def show(self, days: list[dict[str, Any]], choices: list[dict[str, Any]]) -> None:
        """Show days, and the days that a step can be sent to."""
        self._props["days"] = days
        self._props["choices"] = choices
        self.update()
