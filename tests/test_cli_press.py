"""``hidewright press``: a case in, numbers or a refusal out."""

import json
import math
import re
from pathlib import Path

import pytest

from hidewright.forming.pressing import GivenSurface, Pressing
from hidewright.store.case_file import read_case
from run_here import run

CASES = Path(__file__).parents[1] / "benchmarks" / "cases"

CUP = """\
format: 1
title: Cup, coarse
outline:
  circle: {radius: 25}
crown_radius: 4
lip_radius: 4
gap: 1.6
thickness: 1.6
depth: 10
law:
  neo_hooke: {shear: 5}
flange:
  clamped: {beyond: 5.6}
mesh_size: 4
level: 0
"""


@pytest.fixture
def cup(tmp_path: Path) -> Path:
    file = tmp_path / "cup.yaml"
    file.write_text(CUP, encoding="utf-8")
    return file


def test_the_answer_for_machines_has_the_documented_fields(
    cup: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("press", "--case", str(cup), "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert set(told) == {
        "title",
        "force_N",
        "points",
        "rim",
        "triangles",
        "level",
        "converged",
        "residual",
    }
    assert {frozenset(point) for point in told["points"]} == {
        frozenset(
            ("flat_mm", "formed_mm", "thickness_ratio", "stretch_1", "stretch_2", "angle_deg")
        )
    }
    assert {frozenset(one) for one in told["rim"]} == {frozenset(("angle_deg", "pull_in_mm"))}
    assert told["converged"] is True
    assert told["residual"] < 1e-5
    assert (told["title"], told["level"]) == ("Cup, coarse", 0)
    # the membrane equation of this cup: 833.79 N, and the face 0.706 of the thickness
    assert told["force_N"] == pytest.approx(833.79, rel=0.01)
    centre = min(told["points"], key=lambda p: math.hypot(*p["flat_mm"]))
    assert centre["thickness_ratio"] == pytest.approx(0.70598, abs=0.01)
    for p in told["points"]:
        assert p["stretch_1"] >= p["stretch_2"] > 0
        assert p["thickness_ratio"] == pytest.approx(1 / (p["stretch_1"] * p["stretch_2"]))
        assert 0 <= p["angle_deg"] < 180
    assert max(p["formed_mm"][2] for p in told["points"]) == pytest.approx(10.0)
    assert [one["angle_deg"] for one in told["rim"]] == sorted(r["angle_deg"] for r in told["rim"])
    assert max(abs(one["pull_in_mm"]) for one in told["rim"]) < 1e-9


def test_without_json_it_is_told_in_words(cup: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("press", "--case", str(cup)) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "Cup, coarse"
    told = {line[:16].strip(): line[16:] for line in lines[1:]}
    assert list(told) == [
        "force",
        "thinnest",
        "most stretched",
        "pull-in",
        "out of balance",
        "reckoned with",
    ]
    assert float(told["force"].removesuffix(" N")) == pytest.approx(833.79, rel=0.01)
    assert told["pull-in"] == "0.00 to 0.00 mm"


def test_a_case_without_balance_gives_no_numbers_and_exit_code_2(
    cup: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = CUP.replace("clamped: {beyond: 5.6}", "free: {blank: {circle: {radius: 31}}}")
    cup.write_text(text.replace("depth: 10", "depth: 20"), encoding="utf-8")
    assert run("press", "--case", str(cup), "--json") == 2
    out, err = capsys.readouterr()
    told = json.loads(out)
    assert set(told) == {"converged", "because"}
    assert told["converged"] is False
    assert "cup.yaml" in err
    assert told["because"] in err
    assert run("press", "--case", str(cup)) == 2
    assert capsys.readouterr().out == ""


def test_a_bad_field_is_told_with_its_line_for_people_and_machines(
    cup: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cup.write_text(CUP.replace("thickness: 1.6", "thickness: .nan"), encoding="utf-8")
    assert run("press", "--case", str(cup), "--json") == 2
    out, err = capsys.readouterr()
    assert "cup.yaml line 8, thickness: '.nan' is not a length" in json.loads(out)["because"]
    assert "cup.yaml line 8, thickness: '.nan' is not a length" in err


def test_a_missing_case_and_a_huge_one_are_refused_unread(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("press") == 2
    assert "--case" in capsys.readouterr().err
    assert run("press", "--case", str(tmp_path / "none.yaml")) == 2
    assert "none.yaml cannot be read" in capsys.readouterr().err
    huge = tmp_path / "huge.yaml"
    with huge.open("wb") as file:
        file.truncate(200_000_000)
    assert run("press", "--case", str(huge)) == 2
    assert "200.0 MB" in capsys.readouterr().err


def test_the_formats_examples_are_cases_and_the_worked_one_is_the_benchmarks() -> None:
    page = (CASES.parents[1] / "docs" / "case-format.md").read_text(encoding="utf-8")
    whole, outline, flange, surface = (one.split("```")[0] for one in page.split("```yaml\n")[1:])
    assert whole == (CASES / "cup_clamped.yaml").read_text(encoding="utf-8")
    given = read_case(surface.encode(), name="surface")
    assert isinstance(given.pressing, GivenSurface)
    old = whole[whole.index("outline:") : whole.index("crown_radius")]
    drawn = read_case(whole.replace(old, outline).encode(), name="outline").pressing
    assert isinstance(drawn, Pressing)
    assert drawn.hollows[0].outline.spans == ("nose", "back")
    old = whole[whole.index("flange:") : whole.index("mesh_size")]
    stadium = whole.replace("circle: {radius: 25}", "stadium: {length: 60, width: 40}")
    held = read_case(stadium.replace(old, flange).encode(), name="flange").pressing
    assert isinstance(held, Pressing)
    assert held.holds == (("left", "clamped"),)


def test_the_worked_case_answers_what_its_page_says(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = (CASES.parents[1] / "docs" / "case-format.md").read_text(encoding="utf-8")
    file = tmp_path / "case.yaml"
    file.write_text(page.split("```yaml\n")[1].split("```")[0], encoding="utf-8")
    assert run("press", "--case", str(file)) == 0
    wanted = re.compile(r"^(?:force|thinnest|most stretched) +([0-9.]+)", re.MULTILINE)
    told, said = (
        [float(one) for one in wanted.findall(answer)] for answer in (capsys.readouterr().out, page)
    )
    assert len(told) == 3
    assert told == pytest.approx(said, rel=2e-3)
