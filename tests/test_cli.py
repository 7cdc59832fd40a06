"""The command line: exit codes, words, and packs that are whole or not there."""

import hashlib
import json
import os
import re
import subprocess
import sys
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest

from coarse_cache import COARSE_TRIANGLES
from hidewright.catalogue.leathers import Leather
from hidewright.cli.designs import shown_first
from hidewright.design.choices import ToolingChoice
from hidewright.design.kinds.registry import KINDS
from hidewright.errors import Remark, RequestError
from hidewright.store import write_pack
from hidewright.store.design_file import read_design
from hidewright.tooling.gap import gap_for
from hidewright.workshop.article import check, pack
from hidewright.workshop.graph import Cache
from run_here import run

#: The program on the mesh that ``conftest`` chooses for these tests.
COARSELY = (
    "from hidewright import cli; from hidewright.forming import on_blank; "
    "from hidewright.workshop import beside; beside.cores = lambda: 1; "  # the other's mesh is fine
    f"on_blank.STANDARD_TRIANGLES = {COARSE_TRIANGLES}; cli.main()"
)


@pytest.fixture
def pouch(tmp_path: Path) -> Path:
    return _begun(tmp_path)


def _begun(folder: Path) -> Path:
    file = folder / "pouch.yaml"
    assert run("begin", "flat-back pouch", "--out", str(file)) == 0
    return file


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A pack of the pouch, as a folder."""
    target = tmp_path_factory.mktemp("folder")
    assert run("pack", str(_begun(target)), "--out", str(target / "pack")) == 0
    return target / "pack"


@pytest.fixture(scope="module")
def zipped(tmp_path_factory: pytest.TempPathFactory) -> tuple[tuple[Path, int], ...]:
    """The same as a zip from programs with other hash seeds: (file, length of what was said)."""
    target = tmp_path_factory.mktemp("zipped")
    pouch, found = _begun(target), []
    for seed in ("1", "4242"):
        file = target / f"{seed}.zip"
        done = subprocess.run(
            [sys.executable, "-c", COARSELY, "pack", str(pouch), "--out", str(file)],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        )
        found.append((file, len(done.stderr)))
    return tuple(found)


def _changed(file: Path, old: str, new: str) -> Path:
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    return file


def test_begin_sizes_the_hollow_for_what_is_carried(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("begin", "flat-back pouch", "--carry", "plain card (ID-1) x 4") == 0
    text = capsys.readouterr().out
    file = tmp_path / "cards.yaml"
    file.write_text(text, encoding="utf-8")
    assert "count: 4" in text
    # four cards at their thickest, and half a mm: 4 x 0.84 + 0.5 = 3.86, rounded up to 4 mm
    assert "\n  depth: 4 mm" in text
    run("check", str(file), "--json")
    codes = {r["code"] for r in json.loads(capsys.readouterr().out)}
    assert not codes & {"too-thick", "too-tight", "way-in-too-narrow"}


def test_a_design_that_cannot_be_drawn_is_not_said_to_stand_in_no_way(
    pouch: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _changed(pouch, "crown_radius: 3 mm", "crown_radius: 12 mm")
    assert run("check", str(pouch)) == 2
    told = capsys.readouterr()
    assert "Nothing stands in the way" not in told.out
    assert "crown" in told.err


def test_begin_does_not_write_over_a_file(pouch: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = pouch.read_bytes()
    assert run("begin", "flat-back pouch", "--out", str(pouch)) == 2
    assert "already there" in capsys.readouterr().err
    assert pouch.read_bytes() == before


def test_check_says_what_would_mend_it_and_the_remedy_does(
    pouch: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _changed(pouch, "  depth: 11.5 mm", "  depth: 9 mm")
    assert run("check", str(pouch), "--json") == 1
    remarks = json.loads(capsys.readouterr().out)
    forbidding = [r for r in remarks if r["severity"] == "forbids"]
    assert [r["code"] for r in forbidding] == ["too-thick"]
    remedy = forbidding[0]["remedies"][0]
    assert (remedy["field"], remedy["value"]) == ("measures.depth", "11.5 mm")
    _changed(pouch, "  depth: 9 mm", f"  depth: {remedy['value']}")
    assert run("check", str(pouch)) == 0


@pytest.mark.slow
def test_check_speaks_in_the_unit_of_the_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What would mend it can be typed into the file as it is told, and it does."""
    file = tmp_path / "inches.yaml"
    begun = ("begin", "flat-back pouch", "--carry", "sighting compass", "--unit", "in")
    assert run(*begun, "--out", str(file)) == 0
    _changed(file, "  depth: 29/64 in", "  depth: 3/8 in")
    capsys.readouterr()
    assert run("check", str(file)) == 1
    told = capsys.readouterr().out
    boards = told.replace("MDF 6 mm", "").replace("clear acrylic 5 mm", "")
    assert re.search(r"[0-9] mm", boards) is None
    depth = re.search(r"MUST NOT.*\n.*measures.depth: (.* in)\n", told)
    assert depth is not None
    _changed(file, "  depth: 3/8 in", f"  depth: {depth[1]}")
    assert run("check", str(file)) == 0


