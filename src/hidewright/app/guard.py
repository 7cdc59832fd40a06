"""Who may talk to the server: pages that it served itself, from this machine, and nobody else.

Any web page that a browser shows can send requests to a server on the same machine. A browser says
in ``Host`` under which name it reached the server, in ``Origin`` and ``Sec-Fetch-Site`` which page
sent the request (Fetch standard, Fetch Metadata); a page cannot change them. This layer lies over
plain requests, long polling and web sockets alike.
"""

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Asgi = Callable[[Scope, Receive, Send], Awaitable[None]]

#: Names under which this machine reaches itself.
LOOPBACK = frozenset({"127.0.0.1", "localhost", "[::1]"})
#: What a page may load: from this server alone, and nobody may frame it. Vue compiles templates in
#: the browser, which needs eval.
POLICY = (
    "default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; "
    "style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; font-src 'self' data:; "
    "connect-src 'self'; object-src 'none'; base-uri 'self'; form-action 'self'; "
    "frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
)


class Guard:
    """A layer round an ASGI application that refuses foreign hosts and foreign pages.

    Args:
        inner: The application.
        names: Host names under which it may be reached, IPv6 in brackets.
    """

    def __init__(self, inner: Asgi, names: frozenset[str] = LOOPBACK) -> None:
        self._inner = inner
        self._names = names

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self._inner(scope, receive, send)
            return
        headers = {key.decode("latin-1").lower(): value for key, value in scope["headers"]}
        texts = {key: value.decode("latin-1") for key, value in headers.items()}
        many = [key for key, _ in scope["headers"]].count(b"host") > 1
        if many or not allowed(texts, scope.get("method", "GET"), scope["type"], self._names):
            await _refuse(scope["type"], receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", []), *HEADERS]
            await send(message)

        await self._inner(scope, receive, with_headers)


def allowed(
    headers: MutableMapping[str, str], method: str, sort: str, names: frozenset[str] = LOOPBACK
) -> bool:
    """Return whether a request may pass.

    Args:
        headers: By lower-case name.
        method: Of a plain request.
        sort: ``http`` or ``websocket``.
        names: Host names under which the server may be reached.
    """
    host = headers.get("host", "")
    if _name(host) not in names:
        return False
    origin = headers.get("origin")
    if origin is not None:
        return origin in (f"http://{host}", f"https://{host}")
    site = headers.get("sec-fetch-site", "none")
    if site in ("none", "same-origin"):
        return True
    # a link on a foreign page may open one of ours, but not be part of it
    opened = headers.get("sec-fetch-mode") == "navigate"
    whole = headers.get("sec-fetch-dest") == "document"
    return sort == "http" and method in ("GET", "HEAD") and opened and whole


def _name(host: str) -> str:
    """Return a Host header without its port."""
    name, colon, port = host.rpartition(":")
    return name if colon and port.isdecimal() else host


async def _refuse(sort: str, receive: Receive, send: Send) -> None:
    if sort == "websocket":
        await receive()  # websocket.connect
        await send({"type": "websocket.close", "code": 4403})
        return
    body = b"Refused: this is not a page of this server.\n"
    headers = [(b"content-type", b"text/plain; charset=utf-8")]
    await send({"type": "http.response.start", "status": 403, "headers": headers})
    await send({"type": "http.response.body", "body": body})
