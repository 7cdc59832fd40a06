"""The guard lets the app's own pages through and nobody else, on every way in."""

import asyncio
from typing import Any

import pytest

from hidewright.app.guard import LOOPBACK, POLICY, Guard, allowed

OURS = {"host": "127.0.0.1:8377"}


@pytest.mark.parametrize("name", sorted(LOOPBACK))
@pytest.mark.parametrize("port", ["", ":8377", ":1"])
def test_this_machine_reaches_itself_under_each_of_its_names(name: str, port: str) -> None:
    assert allowed({"host": name + port}, "GET", "http")
    assert allowed({"host": name + port, "origin": f"http://{name}{port}"}, "POST", "http")
    assert allowed({"host": name + port, "origin": f"http://{name}{port}"}, "GET", "websocket")


@pytest.mark.parametrize(
    "host",
    ["", "evil.example", "127.0.0.1.evil.example", "localhost.evil.example:8377", "192.168.1.7",
     "127.0.0.1:8377:1", "[::2]:8377", "127.0.0.1@evil.example", "LOCALHOST.", "0.0.0.0:8377"],
)  # fmt: skip
@pytest.mark.parametrize("sort", ["http", "websocket"])
def test_a_foreign_name_for_this_machine_is_refused(host: str, sort: str) -> None:
    assert not allowed({"host": host}, "GET", sort)


@pytest.mark.parametrize(
    "origin",
    ["http://evil.example", "https://evil.example", "null", "", "http://127.0.0.1:9999",
     "http://127.0.0.1", "http://localhost:8377", "file://", "http://127.0.0.1:8377.evil.example"],
)  # fmt: skip
@pytest.mark.parametrize("sort", ["http", "websocket"])
def test_a_foreign_page_is_refused_on_requests_and_sockets(origin: str, sort: str) -> None:
    assert not allowed({**OURS, "origin": origin}, "POST", sort)
    assert not allowed({**OURS, "origin": origin}, "GET", sort)


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_foreign_page_may_link_here_but_not_take_anything_in(site: str) -> None:
    opened = {**OURS, "sec-fetch-site": site, "sec-fetch-mode": "navigate"}
    assert allowed({**opened, "sec-fetch-dest": "document"}, "GET", "http")
    for wrong in (
        {**opened, "sec-fetch-dest": "iframe"},
        {**OURS, "sec-fetch-site": site, "sec-fetch-mode": "no-cors", "sec-fetch-dest": "image"},
        {**OURS, "sec-fetch-site": site, "sec-fetch-mode": "cors", "sec-fetch-dest": "empty"},
    ):
        assert not allowed(wrong, "GET", "http")
    assert not allowed({**opened, "sec-fetch-dest": "document"}, "POST", "http")


async def _app(scope: Any, receive: Any, send: Any) -> None:
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"in"})


def _asked(headers: list[tuple[bytes, bytes]], sort: str = "http") -> list[Any]:
    sent: list[Any] = []

    async def receive() -> dict[str, Any]:
        return {"type": f"{sort}.connect"}

    async def send(message: Any) -> None:
        sent.append(message)

    scope = {"type": sort, "method": "GET", "headers": headers}
    asyncio.run(Guard(_app)(scope, receive, send))
    return sent


def test_what_passes_carries_the_policy_that_keeps_other_hosts_out() -> None:
    start = _asked([(b"host", b"localhost:1")])[0]
    headers = dict(start["headers"])
    assert start["status"] == 200
    assert headers[b"content-security-policy"] == POLICY.encode()
    sources = {word for part in POLICY.split(";") for word in part.split()[1:]}
    assert sources <= {
        "'self'", "'none'", "'unsafe-inline'", "'unsafe-eval'", "data:", "blob:"
    }  # fmt: skip


def test_what_is_refused_never_reaches_the_app() -> None:
    assert _asked([(b"host", b"evil.example")])[0]["status"] == 403
    assert _asked([])[0]["status"] == 403
    twice = [(b"host", b"localhost:1"), (b"host", b"evil.example")]
    assert _asked(twice)[0]["status"] == 403
    closed = _asked([(b"host", b"localhost:1"), (b"origin", b"http://x.example")], "websocket")
    assert closed == [{"type": "websocket.close", "code": 4403}]
