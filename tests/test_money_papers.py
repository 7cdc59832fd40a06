"""Lists, labels, care cards and data sheets: reckoned another way, and read back from the PDF."""

import io
import itertools
import math
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pikepdf
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from coarse_cache import CACHE
from hidewright.catalogue.prices import built_in_prices
from hidewright.costing.cost import cost_of
from hidewright.costing.shopping import Wanted, shopping
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.drawing.build_sheet import BOTTOM_MM, SIDE_MM, Stamp
from hidewright.drawing.cards import CARD_MM, CareCard, care_cards_pdf
from hidewright.drawing.qr import qr_boxes, qr_svg
from hidewright.drawing.table_sheet import Table, table_sheet_pdf
from hidewright.drawing.tiles import PAPERS_MM, Paper
from hidewright.errors import RequestError
from hidewright.planning.steps_choice import BenchChoice
from hidewright.planning.workshop import Workshop
from hidewright.store.design_file import read_design
from hidewright.units.written import ML_PER_FLUID_OUNCE, Written
from hidewright.workshop import article
from hidewright.workshop.batch.recipes import recipes_for
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.laser import cut_mm, laser_minutes
from hidewright.workshop.lists import plug_table, shopping_tables, tooling_table
from hidewright.workshop.paper_choice import PaperChoice
from hidewright.workshop.pattern_pack import pattern_pack
from hidewright.workshop.product import (
    care_card,
    data_sheet,
    leather_g,
    made_of,
    outside_mm,
    volume_mm3,
)
from hidewright.workshop.views.solid_view import pieces_solid
from pdf_read import pages_of

ADDRESS = "http://127.0.0.1:8377/design/0d9a1c52-7f3e-4a69-8f40-3b1f5f0a7c11/carry"
CHOICE = PaperChoice(
    batch=7, address=ADDRESS, maker="Alder Row", stock=(("MDF 6 mm", 1.0),), day="2 March 2026"
)
PAPERS: tuple[Paper, ...] = ("A4", "Letter")
LISTS = ("cutting list", "tooling list", "shopping list")
WANTED = (
    "design",
    "pressed blanks",
    "all leathers",
    "mouldings",
    "sheets",
    "needs",
    "steps",
    "board facts",
    "bench list files",
    "buyer files",
)


@cache
def values_of(name: str, paper: Paper = "A4", dye: str = "none") -> Mapping[str, Any]:
    path = Path("examples") / f"{name}.yaml"
    spec = read_design(path.read_bytes(), name=path.name).specification
    bench: Any = BenchChoice(dye=dye, colour="tan")  # type: ignore[arg-type]
    inputs = {
        **inputs_of(spec, paper),
        "paper choice": CHOICE,
        "rates": CHOICE.rates,
        "bench": bench,
    }
    return evaluate(article.NODES, inputs, WANTED, CACHE).values


# --- read back -----------------------------------------------------------------------------------


def boxes_of(data: bytes) -> list[tuple[float, float, float, float]]:
    """Every filled rectangle of the first page: left, bottom, width, height, mm."""
    found: list[tuple[float, float, float, float]] = []
    waiting: list[tuple[float, float, float, float]] = []
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for one in pikepdf.parse_content_stream(pdf.pages[0]):
            operator = str(one.operator)
            if operator == "re":
                x, y, w, h = (float(v) * 25.4 / 72 for v in list(one.operands))
                waiting.append((x, y, w, h))
            elif operator in ("f", "F", "f*"):
                found += waiting
                waiting = []
            elif operator in ("S", "s", "n"):
                waiting = []
    return found


def read_code(boxes: list[tuple[float, float, float, float]], size_mm: float) -> str:
    """Draw rectangles (left, bottom, width, height) and have an independent reader read them."""
    dots = 12.0
    side = math.ceil((size_mm + 8) * dots)
    picture = np.full((side, side), 255, dtype=np.uint8)
    left, bottom = (min(box[i] for box in boxes) for i in (0, 1))
    for x, y, w, h in boxes:
        x0, x1 = (round((v - left + 4) * dots) for v in (x, x + w))
        y0, y1 = (round((v - bottom + 4) * dots) for v in (y, y + h))
        picture[side - y1 : side - y0, x0:x1] = 0
    text, _, _ = cv2.QRCodeDetectorAruco().detectAndDecode(picture)
    return str(text)


