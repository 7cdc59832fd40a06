"""The book on the command line: readings in, what is known out, test pieces on the disk."""

import json
import re
import sys
from datetime import date
from pathlib import Path
from shutil import copy
from typing import Any

import pytest

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.catalogue.step_rows import WorkTime, built_in_times
from hidewright.cli import main
from hidewright.design.bench_reading import BenchReading
from hidewright.design.specification import Specification
from hidewright.design.stock_item import StockItem, ToolingSet
from hidewright.errors import RequestError
from hidewright.planning.own_step import OwnStep
from hidewright.planning.step_times import own_times
from hidewright.planning.steps_choice import BenchChoice
from hidewright.planning.workshop import Means, Workshop
from hidewright.store.book import Book
from hidewright.store.book_designs import add_design
from hidewright.store.book_rates import change_rate
from hidewright.store.book_readings import add_reading
from hidewright.store.book_stock import keep_item
from hidewright.store.book_tooling import keep_tooling
from hidewright.store.book_workshop import keep_workshop
from hidewright.store.write_design import write_design
from hidewright.workshop import article
from hidewright.workshop.batch import recipes
from hidewright.workshop.begin import begin
from hidewright.workshop.edit import edited
from hidewright.workshop.learned import NOTHING
from hidewright.workshop.learned_shelf_remarks import reckoned_by
from hidewright.workshop.money import price
from hidewright.workshop.paper_choice import PaperChoice


