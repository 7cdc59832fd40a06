"""Every page built in process, its answers reckoned at once: what it says, and what edits do."""

import sys
import threading
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio
from nicegui import Client, ui
from nicegui.testing import User

from hidewright.app import answers
from hidewright.app.asked import Asked, PackAsked, Shown
from hidewright.app.components.facts import Facts
from hidewright.app.components.fields import Fields
from hidewright.app.components.remarks import Remarks, remedy_label
from hidewright.app.components.sheet import Sheet
from hidewright.app.components.solid import Solid
from hidewright.app.pages.stages import SOLID, STAGES, Shows
from hidewright.app.parts import MANY, Words
from hidewright.app.shop import Shop
from hidewright.design.stock_item import StockItem, ToolingSet
from hidewright.errors import Remedy, RequestError
from hidewright.store.book_designs import copy_design, list_designs
from hidewright.store.book_stock import keep_item
from hidewright.store.book_tooling import keep_tooling
from page_here import Here, app_here, element, seen

pytestmark = pytest.mark.asyncio


@pytest_asyncio.fixture
async def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[tuple[Shop, User]]:
    """Yield the app with the demo's articles, and a user of it."""
    async with app_here(tmp_path, monkeypatch) as both:
        yield both


async def _address(shop: Shop, name: str) -> str:
    return next(f"/design/{row.id}" for row in list_designs(shop.book) if row.name == name)


def _one(page: Client, sort: type) -> Any:
    found: list[Any] = [one for one in page.elements.values() if isinstance(one, sort)]
    assert len(found) == 1
    return found[0]


async def test_the_first_page_shows_the_demo_and_says_how_to_begin(
    shop: tuple[Shop, User],
) -> None:
    _, user = shop
    await user.open("/")
    await user.should_see("Start from what you want to carry")
    for name in ("Compass pouch", "Lens case", "Label box", "Trowel cover"):
        await user.should_see(name)