# --- shopping ------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["lens-case", "compass-pouch"])
def test_leather_bought_is_the_leather_that_the_price_pays_for(name: str) -> None:
    """Cost lines give what is begun; what is bought is that over the share of good articles."""
    values, rates = values_of(name), WorkshopRates()
    needs = values["needs"]
    cost = cost_of(needs, rates, built_in_prices(), 7)
    paid = math.fsum(line.quantity for line in cost.lines if line.group in ("leather", "lining"))
    bought = math.fsum(
        one.needed
        for one in shopping(needs, rates, built_in_prices(), 7, {})
        if one.kind == "leather"
    )
    assert bought == pytest.approx(paid / (1 - rates.rejects), rel=1e-6)


@pytest.mark.parametrize("name", ["lens-case", "forceps-pocket"])
def test_as_many_boards_are_wanted_as_the_tools_are_laid_on(name: str) -> None:
    """The tooling list says which sheet each part is cut from: all of these must be there."""
    values = values_of(name)
    wanted = shopping(values["needs"], WorkshopRates(), built_in_prices(), 7, {})
    whole = Counter(sheet.board.name for sheet in values["sheets"][0])
    boards = {one.name: one.needed for one in wanted if one.unit == "sheet"}
    assert boards == {board: whole[board] for board in boards}
    assert set(boards) == {board for board in whole if not board.startswith("card")}


# --- cutting and tooling lists -------------------------------------------------------------------


@pytest.mark.parametrize("name", ["lens-case", "compass-pouch"])
def test_laser_minutes_are_length_over_speed_slower_in_thicker_board(name: str) -> None:
    values = values_of(name)
    sheets, facts = values["sheets"][0], values["board facts"]
    assert sum(map(cut_mm, sheets)) / 1000 == pytest.approx(sum(f.cut_m for f in facts))
    for speed in (5.0, 20.0):
        for sheet in sheets:
            exact = cut_mm(sheet) * sheet.board.thickness_mm / 3.0 / speed / 60.0
            assert exact - 1e-6 <= laser_minutes(sheet, speed) < exact + 0.1


@pytest.mark.parametrize("speed", [4.0, 10.0])
@pytest.mark.parametrize("name", ["lens-case", "compass-pouch"])
def test_the_laser_takes_the_same_minutes_in_list_build_sheet_plan_and_price(
    name: str, speed: float
) -> None:
    """One speed, that of the rates: whoever adds up the tooling list finds what is planned."""
    path = Path("examples") / f"{name}.yaml"
    spec = read_design(path.read_bytes(), name=path.name).specification
    rates = WorkshopRates(laser_speed=speed)
    inputs = {**inputs_of(spec, "A4", laser_speed=speed), "rates": rates}
    wanted = ("sheets", "build steps", "needs")
    values = evaluate(article.NODES, inputs, wanted, CACHE).values
    listed: dict[str, float] = {}
    *each, whole = tooling_table(values["sheets"][0], speed).rows
    for row, sheet in zip(each, values["sheets"][0], strict=True):
        board = "card" if sheet.board.material == "card" else sheet.board.name
        listed[board] = listed.get(board, 0.0) + float(row[3])
    told = {
        one.title.removeprefix("Cut the "): float(dict(one.figures)["Laser"].removesuffix(" min"))
        for one in values["build steps"]
        if one.title.startswith("Cut the ") and "Laser" in dict(one.figures)
    }
    assert told == pytest.approx(listed)
    (recipe,) = recipes_for({name: spec}, [(name, "natural")], Workshop(), CACHE, laser_speed=speed)
    boards = [step for step in recipe.first_off if step.work == "cut the boards"]
    assert {one.place: one.thing_minutes for one in boards} == pytest.approx(listed)
    laid = sum(one.load_minutes for one in boards)
    assert sum(one.thing_minutes for one in boards) == pytest.approx(float(whole[3]))
    others = [s for s in recipe.first_off if s.place_kind == "tooling" and s not in boards]
    paid = math.fsum(tools.minutes for tools in values["needs"].tools)
    rest = math.fsum(s.load_minutes + s.thing_minutes for s in others)
    assert paid == pytest.approx(laid + float(whole[3]) + rest)


