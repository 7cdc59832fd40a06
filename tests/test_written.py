"""Inches and ounces on papers: true to the metric they stand for, everywhere, and nowhere else."""

import re
from dataclasses import replace
from fractions import Fraction
from functools import cache, partial
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coarse_cache import CACHE
from hidewright.errors import Remark, Remedy
from hidewright.store.design_file import read_design
from hidewright.units.length import parse_length
from hidewright.units.thickness import parse_leather_thickness
from hidewright.units.written import METRIC, NEAR_MM, Written
from hidewright.workshop import acceptance, article
from hidewright.workshop.graph import Cache, evaluate
from hidewright.workshop.in_units import names_in, remark_in
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.paper_choice import PaperChoice
from pdf_read import pages_of

INCHES = Written(lengths="in")
CHOICE = PaperChoice(written=INCHES, address="http://127.0.0.1:8377/x", day="2 March 2026")
#: A measure as metric papers tell it.
METRIC_MEASURE = re.compile(r"\d ?(?:mm|cm|m|dm²|m²)(?![\w²/])")
#: Names of card and awls.
STAYS = re.compile(r"(?:built up to|diamond awl) [\d.]+\s+mm")
MEASURE = re.compile(r"^(?P<ruler>[\d /]+) in(?: \((?P<calliper>[\d.]+)\))?$")


# --- one measure ---------------------------------------------------------------------------------


@settings(max_examples=300, deadline=None)
@given(st.integers(1, 99_900), st.integers(0, 2))
def test_a_length_in_inches_is_the_length_in_mm(hundredths: int, decimals: int) -> None:
    """A fraction is the nearest on a ruler; where that loses anything, a decimal stands by it."""
    told = f"{hundredths / 100:.{decimals}f}"
    mm, said = float(told), INCHES.words(f"{told} mm")
    ruled = decimals == 0 and mm >= 100.0
    found = MEASURE.match(said)
    if found is None or "." in said.partition(" in")[0]:
        assert mm < 25.4
        assert float(said.removesuffix(" in")) * 25.4 == pytest.approx(mm, abs=0.0127 + 1e-9)
        return
    fraction = parse_length(f"{found['ruler']} in")
    step = 25.4 / (32 if ruled else 64)
    assert abs(fraction - mm) <= step / 2 + 1e-9, "another fraction is nearer"
    assert Fraction(fraction / 25.4).limit_denominator(64) * Fraction(254, 10) == pytest.approx(
        fraction
    )
    if found["calliper"] is not None:
        assert float(found["calliper"]) * 25.4 == pytest.approx(mm, abs=0.0127 + 1e-9)
    elif not ruled:
        assert abs(fraction - mm) <= NEAR_MM + 1e-9


@pytest.mark.parametrize(
    ("metric", "inches"),
    [
        ("1.25 to 1.61 mm", "0.049 to 0.063 in"),
        ("44.5 x 44.0 x 8.1 mm", "1 3/4 x 1 47/64 x 5/16 in (1.752 x 1.732 x 0.319)"),
        ("1270 mm", "4 ft 2 in"),
        ("212 x 141 mm", "8 11/32 x 5 9/16 in"),
        ("0 mm", "0 in"),
        ("edges of 2 and 4 mm radius", "edges of 0.079 and 0.157 in radius"),
        ("120 and 180 grit, 3 mm off", "120 and 180 grit, 0.118 in off"),
        ("a bar of 25.4 mm, then 50.8 mm", "a bar of 1 in, then 2 in"),
        ("above about 55 °C it shrinks", "above about 55 °C (131 °F) it shrinks"),
        ("373 to 749 N", "373 to 749 N (84 to 170 lbf)"),
        ("Dowels: 4 of 6.0 mm", "Dowels: 4 of 0.236 in"),
        ("the 6 mm base, 15.9 mm wide", "the 0.236 in base, 5/8 in wide"),
        ("radius gauge 2 mm, 1.98 mm", "radius gauge 0.079 in, 5/64 in"),
        ("0.265 m²", "2.85 sq ft"),
        ("12.3 dm²", "1.32 sq ft"),
        ("9.3 m", "30.5 ft"),
        ("air at 1 m/s, 150 g/m², 30 min", "air at 1 m/s, 150 g/m², 30 min"),
        ("slit of 2 mm at 45° to the line", "slit of 0.079 in at 45° to the line"),
    ],
)
def test_measures_in_words_are_rewritten_where_they_stand(metric: str, inches: str) -> None:
    """Feet, pounds and degrees by their definitions: 0.3048 m, 4.44822 N, 9/5 C + 32."""
    assert INCHES.words(metric) == inches
    assert METRIC.words(metric) == metric


def test_a_name_is_never_rewritten_not_even_beside_a_measure() -> None:
    names = ("MDF 6 mm", "card built up to 2.24 mm", "2.24 mm")
    text = "cut MDF 6 mm and card built up to 2.24 mm 6 mm wide"
    assert INCHES.words(text, names) == "cut MDF 6 mm and card built up to 2.24 mm 0.236 in wide"


