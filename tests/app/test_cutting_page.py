"""The cutting pages built in process: hides added and marked, orders laid, kept and cut."""

import asyncio
from collections.abc import AsyncIterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio
from nicegui import Client
from nicegui.testing import User

from hidewright.app.components.cut_board import CutBoard
from hidewright.app.components.facts import Facts
from hidewright.app.parts import MANY, Words
from hidewright.app.shop import Shop
from hidewright.design.customer_order import CustomerOrder
from hidewright.design.hide import Flaw
from hidewright.store.book_designs import copy_design, list_designs
from hidewright.store.book_hides import HIDES, SHEETS
from hidewright.store.book_layouts import LAYOUTS
from hidewright.store.book_orders import ORDERS
from hidewright.workshop.cutting.layout import check_layout
from page_here import app_here, element, seen

pytestmark = pytest.mark.asyncio


@dataclass
class At:
    """The app, and a user of it."""

    shop: Shop
    user: User

    @property
    def book(self) -> Any:
        return self.shop.book

    def stock(self) -> dict[str, Any]:
        return {one.hide.name: one for one in HIDES.rows(self.book).values()}


@pytest_asyncio.fixture
async def at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[At]:
    async with app_here(tmp_path, monkeypatch) as (shop, user):
        yield At(shop, user)


def one(page: Client, sort: type) -> Any:
    (found,) = [one for one in page.elements.values() if isinstance(one, sort)]
    return found


def selected(choice: Any) -> str:
    """Return the value that a choice stands on."""
    (on,) = [o for o in choice.default_slot.children if "selected" in o.props]
    return str(on.props["value"])


def said(page: Client) -> str:
    """Return what the status over the picture says."""
    return next(
        str(e.text)
        for e in page.elements.values()
        if isinstance(e, Words) and e.props.get("role") == "status" and "state" in e.classes
    )


def send(at: At, element: Any, event: str, args: Any) -> None:
    (listener,) = [x for x in element._event_listeners.values() if x.type == event]
    with at.user:
        element._handle_event({"listener_id": listener.id, "args": args})


def enter(at: At, page: Client, id: str, value: Any) -> None:
    send(at, element(page, id), "change", value)


def push(at: At, page: Client, words: str) -> None:
    """Press the button that says exactly this; the first where there are several."""
    buttons = (
        e
        for e in page.elements.values()
        if isinstance(e, Words) and e.tag == "button" and e.text == words
    )
    send(at, next(buttons), "click", None)


def order(at: At, name: str, quantity: int, **more: Any) -> None:
    design = next(row.id for row in list_designs(at.book) if row.name == name)
    ORDERS.put(
        at.book,
        name,
        CustomerOrder(
            customer="Fen Lane School",
            design=design,
            article=name,
            quantity=quantity,
            received=date(2026, 11, 30),
            **more,
        ),
    )


async def cut_four(at: At) -> Client:
    """Return the page with an order of four lens cases cut."""
    order(at, "Lens case", 4, status="agreed")
    page = await at.user.open("/cutting")
    await seen(lambda: len(at.stock()) == 2)
    push(at, page, "Take the orders to be made")
    await at.user.should_see("Lens case: strap", retries=200)
    enter(at, page, "seconds", "2")
    push(at, page, "Cut")
    await seen(lambda: said(page).startswith("Found"))
    return page


async def test_the_demo_has_hides_to_cut_and_the_orders_to_be_made_are_laid_on_them(
    at: At,
) -> None:
    order(at, "Compass pouch", 3, status="asked")
    page = await cut_four(at)
    ((title, rows),) = one(page, Facts).props["chapters"]
    assert title == "4 × Lens case"  # what is only asked for is not cut
    told = dict(map(tuple, rows))
    assert told["Pieces"].startswith("8, ")
    assert told["Leather taken"].count("m2") == 2
    assert one(page, CutBoard).props["svg"].count("data-copy=") == 8


async def test_a_board_has_words_before_anything_is_shown_on_it(at: At) -> None:
    with await at.user.open("/cutting"):
        board = CutBoard()
    assert board.props["svg"] == ""
    assert board.props["alt"] == "An empty board, 1500 by 1000 mm"


async def test_what_is_cut_before_its_blanks_are_known_waits_for_them(at: At) -> None:
    page = await at.user.open("/cutting")
    await seen(lambda: len(at.stock()) == 2)
    names = [row.name for row in list_designs(at.book)]
    enter(at, page, "seconds", "1")
    enter(at, page, f"count-{names.index('Lens case')}", "2")
    push(at, page, "Cut")
    assert said(page).startswith("It begins as soon as")
    await seen(lambda: said(page).startswith("Found"))
    assert one(page, CutBoard).props["svg"].count("data-copy=") == 4