@pytest.mark.parametrize("name", ["forceps-pocket", "trowel-cover"])
def test_the_sums_of_a_tooling_list_are_of_what_stands_above_them(name: str) -> None:
    sheets = values_of(name)["sheets"][0]
    *each, whole = tooling_table(sheets, WorkshopRates().laser_speed).rows
    metres = [float(row[2].removesuffix(" m")) for row in each]
    assert float(whole[2].removesuffix(" m")) == pytest.approx(sum(metres), abs=1e-9)
    assert float(whole[3]) == pytest.approx(sum(float(row[3]) for row in each), abs=1e-9)
    speed = WorkshopRates().laser_speed
    exact = sum(cut_mm(s) * s.board.thickness_mm / 3.0 / speed / 60.0 for s in sheets)
    assert exact <= float(whole[3]) <= exact + 0.1 * len(sheets)


@pytest.mark.parametrize("name", ["forceps-pocket", "trowel-cover", "compass-pouch"])
def test_the_tooling_list_tells_the_size_of_each_plug_as_its_plates_are_cut(name: str) -> None:
    values = values_of(name)
    rows = plug_table(values["mouldings"][0]).rows
    by_name = {
        row[0]: [[float(x) for x in re.findall(r"[\d.]+", c)] for c in row[1:]] for row in rows
    }
    for one in values["mouldings"][0]:
        for zone in one.zones:
            plates = [
                part
                for part in one.tool.parts
                if part.role in ("plug", "shim") and f" plug {zone.name} " in part.name
            ]
            assert plates
            foot, flat, (high,), (crown,) = by_name[f"{one.blank.name}, {zone.name}"]
            for plate in plates:
                size = (plate.outline.width, plate.outline.height)
                assert foot == pytest.approx(size, abs=0.006)
            assert [a - b for a, b in zip(foot, flat, strict=True)] == pytest.approx(
                [2 * crown] * 2, abs=0.011
            )
            assert sum(p.board.thickness_mm for p in plates) == pytest.approx(high, abs=0.011)
            assert crown == zone.crown_radius_mm
    data = values["bench list files"]["papers/tooling list A4.pdf"]
    told = "".join(w for _, words in pages_of(data) for w, _, _ in words).replace(" ", "")
    for row in rows:
        assert all(cell.replace(" ", "") in told for cell in row)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("what", LISTS)
def test_a_list_on_paper_holds_every_row_inside_its_margins(what: str, paper: Paper) -> None:
    values = values_of("lens-case", paper)
    data = values["bench list files"][f"papers/{what} {paper}.pdf"]
    pages = pages_of(data)
    for number, (size, words) in enumerate(pages, start=1):
        assert size == pytest.approx(PAPERS_MM[paper], abs=0.01)
        told = [w for w, _, _ in words]
        assert f"page {number} of {len(pages)}" in told
        assert any(w.startswith("revision") and w.endswith("2 March 2026") for w in told)
        assert all(SIDE_MM - 0.01 <= x <= size[0] - SIDE_MM for _, x, _ in words)
        assert all(5.0 <= y <= size[1] - 5.0 for _, _, y in words)
    everything = "".join(w for _, words in pages for w, _, _ in words).replace(" ", "")
    if what == "tooling list":
        names = [p.cut.part for sheet in values["sheets"][0] for p in sheet.placed]
        names += [f"{s.board.name}, sheet {s.number}" for s in values["sheets"][0]]
    elif what == "cutting list":
        names = [f"blank {one.blank.name}" for one in values["pressed blanks"][0]]
        names += [leather.name for _, leather in values["all leathers"][:1]]
    else:
        names = [m.use.name for m in values["needs"].materials]
        names += [use.name for tools in values["needs"].tools for use in tools.sheets]
    assert names
    for name in names:
        assert name.replace(" ", "") in everything, name


