"""The whole book in one archive and back; the round trip of any book is in test_book_model."""

import json
import zipfile
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as trying
from hypothesis import strategies as st

from hidewright.errors import RequestError
from hidewright.store import book_archive, book_schema
from hidewright.store.book import Book
from hidewright.store.book_archive import ROWS, book_export, book_import
from hidewright.store.book_backups import backups
from hidewright.store.book_changes import changes_since
from hidewright.store.book_designs import add_design, list_designs
from hidewright.store.book_settings import put_setting, settings
from hidewright.store.book_versions import save_version, text_of
from hidewright.store.write_pack import zip_bytes
from run_here import run

WHEN = "2026-11-25T21:14:03+01:00"
POUCH = "6f1c7c1e-5b0a-4a53-9d0c-2f6f2b3f7a11"


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    book = Book(tmp_path / "book.sqlite")
    add_design(book, POUCH, name="Pouch", text="depth: 11 mm\r\n", when=WHEN)
    save_version(book, POUCH, text="depth: 12 mm — ½ in\n", parent=1, when=WHEN, why="deeper")
    put_setting(book, "unit", "mm")
    yield book
    book.close()


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Book]:
    with Book(tmp_path / "empty.sqlite") as book:
        yield book


def _with_rows(data: bytes, change: Callable[[Any], object]) -> bytes:
    """Return an archive whose rows were changed."""
    with zipfile.ZipFile(BytesIO(data)) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    rows = json.loads(files[ROWS])
    change(rows)
    return zip_bytes(files | {ROWS: json.dumps(rows).encode()})


def test_the_texts_in_an_archive_are_design_files(book: Book) -> None:
    with zipfile.ZipFile(BytesIO(book_export(book))) as archive:
        assert sorted(archive.namelist()) == [
            ROWS,
            f"designs/{POUCH}/000001.yaml",
            f"designs/{POUCH}/000002.yaml",
        ]
        for number in (1, 2):
            text = archive.read(f"designs/{POUCH}/00000{number}.yaml").decode()
            assert text == text_of(book, POUCH, number)


def test_every_table_is_in_the_archive(book: Book) -> None:
    with zipfile.ZipFile(BytesIO(book_export(book))) as archive:
        tables = set(json.loads(archive.read(ROWS))["tables"])
    with book.reading() as connection:
        found = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        assert tables == {name for (name,) in found} - {"change", "sqlite_sequence"}


def test_work_in_the_book_is_replaced_only_when_that_is_meant_and_after_a_backup(
    book: Book, empty: Book
) -> None:
    mine = book_export(book)
    with pytest.raises(RequestError, match="work in the book"):
        book_import(book, book_export(empty))
    assert book_export(book) == mine
    before = changes_since(book, 0).counter
    book_import(book, book_export(empty), replace=True)
    assert list_designs(book) == ()
    assert changes_since(book, before).designs == {POUCH}, "other windows see it"
    with Book(backups(book.path)[-1]) as kept:
        assert book_export(kept) == mine


def test_an_archive_of_an_older_book_is_brought_up_to_date(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = book_export(book)
    later = (
        "ALTER TABLE setting RENAME COLUMN value TO said",
        "CREATE TABLE hide (name TEXT, lot TEXT)",
        "INSERT INTO hide SELECT name, 'none' FROM design",
    )
    monkeypatch.setattr(book_schema, "MIGRATIONS", (*book_schema.MIGRATIONS, later))
    with Book(tmp_path / "newer.sqlite") as newer:
        book_import(newer, data)
        with newer.reading() as connection:
            assert connection.execute("SELECT * FROM hide").fetchall() == [("Pouch", "none")]
            assert connection.execute("SELECT * FROM setting").fetchall() == [("unit", '"mm"')]


WRONG: dict[str, tuple[Callable[[Any], object], str]] = {
    "a newer book": (lambda rows: rows.update(schema=99), "of a book of version 99"),
    "no number": (lambda rows: rows.update(schema="1"), "no whole archive"),
    "another table": (lambda rows: rows["tables"].update(sqlite_master=[]), "no whole archive"),
    "a missing table": (lambda rows: rows["tables"].pop("setting"), "no whole archive"),
    "a missing text": (lambda rows: rows["tables"]["version"][0].update(number=9), "no whole"),
    "another column": (lambda rows: rows["tables"]["setting"][0].update(x=1), "no whole archive"),
    "a missing column": (lambda rows: rows["tables"]["design"][0].pop("name"), "no whole archive"),
    "no current version": (lambda rows: rows["tables"]["design"][0].update(current=7), "no whole"),
    "no design": (lambda rows: rows["tables"]["design"].clear(), "no whole archive"),
    "a wrong time": (lambda rows: rows["tables"]["version"][0].update(saved="now"), "no whole"),
    "a value of no sort": (lambda rows: rows["tables"]["design"][0].update(name=[]), "no whole"),
    "no JSON": (lambda rows: rows["tables"]["setting"][0].update(value="{"), "no whole archive"),
}


@pytest.mark.parametrize("name", WRONG)
def test_an_archive_that_was_tampered_with_is_refused(book: Book, empty: Book, name: str) -> None:
    change, said = WRONG[name]
    with pytest.raises(RequestError, match=said):
        book_import(empty, _with_rows(book_export(book), change))
    assert (list_designs(empty), settings(empty)) == ((), {})


@trying(
    max_examples=200,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(where=st.floats(0, 1, exclude_max=True), byte=st.integers(1, 255), cut=st.booleans())
def test_an_archive_with_a_wrong_byte_or_cut_short_is_refused_or_is_the_same(
    book: Book, empty: Book, where: float, byte: int, cut: bool
) -> None:
    data = bytearray(book_export(book))
    at = int(where * len(data))
    data[at] ^= byte
    try:
        book_import(empty, bytes(data[:at] if cut else data), replace=True)
    except RequestError:
        return
    # some bytes of a zip, such as its times and rights, mean nothing here
    assert not cut
    assert book_export(empty) == book_export(book)


def test_a_bomb_is_refused(book: Book, empty: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(book_archive, "LARGEST_BYTES", 500)
    with pytest.raises(RequestError, match="MB"):
        book_import(empty, book_export(book))


# -- the command line -----------------------------------------------------------------------------


def test_a_book_is_moved_by_two_commands(
    book: Book, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, other = tmp_path / "all.zip", tmp_path / "other" / "book.sqlite"
    assert run("book", "export", file, "--book", book.path) == 0
    assert run("book", "import", file, "--book", other) == 0
    with Book(other) as moved:
        assert book_export(moved) == book_export(book) == file.read_bytes()
    assert run("book", "export", file, "--book", other) == 2
    assert run("book", "import", file, "--book", other) == 2
    assert "--replace" in capsys.readouterr().err
    assert run("book", "export", file, "--book", other, "--replace") == 0
    assert run("book", "import", file, "--book", other, "--replace") == 0
    assert run("book", "export", tmp_path / "x.zip", "--book", tmp_path / "none.sqlite") == 2
    assert not (tmp_path / "none.sqlite").exists()


def test_a_damaged_book_is_put_back_by_the_command_it_names(
    book: Book, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mine = book_export(book)
    book.back_up()
    book.close()
    book.path.write_bytes(b"spoilt")
    assert run("book", "export", tmp_path / "x.zip", "--book", book.path) == 2
    assert "hidewright book restore" in capsys.readouterr().err
    assert run("book", "restore", "--book", book.path) == 0
    assert "book-damaged-1.sqlite" in capsys.readouterr().out
    with Book(book.path) as again:
        assert book_export(again) == mine