async def test_many_designs_are_looked_through_by_words_of_their_names(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    design = list_designs(held.book)[0]
    page = await user.open("/")
    sought: Any = element(page, "sought")
    assert not sought.parent_slot.parent.visible
    for number in range(MANY):
        copy_design(
            held.book, design.id, id=f"copy {number}", name=f"Case {number}", when=design.changed
        )
    page = await user.open("/")
    sought = element(page, "sought")
    assert sought.parent_slot.parent.visible
    (listener,) = sought._event_listeners.values()

    def names() -> list[str]:
        titles = (one for one in page.elements.values() if "title" in one.classes)
        return [str(one.text) for one in titles if isinstance(one, Words)]

    def look(words: str) -> None:
        with user:
            sought._handle_event({"listener_id": listener.id, "args": words})

    look("7 case")
    await seen(lambda: names() == ["Case 7"])
    look("nothing")
    await user.should_see("None is called nothing.")
    look("")
    await seen(lambda: len(names()) == len(list_designs(held.book)))


async def test_the_start_offers_only_kinds_that_hold_the_thing(shop: tuple[Shop, User]) -> None:
    _, user = shop
    await user.open("/start")
    await user.should_see("What is it to carry?")
    user.find("sighting compass").click()
    await user.should_see("flat-back pouch", retries=100)


@pytest.mark.parametrize("path", ["/bring", "/words", "/design/none/shape", "/design/none/x"])
async def test_the_other_pages_are_built(shop: tuple[Shop, User], path: str) -> None:
    _, user = shop
    await user.open(path)
    await user.should_see("hidewright")


async def _drawn(user: User, address: str, stage: str, view: str) -> tuple[Client, Sheet]:
    """Open a stage; return the page and its drawing once a view is in it."""
    page = await user.open(f"{address}/{stage}")
    sheet: Sheet = _one(page, Sheet)
    await seen(lambda: sheet.props.get("name") == view)
    return page, sheet


@pytest.mark.parametrize("shows", STAGES, ids=lambda one: one.stage)
async def test_each_stage_shows_its_fields_its_pictures_and_its_figures(
    shop: tuple[Shop, User], shows: Shows
) -> None:
    held, user = shop
    page = await user.open(f"{await _address(held, 'Lens case')}/{shows.stage}")
    fields, sheet, solid = _one(page, Fields), _one(page, Sheet), _one(page, Solid)
    assert [g for g in fields.props["groups"] if g["fields"]]
    for view, words in shows.pictures:
        user.find(words).click()
        if view in SOLID:
            await seen(lambda: str(solid.props["url"]).startswith("/held/"))
            name = str(solid.props["url"]).rpartition("/")[2]
            data = held.held(name)
            assert data is not None
            assert len(data[0]) > 10_000
            solid.props["url"] = ""
        else:
            await seen(lambda view=view: sheet.props.get("name") == view)  # type: ignore[misc]
            assert "<svg" in sheet.props["svg"]
            assert sheet.props["alt"]
    facts = _one(page, Facts)
    await seen(lambda: bool(facts.props["chapters"]))


async def test_an_edit_reaches_picture_and_figures_and_a_wrong_one_is_told_at_its_field(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    address = await _address(held, "Compass pouch")
    page, sheet = await _drawn(user, address, "shape", "pieces")
    fields = _one(page, Fields)
    with user:
        _send(fields, "edit", field="measures.width", text="81 mm", phase="end", sent=1)
    await seen(lambda: "81 mm" in sheet.props["svg"])
    assert fields.props["answered"] == 1
    facts = _one(page, Facts)
    await seen(lambda: "81.0 x" in str(facts.props["chapters"]))
    with user:
        _send(fields, "edit", field="measures.width", text="8100 mm", phase="end", sent=2)
    assert "Allowed" in fields.props["errors"]["measures.width"]
    assert fields.props["answered"] == 2
    desk = await held.desk(address.rpartition("/")[2])
    assert desk.spec.brief.measures.width_mm == 81.0
    with user:
        _send(fields, "edit", field="measures.width", text="81 mm", phase="end", sent=3)
    assert not fields.props["errors"], "what it was before is no mistake any more"


async def test_a_mistake_of_ours_is_told_with_what_to_report_and_the_page_lives_on(
    shop: tuple[Shop, User], monkeypatch: pytest.MonkeyPatch
) -> None:
    held, user = shop
    page = await user.open(f"{await _address(held, 'Compass pouch')}/shape")
    fields, sheet = _one(page, Fields), _one(page, Sheet)
    await seen(lambda: sheet.props.get("name") == "pieces")

    def broken(*_: object) -> Shown:
        raise ZeroDivisionError("ours")

    with monkeypatch.context() as patch:
        patch.setitem(answers.VIEWS, "pieces", (("design",), broken))
        with user:
            _send(fields, "edit", field="measures.width", text="77 mm", phase="end", sent=1)
        await user.should_see("a mistake of ours", retries=100)
        await user.should_see("ZeroDivisionError('ours')")
    with user:
        _send(fields, "edit", field="measures.width", text="78 mm", phase="end", sent=2)
    await seen(lambda: "78 mm" in sheet.props["svg"])
    await user.should_not_see("a mistake of ours", retries=100)


async def test_a_design_tells_what_is_short_of_what_it_takes_and_which_mould_is_worn(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    address = await _address(held, "Compass pouch")
    desk = await held.desk(address.rpartition("/")[2])
    thread = desk.spec.brief.thread.name
    for name, quantity in ((thread, 3.0), ("a thread of another design", 0.0)):
        keep_item(
            held.book,
            StockItem(sort="thread", name=name, quantity=quantity, unit="m", reorder_at=10.0),
        )
    for name, design in (("pair of fronts", desk.id), ("another design's", "")):
        keep_tooling(held.book, ToolingSet(name=name, design=design, pressings=120, life=100))
    held.tell("stock")
    page = await user.open(f"{address}/shape")
    remarks = _one(page, Remarks)
    await seen(lambda: "stock-short" in str(remarks.props["remarks"]))
    told = {(r["code"], r["place"]) for r in remarks.props["remarks"]}
    shelf = {one for one in told if one[0].startswith(("stock", "tooling-w"))}
    assert shelf == {("stock-short", thread), ("tooling-worn", "pair of fronts")}


async def test_a_file_that_takes_too_long_to_read_is_given_up(
    shop: tuple[Shop, User], monkeypatch: pytest.MonkeyPatch
) -> None:
    held, _ = shop
    monkeypatch.setattr("hidewright.app.shop.BRING_S", 0.05)
    monkeypatch.setattr(Here, "ask", lambda *_: None)
    with pytest.raises(RequestError, match=r"slow\.dxf was not read: it takes longer than 0\.05 s"):
        await held.bring(b"", "slow.dxf", None)


async def test_a_remedy_mends_and_the_remark_is_gone(shop: tuple[Shop, User]) -> None:
    held, user = shop
    address = await _address(held, "Compass pouch")
    desk = await held.desk(address.rpartition("/")[2])
    desk.edit("measures.width", "40 mm", held.shelf)
    page = await user.open(f"{address}/shape")
    remarks = _one(page, Remarks)

    def forbidding() -> list[Any]:
        return [r for r in remarks.props["remarks"] if r["severity"] == "forbids"]

    await seen(lambda: any(r["remedies"] for r in forbidding()))
    at = next(i for i, r in enumerate(remarks.props["remarks"]) if r["remedies"])
    code = remarks.props["remarks"][at]["code"]
    with user:
        _send(remarks, "mend", remark=at, remedy=0)
    assert desk.spec.brief.measures.width_mm > 60
    await seen(lambda: code not in [r["code"] for r in forbidding()])


async def test_a_window_that_was_left_asks_for_nothing_until_it_is_back(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    address = await _address(held, "Compass pouch")
    left, pieces = await _drawn(user, address, "shape", "pieces")
    _, seams = await _drawn(user, address, "seams", "seams")
    (socket, document), *_ = left._socket_to_document_id.items()
    left.handle_disconnect(socket)
    Here.noted.clear()
    before = seams.props["svg"]
    desk = await held.desk(address.rpartition("/")[2])
    desk.edit("measures.width", "81 mm", held.shelf)
    await seen(lambda: seams.props["svg"] != before)
    assert {q.views for q, _ in Here.noted if isinstance(q, Asked)} == {("seams",)}
    assert "81 mm" not in pieces.props["svg"]
    await left.handle_handshake(socket, "tab", None, document, None)
    await seen(lambda: "81 mm" in pieces.props["svg"])


@pytest.mark.slow
async def test_after_the_close_look_the_picture_is_of_the_fine_pressing(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    Here.noted.clear()
    page = await user.open(f"{await _address(held, 'Specimen tray')}/leather")
    solid = _one(page, Solid)

    def sizes() -> list[int]:
        return [len(a.solid) for _, a in Here.noted if isinstance(a, Shown) and a.solid]

    await seen(lambda: len(sizes()) == 2)
    quick, sharp = sizes()
    assert sharp > quick
    await seen(lambda: _shown_bytes(held, solid) == sharp)
    # the next edit is answered by the quick one
    desk = await held.desk(
        next(row.id for row in list_designs(held.book) if row.name[:8] == "Specimen")
    )
    desk.edit("measures.width", "81 mm", held.shelf)
    await seen(lambda: _shown_bytes(held, solid) < sharp)


def _shown_bytes(shop: Shop, solid: Solid) -> int:
    found = shop.held(str(solid.props["url"]).rpartition("/")[2])
    return len(found[0]) if found else 0


async def test_the_papers_are_made_and_told(shop: tuple[Shop, User]) -> None:
    held, user = shop
    await user.open(f"{await _address(held, 'Specimen tray')}/papers")
    user.find("Make the pack").click()
    await user.should_see("files are made", retries=100)
    await user.should_see("Download the pack")


async def test_a_pack_stopped_before_it_is_begun_is_not_made(
    shop: tuple[Shop, User], monkeypatch: pytest.MonkeyPatch
) -> None:
    held, user = shop
    read = threading.Event()
    await user.open(f"{await _address(held, 'Specimen tray')}/papers")
    page = sys.modules["hidewright.app.pages.papers"].PapersPage
    choice = page._choice
    monkeypatch.setattr(page, "_choice", lambda *own: read.wait(20) and choice(*own))
    user.find("Make the pack").click()
    await user.should_see("Beginning")
    user.find("Stop").click()
    await user.should_see("Stopped; nothing was made.")
    read.set()
    user.find("Make the pack").click()
    await user.should_see("files are made", retries=100)
    assert sum(isinstance(question, PackAsked) for question, _ in Here.noted) == 1


async def test_what_a_button_says_is_what_its_remedy_does() -> None:
    assert remedy_label(Remedy(field="measures.lip_radius", value="3 mm")) == (
        "Make the lip radius 3 mm"
    )
    both = Remedy(field="measures.width", value="80 mm", also=(("tooling.cavity_floor", "true"),))
    assert remedy_label(both) == "Make the width 80 mm and the cavity floor on"


def _send(element: ui.element, event: str, **told: Any) -> None:
    """Send an event as the browser would."""
    (listener,) = [one for one in element._event_listeners.values() if one.type == event]
    element._handle_event({"listener_id": listener.id, "args": told})
