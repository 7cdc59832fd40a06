"""The bench view: its pages under its token, and nothing else, while it is on."""

import asyncio
import http.client
import re
from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import date
from urllib.parse import urlsplit

import pytest
import pytest_asyncio

from hidewright.app import bench as bench_module
from hidewright.app.bench import Bench, BenchPage, lan_address
from hidewright.drawing.bench_page import (
    BenchStep,
    DayLine,
    day_page,
    script_for,
    script_hash,
    steps_page,
)
from hidewright.drawing.build_sheet import SheetStep, Stamp
from hidewright.errors import RequestError
from hidewright.planning.batch_plan import BatchPlan, State, Task, Work
from hidewright.planning.loads import Load, Share
from hidewright.workshop.batch.day_list import day_list

pytestmark = pytest.mark.asyncio

STAMP = Stamp(title="Lens case", revision="1", day="2 March 2026")
STEPS = (
    BenchStep(
        shown=SheetStep(title="Soak", time="2 min", how="Lay it under.", cautions=("Warm.",))
    ),
    BenchStep(
        shown=SheetStep(title="Press", time="5 min", how="Close it.", measured=(("gap", "2 mm"),)),
        wait="in the press",
        wait_minutes=75,
    ),
)
HTML = steps_page(STAMP, "key", STEPS)
PAGE = BenchPage(words="Lens case", render=lambda: HTML)
LOCAL = "127.0.0.1"


@pytest_asyncio.fixture
async def bench() -> AsyncIterator[Bench]:
    bench = Bench()
    bench.put("lens", PAGE)
    await bench.open(LOCAL, 0)
    yield bench
    await bench.close()


def asked(
    address: str, path: str, method: str = "GET", host: str = ""
) -> tuple[int, bytes, dict[str, str]]:
    parts = urlsplit(address)
    connection = http.client.HTTPConnection(LOCAL, parts.port or 0, timeout=10)
    connection.request(method, path, headers={"Host": host or parts.netloc})
    answer = connection.getresponse()
    body = answer.read()
    connection.close()
    return answer.status, body, {k.lower(): v for k, v in answer.getheaders()}


async def status(address: str, path: str, method: str = "GET", host: str = "") -> int:
    return (await asyncio.to_thread(asked, address, path, method, host))[0]


async def test_the_token_opens_its_list_and_its_pages(bench: Bench) -> None:
    root = urlsplit(bench.address).path
    assert root == f"/{bench.token}/"
    _, listed, _ = await asyncio.to_thread(asked, bench.address, root)
    assert b'<a href="lens">Lens case</a>' in listed
    code, page, headers = await asyncio.to_thread(asked, bench.address, f"{root}lens")
    assert (code, page) == (200, HTML)
    assert headers["cache-control"] == "no-store"
    assert "default-src 'none'" in headers["content-security-policy"]


async def test_a_page_is_made_anew_at_every_request_and_a_refusal_tells_nothing(
    bench: Bench,
) -> None:
    days = [b"<p>Monday</p>", b"<p>Tuesday</p>"]

    def today() -> bytes:
        if not days:
            raise RequestError("/home/maker/book.sqlite is locked")
        return days.pop(0)

    bench.put("day", BenchPage(words="Today", render=today))
    path = f"/{bench.token}/day"
    told = [await asyncio.to_thread(asked, bench.address, path) for _ in range(3)]
    assert [(code, body) for code, body, _ in told[:2]] == [
        (200, b"<p>Monday</p>"),
        (200, b"<p>Tuesday</p>"),
    ]
    assert told[2][0] == 503
    assert b"sqlite" not in told[2][1]


@pytest.mark.parametrize(
    "path",
    ["/", "/money", "/design/x/carry", "/TOKEN", "/wrong/", "/wrong/lens", "/TOKENx/", "/TOKEN/no",
     "/TOKEN/../money", "//TOKEN/"],
)  # fmt: skip
async def test_everything_else_is_not_there(bench: Bench, path: str) -> None:
    assert await status(bench.address, path.replace("TOKEN", bench.token)) == 404


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS"])
async def test_nothing_but_reading_is_answered(bench: Bench, method: str) -> None:
    assert await status(bench.address, f"/{bench.token}/lens", method) == 405


async def test_another_name_of_the_machine_is_not_answered(bench: Bench) -> None:
    assert await status(bench.address, f"/{bench.token}/lens", host="workshop.example:1") == 404


