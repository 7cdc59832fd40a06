"""The Book page built in process: readings in, what is known out, and designs that follow."""

from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio
from nicegui.testing import User

from hidewright.app.pages.book_fields import number_from, whole_from
from hidewright.app.shop import Shop
from hidewright.app.worker import Done, Progress
from hidewright.catalogue.step_rows import built_in_times
from hidewright.design.bench_reading import BenchReading
from hidewright.design.step_done import StepDone
from hidewright.design.stock_item import StockItem
from hidewright.errors import RequestError
from hidewright.planning.step_times import own_times
from hidewright.planning.steps_choice import BenchChoice
from hidewright.store.book_designs import list_designs
from hidewright.store.book_done import DONE
from hidewright.store.book_readings import READINGS, add_reading
from hidewright.store.book_stock import STOCK, keep_item
from hidewright.store.book_tooling import TOOLING
from hidewright.workshop.paper_choice import PaperChoice
from page_here import app_here, seen

pytestmark = pytest.mark.asyncio
DAY = date(2026, 3, 2)
KERF = BenchReading(what="kerf", subject="MDF 6 mm", value=0.15, day=DAY)


@pytest_asyncio.fixture
async def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[tuple[Shop, User]]:
    """Yield the app with the demo's articles, and a user of it."""
    async with app_here(tmp_path, monkeypatch) as both:
        yield both


@pytest.mark.parametrize(
    ("text", "hours"), [("21.5", 21.5), ("21,5", 21.5), ("21 h 30 min", 21.5), ("90 min", 1.5)]
)
async def test_hours_are_read_as_the_build_sheet_writes_them(text: str, hours: float) -> None:
    assert number_from(text, "what was read", unit="h") == hours
    assert number_from(text, "what was read", unit="min") == (hours * 60 if " " in text else hours)


@pytest.mark.parametrize("text", ["21:30", "a day", "-2 h", "3 mm"])
async def test_what_is_no_time_is_refused_with_how_one_is_written(text: str) -> None:
    with pytest.raises(RequestError, match="1 h 30 min"):
        number_from(text, "what was read", unit="h")


async def test_half_an_article_is_not_rounded_to_a_whole_one() -> None:
    assert whole_from(" 10 ", "articles in the batch") == 10
    with pytest.raises(RequestError, match=r"articles in the batch: 1\.5 is no whole number"):
        whole_from("1.5", "articles in the batch")


def _field(page: Any, id: str) -> Any:
    found = [one for one in page.elements.values() if one.props.get("id") == f"book-{id}"]
    assert len(found) == 1, id
    return found[0]


def _type(user: User, page: Any, id: str, text: str, event: str = "input") -> None:
    from nicegui.events import GenericEventArguments, handle_event

    field = _field(page, id)
    with user:
        for listener in tuple(field._event_listeners.values()):
            if listener.type == event:
                handle_event(
                    listener.handler,
                    GenericEventArguments(sender=field, client=page, args=text),
                )


def _press(user: User, page: Any, words: str) -> None:
    from nicegui.events import GenericEventArguments, handle_event

    (button,) = [
        one
        for one in page.elements.values()
        if one.tag == "button"
        and words in (one.props.get("aria-label"), getattr(one, "text", None))
    ]
    with user:
        for listener in tuple(button._event_listeners.values()):
            handle_event(
                listener.handler, GenericEventArguments(sender=button, client=page, args=None)
            )


async def test_the_book_begins_empty_and_says_where_to_begin(shop: tuple[Shop, User]) -> None:
    _, user = shop
    await user.open("/book")
    for words in (
        "The book",
        "No reading yet.",
        "Nothing of its own yet",
        "Draw the test pieces",
        "On the shelf",
        "Download the archive",
    ):
        await user.should_see(words)


