"""The sheets as printed, read back from the PDF by its own character maps."""

import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coarse_cache import CACHE
from hidewright.drawing.build_sheet import (
    BOTTOM_MM,
    SIDE_MM,
    SheetStep,
    Stamp,
    build_sheet_pdf,
)
from hidewright.drawing.first_off_sheet import FirstOffRow, first_off_pdf
from hidewright.drawing.paper_text import paragraph, width_of
from hidewright.drawing.pdf_page import Book
from hidewright.drawing.tiles import PAPERS_MM, Paper
from hidewright.errors import RequestError
from hidewright.planning.steps_choice import BenchChoice
from hidewright.store.design_file import read_design
from hidewright.workshop import article
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from pdf_read import pages_of

NODES = article.NODES
STAMP = Stamp(title="Lens case", revision="7", day="2 March 2026")
PAPERS: tuple[Paper, ...] = ("A4", "Letter")
EXAMPLES = sorted(p.stem for p in Path("examples").glob("*.yaml"))


def values_of(name: str, paper: Paper = "A4") -> Any:
    path = Path("examples") / f"{name}.yaml"
    spec = read_design(path.read_bytes(), name=path.name).specification
    inputs = {
        **inputs_of(spec, paper),
        "bench": BenchChoice(dye="pieces", colour="tan"),
        "revision": STAMP.revision,
        "day": STAMP.day,
    }
    wanted = ("steps", "build steps", "first-off rows", "build sheet files")
    return evaluate(NODES, inputs, wanted, CACHE).values


@cache
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_the_build_sheet_holds_every_step_in_order_on_numbered_pages(
    name: str, paper: Paper
) -> None:
    values = values_of(name, paper)
    pages = pages_of(values["build sheet files"][f"papers/build sheet {paper}.pdf"])
    titles: list[str] = []
    for number, (size, words) in enumerate(pages, start=1):
        assert size == pytest.approx(PAPERS_MM[paper], abs=0.01)
        told = [w for w, _, _ in words]
        assert f"page {number} of {len(pages)}" in told
        assert "revision 7 · 2 March 2026" in told
        for _, x, y in words:
            assert SIDE_MM - 0.01 <= x <= size[0] - SIDE_MM
            assert BOTTOM_MM - 7.01 <= y <= size[1] - SIDE_MM
        heads = [(w, y) for w, x, y in words if re.match(r"\d+  ", w)]
        assert [y for _, y in heads] == sorted((y for _, y in heads), reverse=True)
        titles += [w for w, _ in heads]
    shown = values["build steps"]
    assert len(titles) == len(shown) == len(values["steps"])
    for number, (title, step) in enumerate(zip(titles, shown, strict=True), start=1):
        assert title == f"{number}  {step.title}"


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_figure_and_caution_of_a_step_is_printed(name: str) -> None:
    values = values_of(name)
    pages = pages_of(values["build sheet files"]["papers/build sheet A4.pdf"])
    told = "".join(w for _, words in pages for w, _, _ in words).replace(" ", "")
    for step in values["build steps"]:
        for label, value in step.figures:
            assert f"{label}: {value}".replace(" ", "") in told
        for words in (*step.cautions, step.how, step.wait):
            assert words.replace(" ", "") in told


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["lens-case", "forceps-pocket"])
def test_the_first_off_sheet_holds_every_reading_and_where_it_goes(name: str, paper: Paper) -> None:
    values = values_of(name, paper)
    pages = pages_of(values["build sheet files"][f"papers/first-off sheet {paper}.pdf"])
    for number, (size, words) in enumerate(pages, start=1):
        assert size == pytest.approx(PAPERS_MM[paper], abs=0.01)
        told = [w for w, _, _ in words]
        assert f"page {number} of {len(pages)}" in told
        assert "goes into" in told
    everything = "".join(w for _, words in pages for w, _, _ in words).replace(" ", "")
    readings = [(s, r) for s in values["steps"] for r in s.readings]
    assert len(values["first-off rows"]) == len(readings) > 5
    for row, (step, reading) in zip(values["first-off rows"], readings, strict=True):
        assert row.step.endswith(f"  {step.name}")
        for cell in (reading.what, reading.where, reading.tool, reading.expected, row.into):
            assert cell.replace(" ", "") in everything
        # a maker is sent nowhere that there is no field for
        assert row.into == "this sheet" or row.into.startswith(("book: ", "the design, if"))
        if row.into != "this sheet":
            assert row.into.endswith(reading.into)


@pytest.mark.parametrize("make", [build_sheet_pdf, first_off_pdf])
def test_equal_sheets_are_equal_bytes_and_nonsense_is_refused(make: Any) -> None:
    values = values_of("label-box")
    rows = values["build steps" if make is build_sheet_pdf else "first-off rows"]
    assert make(STAMP, "Lead.", rows, "A4") == make(STAMP, "Lead.", rows, "A4")
    with pytest.raises(RequestError, match="paper 'A3'"):
        make(STAMP, "Lead.", rows, "A3")
    with pytest.raises(RequestError, match=r"without a step|nothing to measure"):
        make(STAMP, "Lead.", (), "A4")


def test_a_long_name_leaves_the_heading_its_sort_of_paper() -> None:
    step = SheetStep(title="Cut", time="1 min", how="word")
    stamp = replace(STAMP, title="A pouch with such a very long name that it takes a line " * 2)
    ((_, words),) = pages_of(build_sheet_pdf(stamp, "Lead.", (step,), "A4"))
    (heading,) = [w for w, _, _ in words if w.startswith("A pouch")]
    assert heading.endswith("…: build sheet")


def test_a_step_higher_than_a_page_is_refused() -> None:
    step = SheetStep(title="Endless", time="1 min", how="word " * 3000)
    with pytest.raises(RequestError, match="higher than a page"):
        build_sheet_pdf(STAMP, "Lead.", (step,), "A4")


def test_a_long_table_repeats_its_heading_on_every_page() -> None:
    row = FirstOffRow(step="1  cut", what="w", where="x", tool="y", expected="z", into="a_b")
    pages = pages_of(first_off_pdf(STAMP, "Lead.", (row,) * 200, "Letter"))
    assert len(pages) > 2
    assert sum(w == "1 cut" for _, words in pages for w, _, _ in words) == 200
    assert all("should be" in [w for w, _, _ in words] for _, words in pages)


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.text("abcdefgWM_./-éß°", min_size=1, max_size=40), max_size=30),
    st.floats(8.0, 120.0),
)
def test_wrapped_words_fit_their_width_and_none_is_lost(words: list[str], width: float) -> None:
    Book("widths")  # carries the letters
    found = paragraph(" ".join(words), width, 2.1)
    assert all(width_of(line, 2.1) <= width + 1e-6 for line in found.lines)
    assert "".join(found.lines).replace(" ", "") == "".join(words)
    assert found.height_mm == pytest.approx(len(found.lines) * 1.85 * 2.1)
