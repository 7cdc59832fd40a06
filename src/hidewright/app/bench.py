"""The bench view: a second listener that shows rendered pages to a phone, and can do nothing else.

It is off until the maker switches it on. Then it listens on this machine's address in its own
network, on a port of its own, and answers GET for its pages under an unguessable token; every other
address is not there. It knows its pages alone: book, designs and editor stay on loopback.
"""

import asyncio
import contextlib
import importlib
import ipaddress
import secrets
import socket
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from hidewright.errors import RequestError

#: Port that is tried first, so that a phone finds its ticks again.
PORT = 8378
#: How long it is waited for the listener to start or to end, s.
PATIENCE_S = 5.0
POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'; script-src '{script}'"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchPage:
    """One page that is shown.

    Attributes:
        words: On the link to it.
        render: Returns the page as it is now; called beside the event loop at every request.
    """

    words: str
    render: Callable[[], bytes]


@dataclass(slots=True, eq=False)
class Bench:
    """The listener of one running app.

    Attributes:
        token: Under which pages are found; a new one each time it is switched on.
    """

    token: str = ""
    _pages: dict[str, BenchPage] = field(default_factory=dict)
    _server: "_Quiet | None" = None
    _task: "asyncio.Task[None] | None" = None
    _socket: socket.socket | None = None
    _host: str = ""

    @property
    def is_on(self) -> bool:
        """Whether it listens."""
        return self._task is not None and not self._task.done()

    @property
    def address(self) -> str:
        """Where a phone finds it; empty while it is off."""
        if not self.is_on or self._socket is None:
            return ""
        return f"http://{self._host}:{self._socket.getsockname()[1]}/{self.token}/"

    @property
    def pages(self) -> Mapping[str, BenchPage]:
        """What is shown, by name."""
        return dict(self._pages)

    def put(self, name: str, page: BenchPage) -> None:
        """Show a page, over what was shown under its name."""
        self._pages[name] = page

    async def open(self, host: str = "", port: int = PORT) -> str:
        """Begin to listen; return the address.

        Args:
            host: Address to listen on; that of this machine in its own network without it.
            port: Tried first; any free one when it is taken.

        Raises:
            RequestError: When this machine is in no network, or nothing listens in time.
        """
        if self.is_on:
            return self.address
        await asyncio.to_thread(importlib.import_module, "hidewright.drawing.bench_page")
        self._host = host or lan_address()
        self._socket = _bound(self._host, port)
        self.token = secrets.token_urlsafe(24)
        config = uvicorn.Config(
            self._app(), log_level="warning", lifespan="off", access_log=False, server_header=False
        )
        self._server = _Quiet(config)
        self._task = asyncio.get_running_loop().create_task(
            self._server.serve(sockets=[self._socket])
        )
        try:
            async with asyncio.timeout(PATIENCE_S):
                while not self._server.started:
                    await asyncio.sleep(0.01)
        except TimeoutError:
            await self.close()
            raise RequestError(
                "the bench view did not start",
                because=f"nothing listened on {self._host} within {PATIENCE_S:g} s",
                mend="Switch it on again when the machine is less busy",
            ) from None
        return self.address

    async def close(self) -> None:
        """Stop listening; open connections are ended."""
        if self._server is None or self._task is None:
            return
        self._server.should_exit = self._server.force_exit = True
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(self._task, PATIENCE_S)
        if self._socket is not None:
            self._socket.close()
        self._server = self._task = self._socket = None
        self.token = ""

    def _app(self) -> Starlette:
        app = Starlette(routes=[Route("/{token}/{name:path}", self._page, methods=["GET"])])
        app.router.redirect_slashes = False  # a guess is told nothing
        return app

    async def _page(self, request: Request) -> Response:
        from hidewright.drawing.bench_page import list_page

        token, name = request.path_params["token"], request.path_params["name"]
        host = request.headers.get("host", "").rpartition(":")[0]
        if host != self._host or not secrets.compare_digest(token.encode(), self.token.encode()):
            return Response("Not there.", 404)
        if not name:
            links = [(page.words, name) for name, page in self._pages.items()]
            return _shown(list_page("The workshop", links))
        page = self._pages.get(name)
        if page is None:
            return Response("Not there.", 404)
        try:
            return _shown(await asyncio.to_thread(page.render))
        except RequestError:
            return Response("It cannot be read now: look at the app.", 503)


class _Quiet(uvicorn.Server):
    """A server inside another: signals are the outer one's to hear."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


def lan_address() -> str:
    """Return this machine's address in its own network, IPv4. Nothing is sent for it.

    Raises:
        RequestError: When it has none, or only one that anybody in the world could reach.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))  # an address for examples: RFC 5737
            found = str(asked.getsockname()[0])
        except OSError:
            found = "0.0.0.0"
    address = ipaddress.ip_address(found)
    if address.is_loopback or address.is_unspecified or not address.is_private:
        raise RequestError(
            "no home network is found",
            because="the bench view is shown inside the workshop's own network alone",
            mend="Join the network that the phone is in, then switch it on again",
        )
    return found


def _bound(host: str, port: int) -> socket.socket:
    for number in (port, 0):
        bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            bound.bind((host, number))
        except OSError:
            bound.close()
            continue
        return bound
    raise RequestError(f"nothing can listen on {host}", mend="Look at the machine's firewall")


def _shown(page: bytes) -> Response:
    from hidewright.drawing.bench_page import script_hash

    headers = {
        "content-security-policy": POLICY.format(script=script_hash(page)),
        "x-content-type-options": "nosniff",
        "referrer-policy": "no-referrer",
        "cache-control": "no-store",
    }
    return Response(page, media_type="text/html; charset=utf-8", headers=headers)