@pytest.mark.slow
async def test_what_is_kept_was_accepted_and_what_is_cut_leaves_its_rest_in_stock(
    at: At,
) -> None:
    page = await cut_four(at)
    push(at, page, "Mark as cut")
    await at.user.should_see("Marked as cut", retries=100)
    (layout,) = LAYOUTS.rows(at.book).values()
    assert check_layout(layout) == ()
    assert layout.articles == (("Lens case", 4),)
    rows = HIDES.rows(at.book)
    cut = [id for id, stock in rows.items() if stock.state == "cut"]
    assert cut == [layout.hide_ids[n] for n in layout.used_hides]
    rests = [stock for stock in rows.values() if stock.rest_of]
    assert {stock.rest_of for stock in rests} == set(cut)
    assert sum(stock.area_m2 for stock in rests) == pytest.approx(
        sum(rest.hide.area_mm2 for rest in layout.rests) / 1e6
    )


@pytest.mark.slow
async def test_a_piece_moved_onto_another_is_pinned_and_the_rest_settles(at: At) -> None:
    page = await cut_four(at)
    board = one(page, CutBoard)
    before = board.props["svg"]
    send(at, board, "choose", "0,0")
    assert element(page, "in-hand") is not None
    send(at, board, "shift", {"copy": "0,0", "x": 3.0, "y": -2.0})
    assert said(page) == "Moved and pinned; not checked until the rest settles."
    assert " pinned" in board.props["svg"]
    push(at, page, "Keep this layout")
    await seen(lambda: "let the rest settle first" in said(page))
    assert not LAYOUTS.rows(at.book)
    push(at, page, "Let the rest settle")
    # either all settles round it, or it is told which piece may not lie there
    await seen(lambda: said(page).startswith(("Found", "copy 0 of piece", "the rest of hide")))
    assert board.props["svg"] != before


@pytest.mark.slow
async def test_choices_and_an_unkept_layout_are_there_when_the_page_is_opened_again(
    at: At,
) -> None:
    page = await cut_four(at)
    lies = one(page, CutBoard).props["svg"]
    (unticked, other), names = HIDES.rows(at.book), [row.name for row in list_designs(at.book)]
    enter(at, page, "question", "most sets")
    enter(at, page, "grade-0", "3")
    shoulder = next(e for e in page.elements.values() if e.props.get("type") == "checkbox")
    send(at, shoulder, "change", False)
    await at.user.open("/cutting/hide/" + unticked)
    again = await at.user.open("/cutting")
    await seen(lambda: any(e.props.get("id") == "grade-0" for e in again.elements.values()))
    count = element(again, f"count-{names.index('Lens case')}")
    assert count.props["defaultValue"] == "1"
    assert element(again, "sets").props["defaultValue"] == "4"
    assert element(again, "seconds").props["defaultValue"] == "2"
    assert selected(element(again, "question")) == "most sets"
    assert selected(element(again, "grade-0")) == "3"
    ticks = [e for e in again.elements.values() if e.props.get("type") == "checkbox"][:2]
    assert ["checked" in tick.props for tick in ticks] == [False, True]
    assert one(again, CutBoard).props["svg"] == lies
    assert said(again) == "As you left it."
    # the page that was left is not moved by the new one
    enter(at, again, "sets", "9")
    third = await at.user.open("/cutting")
    assert element(third, "sets").props["defaultValue"] == "9"
    hurt = Flaw(kind="hole", severity=3, outline=((700.0, 0.0), (760.0, 0.0), (760.0, 60.0)))
    HIDES.edit(
        at.book, other, lambda s: replace(s, hide=replace(s.hide, flaws=(*s.hide.flaws, hurt)))
    )
    name = HIDES.rows(at.book)[other].hide.name
    assert said(await at.user.open("/cutting")) == f"{name} changed since: cut again."


@pytest.mark.slow
async def test_a_place_kept_free_is_kept_in_the_book_too(at: At) -> None:
    page = await cut_four(at)
    enter(at, page, "free-corners", "700 0, 760 0, 760 60")
    push(at, page, "Keep it free")

    def free() -> list[Any]:
        return [f for stock in at.stock().values() for f in stock.hide.flaws if f.severity == 0]

    await seen(lambda: len(free()) == 1)
    await seen(lambda: "severity0" in one(page, CutBoard).props["svg"])
    assert [flaw.outline for flaw in free()] == [((700.0, 0.0), (760.0, 0.0), (760.0, 60.0))]


