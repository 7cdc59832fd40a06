"""A file that is brought by choosing or dropping it."""

from collections.abc import Awaitable, Callable

from nicegui import ui


class Bring(ui.element, component="bring.js"):
    """A place for a file.

    Args:
        to: Address that takes it.
        largest: Bytes at most.
        accept: Endings of files, separated by commas.
        on_brought: Called with the token under which the server keeps it.
    """

    def __init__(
        self, to: str, largest: int, accept: str, on_brought: Callable[[str], Awaitable[None]]
    ) -> None:
        super().__init__()
        self._props["to"] = to
        self._props["largest"] = largest
        self._props["accept"] = accept
        self.on("brought", lambda event: on_brought(str(event.args)))
