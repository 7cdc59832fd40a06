"""The book on the command line: readings in, what is known out, test pieces on the disk."""

import json
import re
import sys
from datetime import date
from pathlib import Path

import pytest

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.cli import main
from hidewright.design.bench_reading import BenchReading
from hidewright.design.stock_item import StockItem, ToolingSet
from hidewright.store.book import Book
from hidewright.store.book_designs import add_design
from hidewright.store.book_readings import add_reading
from hidewright.store.book_stock import keep_item
from hidewright.store.book_tooling import keep_tooling
from hidewright.store.write_design import write_design
from hidewright.workshop.begin import begin


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
    assert run(*words, capsys=capsys, monkeypatch=monkeypatch).startswith("0\nWrote 18 files")
    assert len(list(out.iterdir())) == 18
    again = run(*words, capsys=capsys, monkeypatch=monkeypatch)
    assert again.startswith("2\n")
    assert "already there" in again


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
