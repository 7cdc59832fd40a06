"""The app in this process for tests of its pages: its answers are reckoned at once."""

import asyncio
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from nicegui import Client
from nicegui.testing import User
from nicegui.testing.user_simulation import user_simulation

from hidewright.app import server
from hidewright.app.shop import Shop
from hidewright.app.worker import Done, Part, Progress, Tell, loaded
from hidewright.errors import RequestError


class Here:
    """A worker that answers before the event loop turns again, and notes what it was asked."""

    noted: list[tuple[Any, Any]] = []  # noqa: RUF012 - (question, answer) of all of them
    answers: dict[str, Any] = {}  # noqa: RUF012 - what one test has pressed serves the next

    def __init__(self, name: str, make: str, *, behind: bool = False) -> None:
        self._answer = self.answers.get(make) or loaded(make)
        self.answers[make] = self._answer

    def start(self) -> None: ...

    def stop(self) -> None: ...

    def cancel(self, key: str) -> None: ...

    def leave_off(self, key: str) -> None: ...

    def stand_still(self) -> None: ...

    def go_on(self) -> None: ...

    def ask(self, key: str, question: object, tell: Tell) -> None:
        asyncio.get_running_loop().call_soon(self._tell, question, tell)

    def _tell(self, question: object, tell: Tell) -> None:
        try:
            for value in self._answer(question, lambda words: tell(Progress(words))):
                self.noted.append((question, value))
                tell(Part(value))
            tell(Done())
        except RequestError as refused:
            tell(Done(refused=refused))
        except ZeroDivisionError as ours:
            tell(Done(crashed=repr(ours)))


def element(page: Client, id: str) -> Any:
    """Return the one element of a page that has an id."""
    (found,) = [one for one in page.elements.values() if one.props.get("id") == id]
    return found


@asynccontextmanager
async def app_here(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> AsyncIterator[tuple[Shop, User]]:
    """Yield the app with the demo's articles in a new book, and a user of it."""
    monkeypatch.setattr("hidewright.app.shop.Worker", Here)
    monkeypatch.setattr("hidewright.app.server.Guard", lambda inner: inner)  # hosts are made up
    built: list[Shop] = []
    build = server.build
    monkeypatch.setattr(server, "build", lambda book: built.append(build(book)))
    main = folder / "main.py"
    main.write_text(
        "from pathlib import Path\nfrom nicegui import ui\nfrom hidewright.app import server\n"
        f"server.build(Path({str(folder / 'book.sqlite')!r}))\nui.run(reload=False)\n"
    )
    # the simulation forgets the modules of its pages; other tests hold on to them
    kept = {name: held for name, held in sys.modules.items() if name.startswith("hidewright")}
    Here.noted = []
    async with user_simulation(main_file=main) as user:
        yield built[0], user
    sys.modules.update(kept)


async def seen(test: Callable[[], object]) -> None:
    """Wait until something is so, up to a minute: other tests may have the cores."""
    for _ in range(1200):
        if test():
            return
        await asyncio.sleep(0.05)
    raise AssertionError("it was never seen")