async def test_off_is_closed_and_on_again_has_another_token(bench: Bench) -> None:
    address, token = bench.address, bench.token
    assert len(token) >= 32
    await bench.close()
    assert (bench.is_on, bench.address) == (False, "")
    with pytest.raises(OSError, match="refused"):
        await status(address, f"/{token}/")
    again = await bench.open(LOCAL, 0)
    assert bench.token != token
    assert await status(again, f"/{token}/lens") == 404
    assert await status(again, f"/{bench.token}/lens") == 200


async def test_a_taken_port_is_no_trouble(bench: Bench) -> None:
    other = Bench()
    port = urlsplit(bench.address).port or 0
    address = await other.open(LOCAL, port)
    try:
        assert urlsplit(address).port != port
        assert await status(address, f"/{other.token}/") == 200
    finally:
        await other.close()


@pytest.mark.parametrize("found", ["127.0.0.1", "0.0.0.0", "8.8.8.8", "none"])
async def test_it_is_not_shown_to_the_world_nor_without_a_network(
    found: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Socket:
        def __enter__(self) -> "Socket":
            return self

        def __exit__(self, *_: object) -> None: ...

        def connect(self, _: object) -> None:
            if found == "none":
                raise OSError("Network is unreachable")

        def getsockname(self) -> tuple[str, int]:
            return (found, 1)

    monkeypatch.setattr("socket.socket", lambda *_: Socket())
    with pytest.raises(RequestError, match="no home network"):
        lan_address()


async def test_a_page_has_a_box_for_each_step_and_a_timer_where_hands_are_off() -> None:
    page = HTML.decode()
    assert page.count('type="checkbox"') == len(STEPS)
    assert re.findall(r'data-minutes="(\d+)"', page) == ["75"]
    assert "Start the timer: in the press, 1 h 15 min" in page
    assert "<form" not in page
    assert "Warm." in page
    assert f"'{script_hash(HTML)}'" in bench_module.POLICY.format(script=script_hash(HTML))


async def test_the_days_list_stands_in_its_order_with_ticks() -> None:
    lines = (DayLine(start="8:00", what="soak 4 fronts", minutes=6, then="soaking until 8:18"),
             DayLine(start="8:20", what="press <pair>", minutes=12))  # fmt: skip
    page = day_page("Alder Row", "Monday", lines).decode()
    assert page.index("soak 4 fronts") < page.index("press &lt;pair&gt;")
    assert page.count('type="checkbox"') == 2
    assert page.count("<p>Then soaking until 8:18</p>") == page.count("<p>Then") == 1


async def test_no_key_ends_the_script_early() -> None:
    assert "</script" not in script_for("</script><b>")


def task(key: str, state: State, *times: tuple[int, int]) -> Task:
    return Task(
        key=key,
        load=1,
        step=key,
        words=key,
        minutes=sum(end - start for start, end in times),
        times=tuple(Work(start=start, end=end, person="me") for start, end in times),
        state=state,
    )


async def test_the_days_list_is_what_the_plan_has_on_that_day_and_is_not_done() -> None:
    day = 24 * 60
    plan = BatchPlan(
        monday=date(2026, 3, 2),
        made=0,
        loads=(Load(number=1, design="d", colour="tan", shares=(Share(order="o", count=4),)),),
        articles=(("d", "Lens case"),),
        tasks=(
            task("sew", "planned", (day + 600, day + 660), (2 * day + 480, 2 * day + 500)),
            replace(
                task("soak", "planned", (day + 485, day + 497)), ready=day + 520, rest="soaking"
            ),
            task("cut", "done", (day + 480, day + 484)),
        ),
        taken=(),
        stations=(),
        orders=(),
        status="feasible",
        finish=2 * day + 500,
        bound=0,
        rounds=0,
        seed=0,
    )
    load = "load 1: 4 Lens case, tan"
    assert day_list(plan, date(2026, 3, 3)) == (
        DayLine(start="08:05", what=f"soak ({load})", minutes=12, then="soaking until 08:40"),
        DayLine(start="10:00", what=f"sew (part 1 of 2) ({load})", minutes=60),
    )
    assert [line.minutes for line in day_list(plan, date(2026, 3, 4))] == [20]
    assert day_list(plan, date(2026, 3, 2)) == ()


async def test_a_listener_that_does_not_start_is_told_and_is_off(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    async def never(server: object, sockets: object = None) -> None:
        await asyncio.sleep(0.3)

    monkeypatch.setattr(bench_module._Quiet, "serve", never)
    monkeypatch.setattr(bench_module, "PATIENCE_S", 0.05)
    bench = Bench()
    with pytest.raises(RequestError, match="did not start"):
        await bench.open(LOCAL, 0)
    assert not bench.is_on
    assert bench.address == ""
