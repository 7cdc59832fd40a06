"""Likely ranges at a stage, and at Money: shown, of before while something changes."""

from collections.abc import AsyncIterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio
from nicegui.testing import User

from hidewright.app.components.facts import Facts
from hidewright.app.pages.design import before
from hidewright.app.shop import Shop
from hidewright.design.bench_reading import BenchReading
from hidewright.store.book_designs import list_designs
from hidewright.store.book_readings import add_reading
from page_here import app_here, seen

pytestmark = pytest.mark.asyncio


@pytest_asyncio.fixture
async def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[tuple[Shop, User]]:
    """Yield the app with the demo's articles, and a user of it."""
    async with app_here(tmp_path, monkeypatch) as both:
        yield both


def one(page: Any, sort: type) -> Any:
    (found,) = [each for each in page.elements.values() if isinstance(each, sort)]
    return found


def address(shop: Shop, name: str) -> str:
    return next(f"/design/{row.id}" for row in list_designs(shop.book) if row.name == name)


@pytest.mark.slow
async def test_while_a_measure_changes_the_ranges_of_before_are_marked_as_such(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    page = await user.open(f"{address(held, 'Lens case')}/leather")
    facts = one(page, Facts)

    def chapters() -> dict[str, dict[str, str]]:
        return {title: dict(rows) for title, rows in facts.props.get("chapters", ())}

    await seen(lambda: any(title.startswith("Blank:") for title in chapters()))
    whole = chapters()
    (title,) = [one for one in whole if one.startswith("Blank:")]
    ranged = {term: value for term, value in whole[title].items() if "likely" in value}
    assert len(ranged) >= 6
    desk = await held.desk(address(held, "Lens case").rpartition("/")[2])
    with user:
        desk.edit("leathers.body.thickness", "1.5-1.7 mm", held.shelf, held=False)
    await seen(lambda: f"{title}, before this change" in chapters())
    told = chapters()
    assert told[f"{title}, before this change"] == ranged
    assert "Pressed" in told  # what it comes to now
    await seen(lambda: not any("before this change" in each for each in chapters()))
    now = chapters()[title]
    assert "likely" in now["Used of what it bears"]
    assert now != whole[title]


async def test_in_inches_every_length_of_the_leather_stage_is_in_inches(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    held.choose_unit("in")
    page = await user.open(f"{address(held, 'Lens case')}/leather")
    facts = one(page, Facts)
    await seen(lambda: any(t.startswith("Blank:") for t, _ in facts.props.get("chapters", ())))
    rows = [row for _, some in facts.props["chapters"] for row in some]
    names = {leather.name for leather in held.shelf.leathers}
    for term, value in rows:
        for name in names:
            value = value.replace(name, "")
        assert " mm" not in value, (term, value)
    along = dict(map(tuple, rows))["Dries to, along the backbone"]
    assert " in (3.6" in along  # 92.9 mm


async def test_of_before_only_figures_with_a_range_are_told() -> None:
    told = (("Blank: a", (("Leather", "shoulder"), ("Thinnest", "1.3 mm, likely 1.2-1.4 mm"))),)
    assert before((*told, ("Blank: b", (("Leather", "side"),)))) == (
        ("Blank: a, before this change", (("Thinnest", "1.3 mm, likely 1.2-1.4 mm"),)),
    )
    assert before(()) == ()


async def test_the_price_is_shown_with_the_range_that_hands_leave(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    await user.open(f"{address(held, 'Lens case')}/money")
    await user.should_see("by how long the work takes", retries=400)


async def test_what_was_learned_is_used_for_ranges_only_where_designs_are_reckoned_with_it(
    shop: tuple[Shop, User],
) -> None:
    held, _ = shop
    for k in range(6):
        day = date(2026, 3, 1 + k)
        add_reading(
            held.book,
            BenchReading(what="minutes", subject="sew", value=45, of=30, count=10, day=day),
        )
    held.knows.learn()
    await seen(lambda: bool(held.knows.used().about))
    held.knows.use(False)
    assert held.knows.used().about == ()
