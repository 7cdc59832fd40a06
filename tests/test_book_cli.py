"""The book on the command line: readings in, what is known out, test pieces on the disk."""

import json
import sys
from pathlib import Path

import pytest

from hidewright.cli import main


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
