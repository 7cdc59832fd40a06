"""What a page hears only while a browser shows it."""

from collections.abc import Callable
from typing import Any, TypeVar

from nicegui import Client

What = TypeVar("What")


def while_open(client: Client, hear: Callable[[What], Any]) -> Callable[[What], None]:
    """Return a listener that is silent while no browser shows the page.

    A window that was left is kept for some time, as its browser may come back to it. Meanwhile it
    must not take part in the work: each edit elsewhere would be calculated and drawn for it too.

    Args:
        client: The window.
        hear: Called with what is told; with each thing that was missed once, when the window is
            back.
    """
    missed: dict[What, None] = {}
    away = False

    def told(what: What) -> None:
        if away:
            missed[what] = None
        else:
            hear(what)

    def left() -> None:
        nonlocal away
        away = not client.has_socket_connection

    def back() -> None:
        nonlocal away
        away = False
        for what in tuple(missed):
            del missed[what]
            hear(what)

    client.on_disconnect(left)
    client.on_connect(back)
    return told