def test_a_long_table_runs_on_under_its_heading_and_loses_no_row() -> None:
    stamp = Stamp(title="Pouch", revision="1", day="")
    rows = tuple((f"row {n}", "x") for n in range(150))
    columns = (("what", 0.5), ("how", 0.5))
    tables = (
        Table(title="One", columns=columns, rows=rows),
        Table(title="None", columns=columns, rows=()),
        Table(title="Two", columns=columns, rows=rows[:3]),
    )
    pages = pages_of(table_sheet_pdf(stamp, "List", "Lead.", tables, "Letter"))
    told = [[w for w, _, _ in words] for _, words in pages]
    flat = [w for page in told for w in page]
    assert [w for w in flat if w.startswith("row")] == [r[0] for r in (*rows, *rows[:3])]
    assert len(pages) > 1
    assert all("what" in page for page in told)
    written = [y for _, words in pages for w, _, y in words if w.startswith("row")]
    assert min(written) > BOTTOM_MM, "a row stands in the foot of its page"
    assert (flat.count("One"), flat.count("Two"), flat.count("None")) == (1, 1, 0)
    with pytest.raises(RequestError, match="without a row"):
        table_sheet_pdf(stamp, "List", "Lead.", tables[1:2], "A4")


# --- labels and cards ----------------------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(st.text("abcdefghijklmnopqrstuvwxyz0123456789-/:.", min_size=1, max_size=120))
@example("0lpr11115n00")
def test_a_code_is_read_back_by_another_reader(text: str) -> None:
    boxes = [(a, b, c - a, d - b) for a, b, c, d in qr_boxes(text, (10.0, 20.0), 40.0)]
    assert read_code(boxes, 40.0) == text
    left, right = min(x for x, _, _, _ in boxes), max(x + w for x, _, w, _ in boxes)
    module = min(w for _, _, w, _ in boxes)
    assert left >= 10.0 + 4 * module - 1e-6, "the quiet zone is narrower than four modules"
    assert right <= 50.0 - 4 * module + 1e-6
    assert qr_svg(text, 200).count("<path") == 1
    # the square marks stand in three corners, none at the lower right: it is not mirrored
    edges = [(x, w, y) for x, y, w, _ in boxes if w == pytest.approx(7 * module)]
    top, bottom = max(y for _, _, y in edges), min(y for _, _, y in edges)
    at_top = {round(x, 3) for x, _, y in edges if y == pytest.approx(top)}
    at_bottom = {round(x, 3) for x, _, y in edges if y == pytest.approx(bottom)}
    assert {round(left, 3), round(right - 7 * module, 3)} <= at_top
    assert round(left, 3) in at_bottom
    # seven dark modules in a row may be there by chance, not once more six rows above
    above = {round(x, 3) for x, _, y in edges if y == pytest.approx(bottom + 6 * module)}
    assert round(left, 3) in above
    assert round(right - 7 * module, 3) not in at_bottom & above


@pytest.mark.parametrize("paper", PAPERS)
def test_the_label_on_paper_opens_the_design(paper: Paper) -> None:
    files = values_of("lens-case", paper)["bench list files"]
    data = files[f"papers/labels {paper}.pdf"]
    boxes = boxes_of(data)
    by_label: dict[tuple[int, int], list[tuple[float, float, float, float]]] = {}
    width, height = PAPERS_MM[paper]
    for box in boxes:
        column = int(box[0] > width / 2)
        row = int((height / 2 + 2 * CARD_MM[1] - box[1]) / CARD_MM[1])
        by_label.setdefault((column, row), []).append(box)
    assert len(by_label) == 3
    for some in by_label.values():
        assert read_code(some, 32.0) == ADDRESS
    assert ADDRESS in [w for w, _, _ in pages_of(data)[0][1]]


def test_equal_choices_make_equal_papers() -> None:
    path = Path("examples/lens-case.yaml")
    spec = read_design(path.read_bytes(), name=path.name).specification
    inputs = {**inputs_of(spec, "A4"), "paper choice": CHOICE, "rates": CHOICE.rates}
    nodes = [node for node in article.NODES if node.name in ("bench list files", "buyer files")]
    for node in nodes:
        values = evaluate(article.NODES, inputs, node.needs, CACHE).values
        arguments = [inputs.get(need, values.get(need)) for need in node.needs]
        assert node.compute(*arguments) == node.compute(*arguments)