@pytest.mark.slow
async def test_tools_are_laid_on_whole_sheets_and_their_rest_is_remembered(at: At) -> None:
    order(at, "Label box", 1, status="agreed")
    page = await at.user.open("/cutting")
    await seen(lambda: len(at.stock()) == 2)
    push(at, page, "Take the orders to be made")
    await at.user.should_see("Label box: bottom with lid", retries=200)
    enter(at, page, "question", "fewest sheets")
    await seen(lambda: any(e.props.get("id") == "leather" for e in page.elements.values()))
    board = next(
        name
        for name in (e.props.get("value") for e in page.elements.values())
        if str(name).startswith("clear acrylic")
    )
    enter(at, page, "leather", board)
    enter(at, page, "seconds", "2")
    push(at, page, "Cut")
    await seen(lambda: said(page).startswith("Found"))
    push(at, page, "Mark as cut")
    await at.user.should_see("Marked as cut", retries=100)
    (rest,) = SHEETS.rows(at.book).values()
    assert rest.material == board
    assert 0.0 < rest.area_m2 < 0.24


async def test_a_hide_is_added_by_its_sort_and_area(at: At) -> None:
    page = await at.user.open("/cutting")
    await seen(lambda: len(at.stock()) == 2)
    enter(at, page, "new-sort", "bend")
    enter(at, page, "new-area", "0.9 m2")
    enter(at, page, "new-name", "the good bend")
    push(at, page, "Add it")
    await seen(lambda: "the good bend" in at.stock())
    assert at.stock()["the good bend"].area_m2 == pytest.approx(0.9)
    enter(at, page, "new-area", "90 m2")
    push(at, page, "Add it")
    await at.user.should_see("A hide of 90 m2", retries=50)


@pytest.mark.parametrize(
    ("corners", "words"),
    [
        ("0 0, 100 100, 100 0, 0 100", "crosses or touches itself"),
        ("0 0, 100 0", "fewer than three corners"),
    ],
)
async def test_a_hide_that_is_none_is_not_kept(at: At, corners: str, words: str) -> None:
    page = await at.user.open("/cutting/hide/new")
    enter(at, page, "mark-corners", corners)
    push(at, page, "Add it")
    push(at, page, "Keep it")
    if "fewer" in words:
        await at.user.should_see("There is no hide yet", retries=50)
    else:
        await seen(lambda: words in said(page))
    await asyncio.sleep(0.2)
    assert len(HIDES.rows(at.book)) <= 2


async def test_a_hide_is_drawn_marked_and_kept(at: At) -> None:
    page = await at.user.open("/cutting/hide/new")
    enter(at, page, "hide-name", "drawn by hand")
    board = one(page, CutBoard)
    for x, y in ((0, 0), (800, 0), (800, 500), (0, 500)):
        send(at, board, "corner", {"x": x, "y": y})
    push(at, page, "Add it")
    enter(at, page, "mark-sort", "flaw scar")
    enter(at, page, "mark-corners", "900 900, 910 900, 910 910")
    push(at, page, "Add it")
    push(at, page, "Keep it")
    await seen(lambda: "lies outside hide" in said(page))
    push(at, page, "Take away")
    enter(at, page, "hide-thickness", "1.5 mm")
    push(at, page, "All of it is that thick")
    enter(at, page, "mark-sort", "grade 2")
    enter(at, page, "mark-corners", "0 0, 400 0, 400 500, 0 500")
    push(at, page, "Add it")
    enter(at, page, "hide-backbone", "15 deg")
    push(at, page, "Keep it")
    await seen(lambda: said(page) == "Kept in the book.")
    stock = at.stock()["drawn by hand"]
    assert stock.area_m2 == pytest.approx(0.4)
    assert stock.thickness_mm == (1.5, 1.5)
    assert [area.grade for area in stock.hide.areas] == [1, 2]  # the rest is of the best
    assert stock.hide.backbone_deg == 15.0
    assert stock.hide.flaws == ()


async def test_a_hide_that_is_gone_from_the_book_is_told(at: At) -> None:
    await at.user.open("/cutting/hide/none")
    await at.user.should_see("no longer in the book")


async def test_of_many_designs_those_in_a_set_come_first_and_others_are_looked_for(at: At) -> None:
    design = list_designs(at.book)[0]
    for number in range(MANY):
        copy_design(
            at.book, design.id, id=f"copy {number}", name=f"Case {number}", when=design.changed
        )
    page = await at.user.open("/cutting")

    def names() -> list[str]:
        found = [str(e.text) for e in page.elements.values() if isinstance(e, Words)]
        return [text.partition(",")[0] for text in found if text.endswith(", in a set")]

    await seen(lambda: len(names()) > MANY)
    last = names()[-1]
    enter(at, page, f"count-{len(names()) - 1}", "2")
    send(at, element(page, "sought"), "input", "7 case")
    assert names() == [last, "Case 7"]
    send(at, element(page, "sought"), "input", "")
    assert names()[0] == last
    assert len(set(names())) == len(names()) == len(list_designs(at.book))