def run(*words: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr(sys, "argv", ["hidewright", *words])
    with pytest.raises(SystemExit) as left:
        main()
    said = capsys.readouterr()
    return f"{left.value.code}\n{said.out}{said.err}"


@pytest.fixture
def book(tmp_path: Path) -> tuple[str, str]:
    return ("--book", str(tmp_path / "book.sqlite"))


def test_readings_are_added_listed_known_withdrawn_and_kept(
    book: tuple[str, str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def told(*words: str) -> str:
        return run(*words, *book, capsys=capsys, monkeypatch=monkeypatch)

    add = ("book", "add", "kerf", "--subject", "MDF 6 mm", "--day", "2026-03-02")
    assert told(*add, "--value", "0.16").startswith("0\nKept as ")
    id = told(*add, "--value", "1.9").split()[-1].rstrip(".")
    listed = told("book", "readings")
    assert "2026-03-02  kerf: 0.16 mm  MDF 6 mm" in listed
    assert "2026-03-02  kerf: 1.90 mm  MDF 6 mm" in listed
    known = told("book", "known")
    assert "MDF 6 mm: 1 reading counts" in known
    assert f"{id} is questioned" in known
    figures = json.loads(told("book", "known", "--json").partition("\n")[2])
    assert len(figures["questioned"]) == 1
    assert told("book", "withdraw", id) == f"0\n{id} is withdrawn.\n"
    assert "withdrawn" in told("book", "readings")
    assert "is questioned" not in told("book", "known")
    assert told("book", "keep", id) == f"0\n{id} is kept.\n"
    assert "MDF 6 mm: 2 readings count" in told("book", "known")
    rows = json.loads(told("book", "readings", "--json").partition("\n")[2])
    assert {one["standing"] for one in rows.values()} == {"counts", "kept"}


def test_what_cannot_be_is_said_in_words_with_exit_2(
    book: tuple[str, str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def told(*words: str) -> str:
        return run(*words, *book, capsys=capsys, monkeypatch=monkeypatch)

    add = ("book", "add", "--subject", "MDF 6 mm", "--value", "0.16")
    assert told(*add, "karf").startswith("2\nhidewright: what: no reading is called 'karf'")
    assert told(*add, "kerf", "--day", "soon").startswith("2\nhidewright: 'soon' is no day")
    told(*add, "kerf")
    assert told("book", "keep", "zzz").startswith("2\nhidewright: no reading 'zzz'")


def test_the_test_pieces_are_written_once_and_never_over_what_is_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "pieces"
    words = ("test-pieces", "--out", str(out), "--board", "MDF 3 mm")
    assert run(*words, capsys=capsys, monkeypatch=monkeypatch).startswith("0\nWrote 21 files")
    assert len(list(out.iterdir())) == 21
    again = run(*words, capsys=capsys, monkeypatch=monkeypatch)
    assert again.startswith("2\n")
    assert "already there" in again


@pytest.mark.slow
def test_press_reckons_with_a_books_own_values_and_tells_what_is_short_and_worn(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    spec = begin("open tray", built_in_catalogue())
    design = tmp_path / "tray.yaml"
    design.write_text(write_design(spec), encoding="utf-8")
    path = tmp_path / "book.sqlite"
    board = spec.tooling.mould_board.name
    leather = spec.brief.leathers[0][1]
    with Book(path) as book:
        for day in (1, 2, 3):
            add_reading(
                book,
                BenchReading(
                    what="leather thickness",
                    subject=leather.name,
                    value=1.02 * leather.thickness_mm,
                    day=date(2026, 3, day),
                ),
            )
        keep_item(
            book, StockItem(sort="sheet", name=board, quantity=1, unit="sheets", reorder_at=2)
        )
        text = design.read_text(encoding="utf-8")
        when = "2026-03-01T08:00:00+00:00"
        add_design(book, "t", name=spec.brief.name, text=text, when=when)
        keep_tooling(book, ToolingSet(name="tray mould", design="t", pressings=120, life=100))
    told = []
    for more in ((), ("--book", str(path))):
        told.append(run("press", str(design), *more, capsys=capsys, monkeypatch=monkeypatch))
    without, own = told
    assert "likely" in without
    assert "own values" not in without
    assert f"{leather.name} is reckoned with your workshop's own values: middle thickness" in own
    assert "1 sheets left, buy again below 2" in own
    assert "pressed 120 times of the 100" in own
    thin = [re.search(r"thinnest +[\d.]+ %, likely ([\d.]+)-([\d.]+)", one) for one in told]
    widths = [float(one[2]) - float(one[1]) for one in thin if one]
    assert widths[1] <= widths[0]


def _own_book(path: Path) -> None:
    """A book whose hands sew half as long again as the catalogue, and whose kerf is 0.15 mm."""
    with Book(path) as opened:
        for k in range(8):
            day = date(2026, 3, k + 1)
            add_reading(
                opened,
                BenchReading(what="minutes", subject="sew", value=45, of=30, count=10, day=day),
            )
            add_reading(opened, BenchReading(what="kerf", subject="MDF 6 mm", value=0.15, day=day))


@pytest.fixture(scope="module")
def pouch_file(tmp_path_factory: pytest.TempPathFactory) -> str:
    spec = begin("flat-back pouch", built_in_catalogue(), name="Pouch")
    file = tmp_path_factory.mktemp("design") / "pouch.yaml"
    file.write_text(write_design(spec))
    return str(file)


@pytest.mark.slow
def test_a_price_by_a_book_is_that_of_its_hands_with_a_narrower_range(
    book: tuple[str, str],
    pouch_file: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _own_book(Path(book[1]))

    def price(*more: str) -> dict[str, Any]:
        words = ("price", pouch_file, "--json", *more)
        code, _, said = run(*words, capsys=capsys, monkeypatch=monkeypatch).partition("\n")
        assert code == "0", said
        figures: dict[str, Any] = json.loads(said)
        return figures

    plain, own = price(), price(*book)
    sew = [
        next(one["hands_on_minutes"] for one in each["steps"] if one["work"] == "sew")
        for each in (plain, own)
    ]
    assert sew[1] / sew[0] == pytest.approx(1.48, abs=0.03)
    assert own["price"]["gross_minor"] > plain["price"]["gross_minor"]
    for each in (plain, own):
        minutes, asked = each["likely"]["minutes"], each["likely"]["price"]
        total = sum(
            s["hands_on_minutes"] + s["set_up_minutes"] + s["break_minutes"] for s in each["steps"]
        )
        assert minutes["likely"] == pytest.approx(total / each["batch"])
        assert asked["likely"] == pytest.approx(each["price"]["gross_minor"])
        assert asked["low"] < asked["likely"] < asked["high"]
    wide, narrow = (
        each["likely"]["minutes"]["high"] / each["likely"]["minutes"]["low"]
        for each in (plain, own)
    )
    assert narrow < wide
    told = run("price", pouch_file, *book, capsys=capsys, monkeypatch=monkeypatch)
    assert "price, by how long the work is likely to take: " in told


def test_a_pack_by_a_book_is_made_of_its_own_values_and_says_so(
    book: tuple[str, str],
    pouch_file: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _own_book(Path(book[1]))
    with Book(Path(book[1])) as opened:
        change_rate(opened, "laser_speed", "7.5")
    asked: list[Any] = []

    def pack(spec: Any, *_: Any, **more: Any) -> Any:
        asked.append((spec, more))
        return {"index.html": b"x"}, article.Findings(remarks=more["told"], missing=())

    monkeypatch.setattr(article, "pack", pack)
    words = ("pack", pouch_file, "--out", str(tmp_path / "pack"))
    told = run(*words, *book, capsys=capsys, monkeypatch=monkeypatch)
    ((spec, more),) = asked
    assert spec.tooling.mould_board.kerf_mm == pytest.approx(0.15, abs=0.005)
    assert dict(more["believed"].boards)["MDF 6 mm"].interval("kerf_mm").high < 0.18
    assert more["choice"].rates.laser_speed == 7.5
    (sew,) = more["choice"].bench.times
    (usual,) = [row for row in built_in_times() if row.name == "sew"]
    assert sew.unit_minutes / usual.unit_minutes == pytest.approx(1.48, abs=0.03)
    assert "MDF 6 mm is reckoned with your workshop's own values: kerf 0.15 mm" in told
    assert "Wrote 1 files" in told


def test_a_plan_by_a_book_is_made_with_its_own_minutes_and_values(
    book: tuple[str, str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _own_book(Path(book[1]))
    with Book(Path(book[1])) as opened:
        change_rate(opened, "laser_speed", "7.5")
    asked: list[Any] = []

    def recipes_for(designs: Any, kinds: Any, workshop: Any, *_: Any, laser_speed: float) -> Any:
        asked.append((designs, workshop, laser_speed))
        raise RequestError("enough is known")

    monkeypatch.setattr(recipes, "recipes_for", recipes_for)
    orders = str(Path("examples/workshop/orders.yaml"))
    told = run("plan", orders, *book, capsys=capsys, monkeypatch=monkeypatch)
    assert "enough is known" in told
    ((designs, workshop, speed),) = asked
    assert speed == 7.5
    (sew,) = [row for row in workshop.bench.times if row.name == "sew"]
    (usual,) = [row for row in built_in_times() if row.name == "sew"]
    assert sew.unit_minutes / usual.unit_minutes == pytest.approx(1.48, abs=0.03)
    for spec in designs.values():
        assert spec.tooling.mould_board.kerf_mm == pytest.approx(0.15, abs=0.005)
    problem = run("plan", "--problem", orders, *book, capsys=capsys, monkeypatch=monkeypatch)
    assert problem.startswith("2\nhidewright: a problem reckoned with a book")


def test_a_plan_goes_by_times_of_its_file_then_typed_then_timed_ones(
    book: tuple[str, str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _own_book(Path(book[1]))
    for name in ("compass-pouch.yaml", "lens-case.yaml"):
        copy(Path("examples") / name, tmp_path)
    orders = tmp_path / "week" / "orders.yaml"
    orders.parent.mkdir()
    text = Path("examples/workshop/orders.yaml").read_text()
    orders.write_text(text.replace("  vises: 2", "  times: {soak: {load_minutes: 9}}\n  vises: 2"))
    asked: list[dict[str, WorkTime]] = []

    def recipes_for(designs: Any, kinds: Any, workshop: Workshop, *_: Any, **__: Any) -> Any:
        asked.append({row.name: row for row in workshop.bench.times})
        raise RequestError("enough is known")

    monkeypatch.setattr(recipes, "recipes_for", recipes_for)
    run("plan", str(orders), *book, capsys=capsys, monkeypatch=monkeypatch)
    typed = {"soak": {"load_minutes": 8.0}, "sew": {"unit_minutes": 0.9}}
    with Book(Path(book[1])) as opened:
        keep_workshop(opened, Workshop(bench=BenchChoice(times=own_times(typed))))
    run("plan", str(orders), *book, capsys=capsys, monkeypatch=monkeypatch)
    timed, by_hand = asked
    assert timed["soak"].load_minutes == by_hand["soak"].load_minutes == 9.0
    assert timed["sew"].source == "timed in this workshop"
    assert by_hand["sew"] == own_times(typed)[1]


def test_price_and_pack_by_a_book_go_by_what_is_typed_for_the_plan_of_that_design(
    book: tuple[str, str],
    pouch_file: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _own_book(Path(book[1]))
    design = "00000000-0000-4000-8000-000000000001"
    typed = own_times({"soak": {"load_minutes": 8.0}})
    stamped = OwnStep(what="add", step="stamp the mark", behind="soak pair of fronts", minutes=9.0)
    with Book(Path(book[1])) as opened:
        text = Path(pouch_file).read_text()
        add_design(opened, design, name="Pouch", text=text, when="2026-03-02T09:00:00+00:00")
        means = (Means(design=design, own_steps=(stamped,)),)
        keep_workshop(opened, Workshop(bench=BenchChoice(times=typed, air_C=15.0), means=means))
    asked: list[BenchChoice] = []

    def priced(*_: Any, bench: BenchChoice, **__: Any) -> Any:
        asked.append(bench)
        raise RequestError("enough is known")

    def packed(*_: Any, choice: PaperChoice, **__: Any) -> Any:
        return priced(bench=choice.bench)

    monkeypatch.setattr(price, "priced", priced)
    monkeypatch.setattr(article, "pack", packed)
    run("price", pouch_file, *book, capsys=capsys, monkeypatch=monkeypatch)
    out = str(tmp_path / "out")
    run("pack", pouch_file, "--out", out, *book, capsys=capsys, monkeypatch=monkeypatch)
    assert asked[0] == asked[1]
    (soak, sew) = asked[0].times
    assert (soak, sew.name) == (*typed, "sew")
    assert asked[0] == BenchChoice(times=(soak, sew), air_C=15.0, own_steps=(stamped,))


def test_of_designs_of_one_name_the_one_that_is_the_file_counts_or_none_is_chosen(
    tmp_path: Path,
) -> None:
    path, shelf = tmp_path / "own.sqlite", built_in_catalogue()
    spec = begin("open tray", shelf, name="Tray")
    deeper, other = (edited(spec, "measures.depth", text, shelf) for text in ("20 mm", "30 mm"))
    ids = [f"00000000-0000-4000-8000-00000000000{k}" for k in (1, 2)]
    steps = [OwnStep(what="add", step=s, behind="soak tray", minutes=9.0) for s in ("mark", "oil")]
    with Book(path, new=True) as book:
        for id, kept in zip(ids, (spec, deeper), strict=True):
            add_design(
                book, id, name="Tray", text=write_design(kept), when="2026-03-02T12:00:00+00:00"
            )
        means = tuple(Means(design=i, own_steps=(s,)) for i, s in zip(ids, steps, strict=True))
        keep_workshop(book, Workshop(means=means))

    def steps_of(asked: Specification[Any]) -> tuple[OwnStep, ...]:
        return reckoned_by(path, asked, lambda _: NOTHING).bench.own_steps

    assert [steps_of(asked) for asked in (spec, deeper)] == [(one,) for one in steps]
    with pytest.raises(RequestError, match=r"2 designs in the book are called 'Tray'.*Rename"):
        steps_of(other)
    with Book(path, new=False) as book:
        keep_workshop(book, Workshop())
    assert steps_of(other) == ()


def test_a_time_told_by_own_values_is_kept_as_the_catalogue_would_have_told_it(
    book: tuple[str, str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _own_book(Path(book[1]))

    def told(*words: str) -> str:
        return run(*words, *book, capsys=capsys, monkeypatch=monkeypatch)

    add = ("book", "add", "minutes", "--subject", "sew", "--value", "44", "--of", "44", "--count")
    told(*add, "10", "--own")
    rows = json.loads(told("book", "readings", "--json").partition("\n")[2])
    assert list(rows.values())[-1]["of"] == pytest.approx(44 / 1.48, abs=0.7)