@given(st.integers(8, 45), st.integers(0, 10))
def test_leather_is_told_to_the_half_ounce_of_a_64th_of_an_inch(low: int, more: int) -> None:
    thickness = (low / 10, (low + more) / 10)
    ounces, _, gauge = INCHES.leather(thickness).partition(" oz (")
    told = parse_leather_thickness(f"{ounces} oz")
    assert told == pytest.approx(thickness, abs=25.4 / 64 / 4 + 1e-9)
    measured = parse_leather_thickness(gauge.removesuffix(")"))
    assert measured == pytest.approx(thickness, abs=0.0127 + 1e-9)


# --- the papers ----------------------------------------------------------------------------------


@cache
def spec_of(name: str) -> Any:
    path = Path("examples") / f"{name}.yaml"
    return read_design(path.read_bytes(), name=path.name).specification


def inputs(written: Written) -> dict[str, object]:
    choice = PaperChoice(written=written, address=CHOICE.address, day=CHOICE.day)
    own = {"paper choice": choice, "rates": choice.rates}
    return {**inputs_of(spec_of("lens-case"), "Letter", choice.day, written), **own}


@cache
def packed() -> Any:
    return article.pack(spec_of("lens-case"), own_cache(), paper="Letter", choice=CHOICE)[0]


def own_cache() -> Cache:
    """Return a cache with all that is known already, and nothing of it written in inches."""
    held = Cache()
    held._entries.update(CACHE._entries)
    return held


def told_in(path: str, data: bytes) -> str:
    if path.endswith(".pdf"):
        return "\n".join(w for _, words in pages_of(data) for w, _, _ in words)
    return re.sub(r"<style>.*?</style>|<[^>]*>", " ", data.decode(), flags=re.S)


def test_no_paper_of_a_pack_in_inches_tells_a_length_in_millimetres() -> None:
    design = evaluate(article.NODES, inputs(INCHES), ("design",), CACHE).values["design"][0]
    tooling = spec_of("lens-case").tooling
    boards = {tooling.mould_board.name, tooling.template_board.name}
    names = sorted({*names_in(design), *boards}, key=len, reverse=True)
    papers = [p for p in packed() if p.endswith((".pdf", ".html"))]
    assert len(papers) >= 14
    inches = 0
    for path in papers:
        told = STAYS.sub("", told_in(path, packed()[path]))
        for name in names:
            told = re.sub(r"\s+".join(map(re.escape, name.split())), "", told)
        found = METRIC_MEASURE.search(told)
        assert found is None, (path, told[found.start() - 60 : found.end() + 20])
        inches += " in" in told
    assert inches >= 8, "hardly a paper tells a length"
    assert "3.5-4 oz (0.055-0.063 in)" in packed()["index.html"].decode()


def test_what_is_reckoned_knows_nothing_of_units_and_equal_choices_give_equal_bytes() -> None:
    wanted = (*article.FILES, *acceptance.FAULTS, "needs", "steps")
    held = own_cache()
    evaluate(article.NODES, inputs(METRIC), wanted, held)
    in_inches = evaluate(article.NODES, inputs(INCHES), wanted, held)
    papers = {"build steps", "first-off rows", "cover drawings", *article.FILES}
    assert set(in_inches.computed) == papers - {"cut files", "solid files"}
    again = evaluate(article.NODES, inputs(INCHES), ("build steps", "first-off rows"), held).values
    for node in (n for n in article.NODES if n.name in ("pattern files", "bench list files")):
        values = evaluate(article.NODES, inputs(INCHES), _nodes(node.needs), held).values
        arguments = [inputs(INCHES).get(need, values.get(need)) for need in node.needs]
        assert node.compute(*arguments) == in_inches.values[node.name]
    assert (
        again["build steps"]
        != evaluate(article.NODES, inputs(METRIC), ("build steps",), held).values["build steps"]
    )


def _nodes(needs: tuple[str, ...]) -> tuple[str, ...]:
    names = {node.name for node in article.NODES}
    return tuple(need for need in needs if need in names)


def test_a_weight_in_ounces_is_a_sixteenth_of_the_pound() -> None:
    """The international pound is 0.45359237 kg by definition."""
    assert METRIC.weight(80.0) == "80 g"
    assert Written(lengths="in").weight(453.59237) == "16 oz (453.592 g)"


def test_a_remark_is_told_with_its_remedies_and_only_its_measures_change() -> None:
    board = ("tooling.mould_board", "MDF 3 mm")
    remedy = Remedy(field="measures.depth", value="12.7 mm", also=(board,))
    remark = Remark(
        code="c", severity="note", place="p", sentence="Lower by 25.4 mm", remedies=(remedy,)
    )
    told = remark_in(remark, partial(Written(lengths="in").words, names=()))
    assert told.sentence == "Lower by 1 in"
    assert told.remedies[0] == replace(remedy, value="1/2 in")
    assert remark_in(remark, METRIC.words) == remark


@pytest.mark.parametrize("half", [70.5, 70.5 - 1e-12, 70.5 + 1e-12, 90.5])
def test_half_a_millimetre_is_rounded_up_on_every_paper(half: float) -> None:
    assert METRIC.size((half, 57.0), 0) == f"{half + 0.5:.0f} x 57 mm"


def test_a_size_in_inches_is_taken_from_the_size_itself() -> None:
    """70.5 mm are 2.7756 in, nearest to 2 25/32; 70 mm would be 2 3/4."""
    assert Written(lengths="in").size((70.5, 57.0), 0) == "2 25/32 x 2 1/4 in"
