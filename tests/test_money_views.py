"""Tables and pictures of a price: rows that add up, lines that stand where the sums say."""

import math
import re
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest

from hidewright.catalogue.prices import built_in_prices
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.store.design_file import read_design
from hidewright.workshop.graph import Cache
from hidewright.workshop.money.pictures import ladder_picture, tornado_picture
from hidewright.workshop.money.price import priced
from hidewright.workshop.money.priced import CAUSES, Priced
from hidewright.workshop.money.tables import build_up_table, ladder_table, lines_table

NAMES = ("lens-case", "forceps-pocket")


@cache
def told(name: str, batch: int = 7) -> Priced:
    path = Path("examples") / f"{name}.yaml"
    spec = read_design(path.read_bytes(), name=path.name).specification
    return priced(spec, WorkshopRates(), built_in_prices(), batch, Cache())


class Rows(HTMLParser):
    """Cells of a table by row, with the row's class."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[tuple[str, list[str]]] = []
        self._in_cell = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "tr":
            self.rows.append((dict(attrs).get("class") or "", []))
        if tag in ("td", "th"):
            self.rows[-1][1].append("")
            self._in_cell = True

    def handle_endtag(self, tag: str) -> None:
        self._in_cell = self._in_cell and tag not in ("td", "th")

    def handle_data(self, data: str) -> None:
        if self._in_cell:
            self.rows[-1][1][-1] += data


def rows_of(html: str) -> list[tuple[str, list[str]]]:
    reader = Rows()
    reader.feed(html)
    return reader.rows[1:]


def minor(words: str) -> int:
    assert re.fullmatch(r"-?\d+\.\d\d", words)
    return int(words.replace(".", ""))


@pytest.mark.parametrize("name", NAMES)
def test_lines_add_up_to_their_groups_and_groups_to_the_cost(name: str) -> None:
    found = told(name)
    sums = {"group": [0, 0], "": [0, 0]}
    groups: list[list[int]] = []
    *rows, (sort, total) = rows_of(lines_table(found.cost))
    assert sort == "total"
    open_group = [0, 0]
    for sort, cells in rows:
        amounts = [minor(cell) for cell in cells[2:]]
        sums[sort] = [a + b for a, b in zip(sums[sort], amounts, strict=True)]
        if sort == "group":
            assert open_group == [0, 0], "the lines of the group before do not add up to it"
            open_group = amounts
            groups.append(amounts)
        else:
            open_group = [a - b for a, b in zip(open_group, amounts, strict=True)]
    assert open_group == [0, 0]
    assert sums["group"] == sums[""] == [minor(cell) for cell in total[2:]]
    assert sums["group"] == [found.cost.total_minor, found.cost.each_minor]
    assert len(groups) >= 6


@pytest.mark.parametrize("name", NAMES)
def test_the_price_is_built_up_of_its_parts(name: str) -> None:
    found = told(name)
    amounts = [minor(cells[1]) for _, cells in rows_of(build_up_table(found.asked, "EUR"))]
    *parts, net, tax, gross = amounts
    assert sum(parts) == net
    assert net + tax == gross == found.asked.gross_minor


def test_the_ladder_shows_its_own_batch_at_the_price_of_the_sheet() -> None:
    found = told("lens-case")
    rows = rows_of(ladder_table(found.ladder, 7, "EUR"))
    assert [int(cells[0]) for _, cells in rows] == [1, 2, 5, 7, 10, 20, 50, 120]
    prices = [minor(cells[2]) for _, cells in rows]
    assert prices == sorted(prices, reverse=True)
    (here,) = [cells for sort, cells in rows if sort == "here"]
    assert minor(here[1]) == found.cost.each_minor
    assert minor(here[2]) == found.asked.gross_minor


def svg_of(text: str) -> ElementTree.Element:
    return ElementTree.fromstring(re.sub(r' xmlns="[^"]*"', "", text))


def points_of(svg: ElementTree.Element, name: str) -> list[tuple[float, float]]:
    (path,) = [p for p in svg.iter("path") if p.get("class") == name]
    data = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path.get("d") or "")
    return [(float(x), float(y)) for x, y in data]


def test_the_picture_of_the_ladder_has_a_point_for_each_rung_where_its_sum_is() -> None:
    """Heights are in proportion to sums, widths to the logarithm of the batch."""
    found = told("lens-case")
    svg = svg_of(ladder_picture(found.ladder, 7, "EUR"))
    rules = [float(p.get("d", "").split()[1].split("H")[0]) for p in svg.iter("path")
             if p.get("class") == "rule"]  # fmt: skip
    ground = max(rules)
    price, cost = points_of(svg, "price"), points_of(svg, "cost")
    assert len(price) == len(cost) == 120
    scale = (ground - price[0][1]) / found.ladder[0].asked.gross_minor
    for line, sums in (
        (price, [r.asked.gross_minor for r in found.ladder]),
        (cost, [r.asked.cost_minor for r in found.ladder]),
    ):
        assert [ground - y for _, y in line] == pytest.approx([scale * m for m in sums], abs=0.05)
    wide = price[-1][0] - price[0][0]
    for n, (x, _) in enumerate(price, start=1):
        assert x - price[0][0] == pytest.approx(wide * math.log(n) / math.log(120), abs=0.05)
    (here,) = svg.iter("circle")
    at = (float(here.get("cx", "")), float(here.get("cy", "")))
    assert at == pytest.approx(price[6], abs=0.01)


def test_bars_of_the_tornado_are_as_wide_as_their_swings() -> None:
    found = told("lens-case")
    picture = tornado_picture(found.tornado, "EUR")
    svg = svg_of(picture)
    bars = list(svg.iter("rect"))
    less, more = bars[::2], bars[1::2]
    assert {b.get("class") for b in less} == {"less"}
    wide = [
        float(a.get("width", "")) + float(b.get("width", ""))
        for a, b in zip(less, more, strict=True)
    ]
    assert len(wide) == 4
    scale = wide[0] / found.tornado[0].width_minor
    assert wide == pytest.approx([scale * s.width_minor for s in found.tornado], abs=0.5)
    assert wide == sorted(wide, reverse=True)
    texts = ["".join(t.itertext()) for t in svg.iter("text")]
    assert set(CAUSES.values()) < set(texts)