def test_no_address_makes_no_label() -> None:
    path = Path("examples/lens-case.yaml")
    spec = read_design(path.read_bytes(), name=path.name).specification
    inputs = {**inputs_of(spec, "A4"), "paper choice": PaperChoice(), "rates": WorkshopRates()}
    files = evaluate(article.NODES, inputs, ("bench list files",), CACHE).values["bench list files"]
    assert sorted(files) == sorted(f"papers/{what} A4.pdf" for what in LISTS)


@pytest.mark.parametrize("paper", PAPERS)
def test_eight_care_cards_lie_on_a_sheet_each_whole(paper: Paper) -> None:
    data = values_of("forceps-pocket", paper)["buyer files"][f"papers/care cards {paper}.pdf"]
    ((size, words),) = pages_of(data)
    titles = [(x, y) for w, x, y in words if w == "Forceps and pin pocket"]
    assert len(titles) == 8
    left, top = (size[0] - 2 * CARD_MM[0]) / 2, (size[1] + 4 * CARD_MM[1]) / 2
    assert left > 7.0
    assert top < size[1] - 7.0, "a printer cannot print so near the edge"
    assert {round(x - left, 2) for x, _ in titles} == {4.0, CARD_MM[0] + 4.0}
    texts = {(i, j): "" for i in range(2) for j in range(4)}
    for w, x, y in words:
        texts[int((x - left) / CARD_MM[0]), int((top - y) / CARD_MM[1])] += w + " "
    assert len(set(texts.values())) == 1
    assert "implants" in texts[0, 0]


def test_a_card_says_what_this_article_is_made_of_and_must_not_meet() -> None:
    said: dict[tuple[str, str], str] = {}
    for name in ("forceps-pocket", "lens-case"):
        for dye in ("none", "pieces"):
            values = values_of(name, dye=dye)
            card = care_card(values["design"][0], values["all leathers"], values["steps"])
            said[name, dye] = " ".join(s for _, part in card.parts for s in part)
            assert values["design"][0].leathers[0][1].name in said[name, dye]
    assert {k for k, words in said.items() if "magnets" in words} == {
        ("forceps-pocket", "none"),
        ("forceps-pocket", "pieces"),
    }
    assert {k[1] for k, words in said.items() if "Dye can rub off" in words} == {"pieces"}


@pytest.mark.parametrize("name", ["label-box", "lens-case", "specimen-tray"])
def test_thread_is_told_of_what_is_sewn_and_of_nothing_else(name: str) -> None:
    values = values_of(name)
    design = values["design"][0]
    told = dict(made_of(design, values["all leathers"], ()))
    assert ("thread" in told) == any(step.work == "sew" for step in values["steps"])


def test_what_is_poured_and_weighed_is_told_in_ounces_beside_inches_and_never_as_less() -> None:
    """231 cubic inches are a gallon of 128 fluid ounces; a pound of 16 ounces is 453.59237 g."""
    assert pytest.approx(231 * 2.54**3 / 128, rel=1e-12) == ML_PER_FLUID_OUNCE
    glue = Wanted(
        kind="consumable",
        name="glue",
        unit="g",
        needed=453.59237,
        stock=0.0,
        packs=1,
        pack=1000.0,
        cost_minor=0,
    )
    dye = replace(glue, name="dye", unit="ml", needed=29.6, pack=250.0)
    (table,) = shopping_tables((glue, dye), "EUR", Written(lengths="in"))
    (_, weighed, _, _, bought, _), (_, poured, _, _, bottle, _) = table.rows
    assert weighed == "16 oz"
    assert bought == "1 of 35.28 oz (1000 g)"
    assert poured == "1.01 fl oz", "29.6 ml are a little more than one"
    assert bottle == "1 of 8.46 fl oz (250 ml)"
    (metric,) = shopping_tables((glue, dye), "EUR")
    assert [row[1] for row in metric.rows] == ["453.6 g", "29.6 ml"]