def test_begin_says_when_what_is_carried_goes_into_no_hollow_of_the_kind(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    carrying = ("begin", "flat-back pouch", "--carry")
    for n, said in ((1, ""), (5, "This kind does not hold it: measures.depth: depth of 73 mm")):
        file = tmp_path / f"{n}.yaml"
        assert run(*carrying, f"cell R6 (AA) x {n}", "--out", str(file)) == 0
        told = capsys.readouterr().err
        assert said in told
        assert bool(told) == bool(said)


def test_begin_names_the_kinds_that_hold_it_and_each_of_them_does(
    capsys: pytest.CaptureFixture[str],
) -> None:
    carrying = ("--carry", "cell R6 (AA) x 5")
    run("begin", "flat-back pouch", *carrying)
    told = capsys.readouterr().err
    named = [one.name for one in KINDS if one.name in told.partition("in another kind: ")[2]]
    assert 0 < len(named) < len(KINDS) - 2
    assert "with 'arrangement: side by side'" in told
    for kind in KINDS:
        if kind.name not in ("free", "flat-back pouch"):
            run("begin", kind.name, *carrying)
            assert (capsys.readouterr().err == "") == (kind.name in named), kind.name
    run("begin", "lidded box", "--carry", "cell R20 (D) x 40")
    assert "No kind holds it: carry less" in capsys.readouterr().err


@pytest.mark.slow
def test_press_speaks_in_the_unit_of_the_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every figure in inches is the one for machines, which is in mm, over 25.4."""
    file = tmp_path / "inches.yaml"
    assert run("begin", "flat-back pouch", "--unit", "in", "--out", str(file)) == 0
    capsys.readouterr()
    run("press", str(file), "--json")
    (report,) = json.loads(capsys.readouterr().out)["blanks"]
    run("press", str(file))
    told = capsys.readouterr().out.replace(report["leather"], "")
    assert re.search(r"[0-9] mm", told) is None
    lines = {line[2:22].strip(): line[22:] for line in told.splitlines() if line.startswith("  ")}
    spread = report["spread"]
    for name, mm in (
        ("pull-in at most", spread["most_pull_in_mm"]["likely"]),
        ("dries to, along", spread["dry"][0]["along"]["likely"]),
        ("dries to, across", spread["dry"][0]["across"]["likely"]),
        ("pull-in at least", report["least_pull_in_mm"]),
        ("thinnest, dry", report["thinnest_dry_mm"]),
    ):
        value, unit = lines[name].split(",")[0].split()
        decimals = len(value.partition(".")[2])
        assert unit == "in"
        assert float(value) == pytest.approx(mm / 25.4, abs=0.51 * 10.0**-decimals)
    force = lines["on plate or ring"]
    assert force == f"{report['plate_N']:.0f} N ({report['plate_N'] / 4.448:.2g} lbf)"


def test_a_request_that_cannot_be_drawn_names_file_line_and_field(
    pouch: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _changed(pouch, "  notch_radius: 12 mm", "  notch_radius: 35 mm")
    lines = pouch.read_text(encoding="utf-8").splitlines()
    line = next(i for i, text in enumerate(lines, 1) if "notch_radius" in text)
    assert run("check", str(pouch)) == 2
    assert f"pouch.yaml line {line}, measures.notch_radius" in capsys.readouterr().err


@pytest.mark.slow
def test_pack_writes_nothing_when_a_remark_forbids_unless_told_to(
    pouch: Path, tmp_path: Path
) -> None:
    _changed(pouch, "  depth: 11.5 mm", "  depth: 9 mm")
    target = tmp_path / "pack"
    assert run("pack", str(pouch), "--out", str(target)) == 1
    assert not target.exists()
    assert run("pack", str(pouch), "--out", str(target), "--anyway") == 0
    assert (target / "manifest.json").is_file()


def test_no_file_is_made_of_what_a_remark_forbids_unless_it_is_asked_for(pouch: Path) -> None:
    _changed(pouch, "  depth: 11.5 mm", "  depth: 9 mm")
    spec = read_design(pouch.read_bytes(), name=pouch.name).specification
    cache, steps = Cache(), list[str]()
    files, findings = pack(spec, cache, anyway=False, progress=steps.append)
    assert files == {}
    assert findings == check(spec, cache)
    assert findings.forbids
    assert not [step for step in steps if step.endswith(("files", "faults"))]


def test_a_pack_is_complete_and_its_manifest_true(folder: Path) -> None:
    target = folder
    manifest = json.loads((target / "manifest.json").read_text(encoding="utf-8"))
    on_disk = {p.relative_to(target).as_posix() for p in target.rglob("*") if p.is_file()}
    assert on_disk == {*manifest["files"], "manifest.json"}
    for name, said in manifest["files"].items():
        data = (target / name).read_bytes()
        assert (hashlib.sha256(data).hexdigest(), len(data)) == (said["sha256"], said["bytes"])
    ends = {Path(name).suffix for name in on_disk}
    assert ends == {".svg", ".dxf", ".pdf", ".stl", ".yaml", ".json", ".html"}
    index, forming = (
        (target / name).read_text(encoding="utf-8") for name in ("index.html", "forming.html")
    )
    assert 'href="forming.html"' in index
    for name in on_disk:
        if name.endswith((".svg", ".dxf", ".pdf", ".stl")):
            page = forming if name.startswith("forming/") else index
            assert f'href="{name}"' in page, "every drawing is reached from the contents page"
    for page in (index, forming):
        assert "http" not in page.replace("http-equiv", ""), "a page needs nothing from outside"


def test_a_pack_is_not_written_over_and_only_packs_are_replaced(
    pouch: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "letter.txt").write_text("keep me", encoding="utf-8")
    assert run("pack", str(pouch), "--out", str(mine)) == 2
    assert run("pack", str(pouch), "--out", str(mine), "--replace") == 2
    assert "no pack" in capsys.readouterr().err
    assert (mine / "letter.txt").read_text(encoding="utf-8") == "keep me"


@pytest.mark.slow
def test_a_zip_holds_the_same_files_as_the_folder(
    folder: Path, zipped: tuple[tuple[Path, int], ...]
) -> None:
    with zipfile.ZipFile(zipped[0][0]) as archive:
        names = archive.namelist()
        assert len(names) == sum(file.is_file() for file in folder.rglob("*"))
        for name in names:
            assert archive.read(name) == (folder / name).read_bytes()


def test_nothing_half_written_is_left_when_writing_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: Path, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    target = tmp_path / "pack"
    with pytest.raises(RequestError, match="No space left"):
        write_pack.write_pack({"a/b.svg": b"x"}, target)
    assert list(tmp_path.iterdir()) == []


def test_an_unknown_kind_or_thing_lists_what_there_is(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("begin", "spaceship") == 2
    assert "flat-back pouch" in capsys.readouterr().err
    assert run("begin", "flat-back pouch", "--carry", "sighting compas") == 2
    assert "sighting compass" in capsys.readouterr().err


def test_a_count_that_is_none_and_a_row_that_is_not_there_are_told_in_words(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run("begin", "open tray", "--carry", "US dime x 0") == 2
    assert "'0' of US dime. Give a whole number from 1 on" in capsys.readouterr().err
    assert run("catalogue", "boards", "marble") == 2
    assert "none of the boards has 'marble' in its name" in capsys.readouterr().err
    assert run() == 2
    assert capsys.readouterr().err.startswith("Usage:")


@pytest.mark.parametrize("words", [(), ("book",), ("begin",), ("cut",), ("pack",)])
def test_help_is_in_whole_sentences_and_in_no_words_of_a_programmer(
    words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(*words, "--help") == 0
    said = capsys.readouterr().out
    assert "..." not in re.sub(r"(\[\w+\]|designs)\.\.\.", "", said)
    assert "list[" not in said


def test_an_article_is_known_by_a_piece_of_it() -> None:
    patterns = ["a/patterns/covers.svg", "a/patterns/outer.svg", "a/patterns/blank outer.svg"]
    assert shown_first(patterns) == "a/patterns/outer.svg"


def test_a_missing_or_huge_file_is_refused_in_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("check", str(tmp_path / "none.yaml")) == 2
    assert "cannot be read" in capsys.readouterr().err
    huge = tmp_path / "huge.yaml"
    with huge.open("wb") as out:
        out.truncate(200_000_000)
    assert run("check", str(huge)) == 2
    assert "200.0 MB" in capsys.readouterr().err


def test_a_word_the_command_line_does_not_know_is_a_bad_request(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run("check", "--frobnicate", "x.yaml") == 2
    assert "frobnicate" in capsys.readouterr().err


def test_our_own_mistake_keeps_its_traceback_and_has_its_own_code(
    pouch: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("our mistake")

    monkeypatch.setattr("hidewright.workshop.article.check", broken)
    assert run("check", str(pouch)) == 3
    err = capsys.readouterr().err
    assert "Traceback" in err
    assert "not yours" in err


def test_own_rows_lie_over_the_catalogue(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = tmp_path / "rows.yaml"
    rows.write_text(
        "things:\n  - {name: seed tin, shape: disc, diameter: 60 mm, thickness: 18 mm}\n",
        encoding="utf-8",
    )
    words = ("begin", "flat-back pouch", "--carry", "seed tin", "--rows", str(rows))
    assert run(*words) == 0
    assert "name: seed tin" in capsys.readouterr().out
    rows.write_text("thinks:\n  - {name: x}\n", encoding="utf-8")
    assert run(*words) == 2
    assert "things" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("field", "said"),
    [
        ("thickness_mm: 5000", "it lies between 0.05 and 50"),
        ("thickness: 5 kg", "the unit 'kg' is not known"),
        ("thicknes_mm: 5", "Did you mean: thickness_mm"),
    ],
)
def test_an_own_row_that_cannot_be_is_refused_with_file_line_and_field(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], field: str, said: str
) -> None:
    rows = tmp_path / "rows.yaml"
    rest = "bending_modulus_MPa: 2700, bending_strength_MPa: 23, thickness_tolerance_mm: 0.1"
    more = "".join(f"    {one}\n" for one in f"kerf_mm: 0.2, min_web_mm: 6, {rest}".split(", "))
    rows.write_text(
        f"boards:\n  - name: mine\n    material: mdf\n    {field}\n{more}", encoding="utf-8"
    )
    assert run("catalogue", "boards", "--rows", str(rows)) == 2
    told = capsys.readouterr().err
    assert told.startswith("hidewright: rows.yaml line 4, boards: ")
    assert field.partition(":")[0] in told
    assert said in told


def test_fits_lists_what_goes_in(pouch: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("fits", str(pouch)) == 0
    said = capsys.readouterr().out
    assert "sighting compass" in said
    assert "field notebook" not in said


def test_a_pack_is_the_same_to_the_byte_under_another_hash_seed(
    zipped: tuple[tuple[Path, int], ...],
) -> None:
    (one, said), (two, said_too) = zipped
    assert one.read_bytes() == two.read_bytes()
    assert said == said_too


@pytest.mark.slow
def test_a_pack_after_slider_moves_is_the_pack_made_cold(pouch: Path) -> None:
    spec = read_design(pouch.read_bytes(), name=pouch.name).specification
    cold, _ = pack(spec, Cache())
    warm = Cache()
    for wider in (70.0, 66.0):
        measures = replace(spec.brief.measures, width_mm=wider)
        pack(replace(spec, brief=replace(spec.brief, measures=measures)), warm)
    again, _ = pack(spec, warm)
    assert again == cold


@pytest.mark.slow
def test_a_pack_that_the_independent_check_rejects_is_not_written(
    pouch: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def wide(leather: Leather, choice: ToolingChoice) -> tuple[float, tuple[Remark, ...]]:
        gap, remarks = gap_for(leather, choice)
        return gap + 0.03, remarks  # the checker reckons the gap itself

    monkeypatch.setattr("hidewright.workshop.tooling_chain.gap_for", wide)
    target = tmp_path / "pack"
    assert run("pack", str(pouch), "--out", str(target)) == 3
    assert "gap" in capsys.readouterr().err
    assert not target.exists()