async def test_a_reading_that_is_typed_in_is_kept_and_learned_from(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    page = await user.open("/book")
    _type(user, page, "subject", "MDF 6 mm")
    _type(user, page, "value", "0.16 mm")
    _type(user, page, "day", "2026-03-02")
    _press(user, page, "Keep this reading")
    await seen(lambda: bool(held.knows.shelf.about))
    assert list(READINGS.rows(held.book).values()) == [replace(KERF, value=0.16)]
    await user.should_see("kerf: MDF 6 mm", retries=100)
    await user.should_see("1 reading counts", retries=100)
    lens = next(row for row in list_designs(held.book) if row.name == "Lens case")
    desk = await held.desk(lens.id)
    own = held.knows.reckoned(desk.spec)
    assert 0.16 < own.tooling.mould_board.kerf_mm < 0.17
    remarks, _ = held.findings(desk)
    assert any(one.code == "reckoned-with-own-values" for one in remarks)


async def test_what_cannot_be_is_said_at_the_form_and_nothing_is_kept(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    page = await user.open("/book")
    _type(user, page, "subject", "MDF 6 mm")
    _type(user, page, "value", "a hair")
    _press(user, page, "Keep this reading")
    await user.should_see("a hair", retries=50)
    assert not READINGS.rows(held.book)
    # the field of what it is compared with comes and goes with the kind
    _type(user, page, "what", "dried length along", "change")
    assert _field(page, "of") is not None
    _type(user, page, "subject", "vegetable-tanned shoulder 1.4-1.6 mm")
    _type(user, page, "value", "97.3")
    _press(user, page, "Keep this reading")
    await user.should_see("nothing is written. Give a number", retries=50)
    assert not READINGS.rows(held.book)


async def test_inches_are_read_as_inches(shop: tuple[Shop, User]) -> None:
    held, user = shop
    held.choose_unit("in")
    page = await user.open("/book")
    _type(user, page, "subject", "MDF 6 mm")
    _type(user, page, "value", "0.007")
    _press(user, page, "Keep this reading")
    await seen(lambda: bool(READINGS.rows(held.book)))
    (reading,) = READINGS.rows(held.book).values()
    assert reading.value == pytest.approx(0.1778)
    await user.should_see("0.007 in", retries=50)


async def test_a_slip_is_questioned_and_withdrawn_or_kept(shop: tuple[Shop, User]) -> None:
    held, user = shop
    for value in (0.16, 0.17):
        add_reading(held.book, replace(KERF, value=value))
    slip = add_reading(held.book, replace(KERF, value=1.7, day=date(2026, 3, 3)))
    held.knows.learn()
    page = await user.open("/book")
    await user.should_see("Questioned", retries=100)
    await user.should_see("times the usual deviation off", retries=100)
    without = held.knows.shelf.of("board", "MDF 6 mm")
    _press(user, page, "It was a slip: withdraw kerf, 2026-03-03")
    await seen(lambda: READINGS.get(held.book, slip).standing == "withdrawn")
    await user.should_not_see("Questioned", retries=100)
    again = held.knows.shelf.of("board", "MDF 6 mm")
    assert without is not None
    assert again is not None
    assert again.own == without.own
    _press(user, page, "Count it again kerf: MDF 6 mm, 2026-03-03")
    await user.should_see("Questioned", retries=100)
    _press(user, page, "It is right: keep kerf, 2026-03-03")
    await seen(lambda: READINGS.get(held.book, slip).standing == "kept")
    await user.should_not_see("Questioned", retries=100)


@pytest.mark.slow
async def test_the_maker_may_reckon_with_the_catalogue_all_the_same(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    add_reading(held.book, KERF)
    held.knows.learn()
    page = await user.open("/book")
    await user.should_see("the workshop's own values", retries=100)
    lens = next(row for row in list_designs(held.book) if row.name == "Lens case")
    desk = await held.desk(lens.id)
    before = desk.revision
    timed = BenchReading(what="minutes", subject="sew", value=90.0, of=60.0, count=10, day=DAY)
    add_reading(held.book, timed)
    held.knows.learn()
    await seen(lambda: bool(held.knows.bench(BenchChoice()).times))
    (sewing,) = held.knows.bench(BenchChoice()).times
    assert sewing.name == "sew"
    typed = BenchChoice(times=own_times({"sew": {"unit_minutes": 9.0}}))
    assert held.knows.bench(typed) == typed, "what is typed goes before what was timed"
    _press(user, page, "the catalogue")
    assert held.knows.bench(BenchChoice()).times == ()
    assert held.knows.bench(typed) == typed
    assert held.knows.reckoned(desk.spec) is desk.spec
    assert not held.knows.remarks(desk.spec)
    assert desk.revision > before, "open windows look again"
    _press(user, page, "the workshop's own values")
    assert held.knows.reckoned(desk.spec).tooling.mould_board.kerf_mm < 0.19


async def test_a_pack_waits_for_what_is_being_learned_or_is_given_up(
    shop: tuple[Shop, User], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A pack made in the moment after a reading must not be of the catalogue in silence."""
    held, _ = shop
    asked: list[Any] = []
    told: list[Any] = []
    monkeypatch.setattr(held._whole, "ask", lambda key, question, tell: asked.append(question))
    lens = next(row for row in list_designs(held.book) if row.name == "Lens case")
    spec = (await held.desk(lens.id)).spec

    def pack(key: str) -> None:
        held.pack(key, spec, "A4", PaperChoice(), told.append)

    pack("at once")
    assert [one.spec for one in asked] == [spec]
    add_reading(held.book, KERF)
    held.knows.learn()
    pack("put off")
    pack("given up")
    held.cancel("given up")
    assert len(asked) == 1
    assert told == [
        Progress("your readings, with which it is reckoned"),
        Progress("your readings, with which it is reckoned"),
        Done(dropped=True),
    ]
    await seen(lambda: len(asked) > 1)
    assert [one.spec for one in asked] == [spec, held.knows.reckoned(spec)]
    assert asked[1].spec.tooling.mould_board.kerf_mm < 0.19
    timed = BenchChoice(times=built_in_times())
    monkeypatch.setattr(held.knows, "bench", lambda _: timed)
    pack("with own times")
    assert asked[2].choice.bench == timed, "the build sheet goes by the hands timed here"


async def test_stock_goes_down_warns_and_is_struck_out(shop: tuple[Shop, User]) -> None:
    held, user = shop
    page = await user.open("/book")
    for id, text in (("stock-name", "MDF 6 mm"), ("quantity", "2"), ("reorder", "2")):
        _type(user, page, id, text)
    _press(user, page, "Put on the shelf")
    await seen(lambda: len(STOCK.rows(held.book)) == 1)
    await user.should_see("2 sheets, buy again below 2; 0 used", retries=100)
    _press(user, page, "Take 1 sheets of MDF 6 mm")
    await user.should_see("1 sheets, buy again below 2; 1 used", retries=100)
    _press(user, page, "Strike out MDF 6 mm")
    await seen(lambda: not STOCK.rows(held.book))


@pytest.mark.slow
async def test_a_measured_sheet_put_on_the_shelf_is_a_reading_too(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    page = await user.open("/book")
    for id, text in (("stock-name", "MDF 6 mm"), ("quantity", "3"), ("measured", "5.84 mm")):
        _type(user, page, id, text)
    _press(user, page, "Put on the shelf")
    await seen(lambda: held.knows.shelf.of("board", "MDF 6 mm") is not None)
    (reading,) = READINGS.rows(held.book).values()
    assert (reading.what, reading.value) == ("board thickness", 5.84)
    own = held.knows.shelf.of("board", "MDF 6 mm")
    assert own is not None
    assert own.own["thickness_mm"] == pytest.approx(5.85, abs=0.01)


async def test_a_chosen_design_offers_its_hollows_and_its_leather(shop: tuple[Shop, User]) -> None:
    held, user = shop
    page = await user.open("/book")
    lens = next(row for row in list_designs(held.book) if row.name == "Lens case")
    _type(user, page, "what", "dry size across", "change")
    _type(user, page, "design", lens.id, "change")
    await seen(lambda: any(one.props.get("id") == "book-place" for one in page.elements.values()))
    offers = {one.props.get("value") for one in page.elements.values() if one.tag == "option"}
    assert {"front/hollow", "back/hollow"} <= offers
    subject = _field(page, "subject")
    assert subject.props["defaultValue"] == "vegetable-tanned shoulder 1.4-1.6 mm"
    assert _field(page, "place").props["defaultValue"] == "front/hollow"


async def test_pressings_of_a_mould_are_counted_and_its_design_says_when_it_is_worn(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    page = await user.open("/book")
    lens, other = list_designs(held.book)[:2]
    desks = [await held.desk(one.id) for one in (lens, other)]
    _type(user, page, "mould-design", lens.id, "change")
    for id, text in (("mould", "Lens case"), ("pressings", "99"), ("life", "100")):
        _type(user, page, id, text)
    _press(user, page, "Write it down")
    await user.should_see("pressed 99 times of 100", retries=100)
    _press(user, page, "Pressed once more: Lens case")
    await user.should_see("pressed 100 times of 100", retries=100)
    (one,) = TOOLING.rows(held.book).values()
    assert (one.pressings, one.design) == (100, lens.id)

    def worn() -> list[bool]:
        return [any(r.code == "tooling-worn" for r in held.findings(d)[0]) for d in desks]

    await seen(lambda: worn() == [True, False])
    await user.should_see(f"Lens case, of {lens.name}")


async def test_a_design_says_what_of_it_is_short_on_the_shelf(shop: tuple[Shop, User]) -> None:
    held, _ = shop
    lens = next(row for row in list_designs(held.book) if row.name == "Lens case")
    desk = await held.desk(lens.id)
    for name in (desk.spec.brief.thread.name, "a thread of another design"):
        keep_item(
            held.book,
            StockItem(sort="thread", name=name, quantity=3.0, unit="m", reorder_at=10.0),
        )
    held.tell(STOCK.kind)

    def short() -> list[str]:
        return [r.place for r in held.findings(desk)[0] if r.code == "stock-short"]

    await seen(lambda: short() == [desk.spec.brief.thread.name])


async def test_test_pieces_are_drawn_and_can_be_fetched(shop: tuple[Shop, User]) -> None:
    held, user = shop
    page = await user.open("/book")
    _press(user, page, "Draw the test pieces")
    await user.should_see("Download all test pieces", retries=200)
    (link,) = [
        one
        for one in page.elements.values()
        if getattr(one, "text", "") == "Download all test pieces"
    ]
    name = str(link.props["href"]).partition("?")[0].rpartition("/")[2]
    data = held.held(name)
    assert data is not None
    assert data[0][:2] == b"PK"


async def test_a_second_window_sees_what_the_first_has_written(shop: tuple[Shop, User]) -> None:
    held, user = shop
    page = await user.open("/book")
    add_reading(held.book, KERF)
    held.tell(READINGS.kind)
    await user.should_see("kerf: MDF 6 mm", retries=100)
    # the reckoning after the start may have found it already
    told = {getattr(one, "text", "") for one in page.elements.values()}
    assert told & {"not reckoned yet", "counts"}


async def test_a_part_that_would_show_the_same_is_not_built_again(shop: tuple[Shop, User]) -> None:
    held, user = shop
    page = await user.open("/book")
    await user.should_see("In use", retries=100)
    heading = next(one for one in page.elements.values() if getattr(one, "text", "") == "In use")
    for value in (0.18, 0.16):
        add_reading(held.book, replace(KERF, value=value))
        held.tell(READINGS.kind, TOOLING.kind)
        await user.should_see(f"{value:g} mm", retries=100)  # the part of the readings is new
    assert page.elements.get(heading.id) is heading


@pytest.mark.slow
async def test_a_disc_that_cracked_is_typed_in_by_its_depth_and_the_one_before(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    page = await user.open("/book")
    offered = {str(one.props["value"]) for one in page.elements.values() if one.tag == "option"}
    assert {"first crack at depth", "no crack to depth", "torn at depth"} <= offered
    old = {"cracked at depth", "sound at depth", "cracked by depth"}  # only in books of old
    assert not old & offered
    _type(user, page, "what", "first crack at depth", "change")
    await user.should_see("shows the first crack in its grain")
    assert not [one for one in page.elements.values() if one.props.get("id") == "book-depth"]
    _type(user, page, "subject", "vegetable-tanned shoulder 1.4-1.6 mm")
    _type(user, page, "value", "31")
    _press(user, page, "Keep this reading")
    await user.should_see("A test plug 31 mm deep")
    _type(user, page, "value", "14")
    _type(user, page, "of", "15")
    _press(user, page, "Keep this reading")
    await user.should_see("a disc is pressed deeper each time")
    for of in ("13", ""):
        _type(user, page, "value", "14")
        _type(user, page, "of", of)
        _press(user, page, "Keep this reading")
        await seen(lambda: list(READINGS.rows(held.book).values())[-1:] != [])
        await seen(
            lambda of=of: (  # type: ignore[misc]
                list(READINGS.rows(held.book).values())[-1].of == (float(of) if of else None)
            )
        )
    for reading in READINGS.rows(held.book).values():
        assert (reading.what, reading.value) == ("first crack at depth", 14.0)
        assert reading.depth_mm is None
    await user.should_see("14.00 mm, not yet at 13.00 mm")
    await user.should_see("% of what its grain bears", retries=400)
    await user.should_see("Stretch its grain bears wet")


@pytest.mark.slow
async def test_a_time_told_by_own_values_is_kept_as_the_catalogues(shop: tuple[Shop, User]) -> None:
    held, user = shop
    for _ in range(6):
        add_reading(
            held.book,
            BenchReading(what="minutes", subject="sew", value=45, of=30, count=10, day=DAY),
        )
    held.knows.learn()
    await seen(lambda: bool(held.knows.shelf.about))
    own = held.knows.shelf.about[0].own["minutes sew"]
    page = await user.open("/book")
    _type(user, page, "what", "minutes", "change")
    for name, text in (("subject", "sew"), ("value", "44"), ("of", "44"), ("count", "10")):
        _type(user, page, name, text)
    _type(user, page, "by", "own", "change")
    _press(user, page, "Keep this reading")
    await seen(lambda: len(READINGS.rows(held.book)) == 7)
    reading = list(READINGS.rows(held.book).values())[-1]
    assert reading.of == pytest.approx(44 / own)


async def test_loads_that_were_ticked_are_shown_as_made(shop: tuple[Shop, User]) -> None:
    held, user = shop
    await user.open("/book")
    await user.should_see("Nothing is ticked yet")
    done = StepDone(
        design="lens",
        article="Lens case",
        colour="tan",
        load=1,
        count=4,
        orders=("o",),
        step="sew",
        words="sew, 4 cases",
        day=DAY,
        minutes=95,
    )
    DONE.put(held.book, "one", done)
    DONE.put(held.book, "two", replace(done, step="pack", minutes=10, day=date(2026, 3, 4)))
    held.tell(DONE.kind)
    for words in ("4 Lens case, tan", "2026-03-02", "2026-03-04", "1 h 45 min"):
        await user.should_see(words, retries=50)
