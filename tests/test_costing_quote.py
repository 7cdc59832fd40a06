"""A quote: its sums, and the paper read back from the PDF by its own character maps."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.costing.quote import Quote, QuoteItem
from hidewright.drawing.quote import BOTTOM_MM, SIDE_MM, TOP_MM, quote_pdf
from hidewright.drawing.tiles import PAPERS_MM, Paper
from hidewright.errors import RequestError
from pdf_read import pages_of

PAPERS: tuple[Paper, ...] = ("A4", "Letter")
POUCH = QuoteItem(what="Compass pouch, natural", count=6, net_minor=10325, tax_minor=2065)
CASE = QuoteItem(what="Lens case", count=2, net_minor=8242, tax_minor=1648)
QUOTE = Quote(
    number="2026-014",
    day="3 March 2026",
    valid_until="31 March 2026",
    lead_time="three weeks after the order",
    seller=("Alder Row", "7 Alder Row, Northmere"),
    buyer=("R. Sample", "1 Long Street, Easthaven"),
    items=(POUCH, CASE),
    currency="EUR",
    terms="Half is paid with the order.\nColour and grain differ from piece to piece.",
    deposit_minor=47060,
)


def cents(words: str) -> int:
    assert words.endswith(" EUR")
    return int(words.removesuffix(" EUR").replace(".", ""))


@pytest.mark.parametrize("paper", PAPERS)
def test_the_paper_says_who_what_until_when_and_for_how_much(paper: Paper) -> None:
    ((size, words),) = pages_of(quote_pdf(QUOTE, paper))
    assert size == pytest.approx(PAPERS_MM[paper], abs=0.01)
    told = [w for w, _, _ in words]
    for expected in (
        "Quote 2026-014",
        *QUOTE.seller,
        *QUOTE.buyer,
        "3 March 2026",
        "31 March 2026",
        "three weeks after the order",
        *QUOTE.terms.splitlines(),
        "Quote 2026-014 · 3 March 2026 · page 1 of 1",
    ):
        assert expected in told
    row = {y: [w for w, _, other in words if other == y] for _, _, y in words}
    by_label = {texts[0]: texts[1:] for texts in row.values()}
    assert by_label["Compass pouch, natural"] == ["6", "123.90 EUR", "743.40 EUR"]
    assert by_label["Lens case"] == ["2", "98.90 EUR", "197.80 EUR"]
    total, net, tax = (cents(by_label[k][0]) for k in ("Total", "Before tax", "Tax"))
    assert total == 6 * 12390 + 2 * 9890 == net + tax
    assert tax == 6 * 2065 + 2 * 1648
    deposit, rest = (cents(by_label[k][0]) for k in ("Deposit with the order", "On delivery"))
    assert deposit + rest == total
    for _, x, y in words:
        assert SIDE_MM - 0.01 <= x <= size[0] - SIDE_MM
        assert BOTTOM_MM - 8.01 <= y <= size[1] - TOP_MM


@settings(max_examples=6, deadline=None)
@given(st.integers(1, 70), st.integers(0, 120), st.sampled_from(PAPERS))
def test_long_quotes_run_on_over_numbered_pages_and_lose_nothing(
    rows: int, terms: int, paper: Paper
) -> None:
    items = tuple(
        QuoteItem(
            what=f"Article {i} " + "of several words " * (i % 9),
            count=i + 1,
            net_minor=100 * i,
            tax_minor=i,
        )
        for i in range(rows)
    )
    lines = [f"Term {i}." for i in range(terms)]
    quote = replace(QUOTE, items=items, terms="\n".join(lines), deposit_minor=0)
    pages = pages_of(quote_pdf(quote, paper))
    every = [w for _, words in pages for w, _, _ in words]
    for i in range(rows):
        assert sum(f"{w} ".startswith(f"Article {i} ") for w in every) == 1
    assert [w for w in every if w.startswith("Term")] == lines
    assert sum(w == "Total" for w in every) == 1
    assert cents(every[every.index("Total") + 1]) == sum(item.total_minor for item in items)
    for number, (_, words) in enumerate(pages, start=1):
        told = [w for w, _, _ in words]
        assert told[-1].endswith(f"page {number} of {len(pages)}")
        has_rows = any(w.startswith("Article") for w in told)
        assert (told.count("What") == 1) == has_rows
        body = [y for w, _, y in words[:-1]]
        assert min(body) >= BOTTOM_MM - 1e-6
        heights = [y for w, x, y in words[:-1] if x < SIDE_MM + 1]
        assert heights == sorted(heights, reverse=True)


def test_equal_quotes_are_equal_bytes() -> None:
    assert quote_pdf(QUOTE, "A4") == quote_pdf(replace(QUOTE), "A4")
    assert quote_pdf(QUOTE, "A4") != quote_pdf(replace(QUOTE, number="2026-015"), "A4")


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"number": ""}, "quote.number: a quote without number"),
        ({"valid_until": ""}, "quote.valid_until: a quote without valid until"),
        ({"items": ()}, "without items"),
        ({"deposit_minor": -1}, "a deposit of -1"),
        ({"deposit_minor": 94121}, "a deposit of 94121 on 94120"),
    ],
)
def test_a_quote_that_says_too_little_is_refused(changed: dict[str, Any], said: str) -> None:
    with pytest.raises(RequestError, match=said):
        replace(QUOTE, **changed)


def test_nothing_is_not_offered_and_paper_is_known() -> None:
    with pytest.raises(RequestError, match="0 of Lens case"):
        replace(CASE, count=0)
    with pytest.raises(RequestError, match="A4 or Letter"):
        quote_pdf(QUOTE, "A5")  # type: ignore[arg-type]