def test_what_is_sold_one_by_one_is_bought_by_its_number() -> None:
    board = Wanted(
        kind="board",
        name="MDF 6 mm",
        unit="sheet",
        needed=3.4,
        stock=0.0,
        packs=4,
        pack=1.0,
        cost_minor=1200,
    )
    (table,) = shopping_tables((board,), "EUR")
    assert table.title == "Boards"
    assert table.rows[0][4] == "4 sheets"
    (by_ten,) = shopping_tables((replace(board, packs=1, pack=10.0),), "EUR")
    assert by_ten.rows[0][4] == "1 of 10 sheets"


@pytest.mark.parametrize("name", ["forceps-pocket", "lens-case", "specimen-tray"])
def test_nothing_on_cards_and_labels_is_smaller_than_six_points(name: str) -> None:
    values = values_of(name)
    cards = values["buyer files"]["papers/care cards A4.pdf"]
    labels = values["bench list files"]["papers/labels A4.pdf"]
    assert min(type_sizes(cards) + type_sizes(labels)) >= 6.0


def test_a_long_line_of_the_maker_goes_on_below_and_is_no_smaller() -> None:
    maker = "Leather goods from the mill at the weir, made by hand, " * 2
    card = CareCard(title="Pouch", parts=(("Care", ("Keep it dry. " * 20,)),), maker=maker)
    data = care_cards_pdf(card, Stamp(title="Pouch", revision="1", day="2 March 2026"), "A4")
    assert min(type_sizes(data)) >= 6.0
    ((_, words),) = pages_of(data)
    left = min(x for _, x, _ in words)
    told = [(w, y) for w, x, y in words if x == pytest.approx(left)][: len(words) // 8]
    assert " ".join(w for w, _ in told).endswith("revision 1 · 2 March 2026")
    heights = [y for _, y in told]
    assert heights == sorted(heights, reverse=True)
    assert min(a - b for a, b in itertools.pairwise(heights)) > 1.5 * 1.55


def type_sizes(data: bytes) -> list[float]:
    """Size of every line of words on a PDF's pages, points."""
    found: list[float] = []
    size = 0.0
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for page in pdf.pages:
            for one in pikepdf.parse_content_stream(page):
                operands, operator = list(one.operands), str(one.operator)
                if operator == "Tf":
                    size = float(operands[1])
                elif operator == "Tm":
                    scale = math.hypot(float(operands[0]), float(operands[1]))
                elif operator == "Tj":
                    found.append(size * scale)
    return found


def test_words_that_do_not_fit_on_a_card_are_refused() -> None:
    card = CareCard(title="Pouch", parts=(("Care", ("word " * 400,)),))
    with pytest.raises(RequestError, match="more words than room"):
        care_cards_pdf(card, Stamp(title="Pouch", revision="1", day=""), "A4")


# --- data sheet ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["compass-pouch", "lens-case"])
def test_weight_is_volume_by_density_and_flat_pieces_have_their_own(name: str) -> None:
    values = values_of(name)
    design, leathers = values["design"][0], values["all leathers"]
    pressed = values["pressed blanks"]
    groups = {g.name: g for g in pieces_solid(design, pressed[0], leathers).groups}
    flat = [p for p in design.pieces if not p.zones and not p.folds and not p.cut_outs]
    for piece in (p for p in flat if p.name in groups and not p.holes):
        thick = design.leather(piece.role).thickness_mm
        volume = volume_mm3(groups[piece.name])
        assert volume == pytest.approx(piece.outline.area * thick, rel=2e-3)
    heavier = tuple((role, replace(x, density_g_cm3=2 * x.density_g_cm3)) for role, x in leathers)
    grams = leather_g(design, pressed, leathers)
    assert leather_g(design, pressed, heavier) == pytest.approx(2 * grams)
    # a moulded piece is never lighter than the plate it would be flat
    least = math.fsum(
        p.outline.area * dict(leathers)[p.role].thickness_mm * dict(leathers)[p.role].density_g_cm3
        for p in design.pieces
        if not any(z.cut_height_mm is not None for z in p.zones)
    )
    assert grams > 0.9 * least / 1000


@pytest.mark.parametrize("name", ["compass-pouch", "lens-case"])
def test_the_outside_holds_the_inside_and_its_leather(name: str) -> None:
    values = values_of(name)
    design = values["design"][0]
    outside = outside_mm(design, values["pressed blanks"], values["all leathers"])
    for hollow in design.hollows:
        inside = sorted((hollow.outline.width, hollow.outline.height, hollow.depth_mm))[::-1]
        assert all(out > room for out, room in zip(outside, inside, strict=True))
        thin = min(leather.thickness_min_mm for _, leather in design.leathers)
        assert outside[2] > hollow.depth_mm + 1.5 * thin
    sheet = data_sheet(design, values["pressed blanks"], values["all leathers"], values["steps"])
    for term, told in dict(sheet.chapters)["Sizes"]:
        if term != "weight":  # inside as outside, so that a buyer need not turn one of them
            sides = [float(one) for one in told.removesuffix(" mm").split(" x ")]
            assert sides == sorted(sides, reverse=True), term
    if len(design.hollows) == 1:
        told = dict(dict(sheet.chapters)["Sizes"])["inside"]
        assert [float(one) for one in told.removesuffix(" mm").split(" x ")] == pytest.approx(
            inside, abs=0.05 + 1e-9
        )


@pytest.mark.parametrize("paper", PAPERS)
def test_the_data_sheet_is_one_page_with_sizes_materials_and_things(paper: Paper) -> None:
    values = values_of("lens-case", paper)
    ((size, words),) = pages_of(values["buyer files"][f"papers/data sheet {paper}.pdf"])
    assert size == pytest.approx(PAPERS_MM[paper], abs=0.01)
    told = " ".join(w for w, _, _ in words)
    outside = outside_mm(values["design"][0], values["pressed blanks"], values["all leathers"])
    assert " x ".join(f"{v:.0f}" for v in outside) + " mm" in told
    for one in values["design"][0].carried:
        assert one.thing.name in told
    assert "0.9 g/cm³" in told


# --- all of them ---------------------------------------------------------------------------------


@cache
def packed(paper: Paper = "A4") -> Mapping[str, bytes]:
    path = Path("examples/lens-case.yaml")
    spec = read_design(path.read_bytes(), name=path.name).specification
    return article.pack(spec, CACHE, paper=paper, choice=CHOICE)[0]


def test_every_paper_says_what_it_is() -> None:
    files = packed()
    pdfs = [p for p in files if p.endswith(".pdf") and p.startswith(("papers/", "patterns/"))]
    assert len(pdfs) == 10
    for path in pdfs:
        with pikepdf.open(io.BytesIO(files[path])) as pdf:
            subject, title = str(pdf.docinfo["/Subject"]), str(pdf.docinfo["/Title"])
        expected = path.partition("/")[2].removesuffix(" A4.pdf").rstrip("s")
        assert expected in subject or expected == "label", path
        assert "paper patterns" not in subject or path.startswith("patterns/")
        assert "Lens case" in title


def test_a_pattern_pack_has_patterns_and_instructions_and_no_prices_or_addresses() -> None:
    files = packed()
    kept = pattern_pack(files, "Lens case")
    folders = {path.partition("/")[0] for path in kept}
    assert folders == {"cut", "patterns", "solids", "papers", "read me.txt"}
    papers = {path for path in kept if path.startswith("papers/")}
    assert {"papers/build sheet A4.pdf", "papers/cutting list A4.pdf"} < papers
    told = "\n".join(
        w for path in kept if path.endswith(".pdf") for _, ws in pages_of(kept[path])
        for w, _, _ in ws
    )  # fmt: skip
    texts = told + "\n".join(
        kept[path].decode() for path in kept if path.endswith((".html", ".svg", ".txt"))
    )
    for secret in (" EUR", "127.0.0.1", "Alder Row", "in stock"):
        assert secret not in texts
        everything = "\n".join(
            w for path in files if path.endswith(".pdf") for _, ws in pages_of(files[path])
            for w, _, _ in ws
        )  # fmt: skip
        assert secret in everything, "the test looks for what is nowhere"
