"""The book's file: begun, brought up to date, found damaged, put back; nothing is written over."""

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from pathlib import Path

import pytest

from hidewright.errors import RequestError
from hidewright.store import book_backups, book_faults, book_schema
from hidewright.store.book import Book, default_path
from hidewright.store.book_backups import backups, last_good, restore_last_backup
from hidewright.store.book_designs import add_design, design_of, list_designs, rename
from hidewright.store.book_faults import DamagedBookError
from hidewright.store.book_settings import put_setting, setting, settings
from hidewright.store.book_versions import save_version, text_of, versions

WHEN = "2026-11-25T21:14:03+01:00"
POUCH = "6f1c7c1e-5b0a-4a53-9d0c-2f6f2b3f7a11"

_FIRST = """
    PRAGMA application_id = 1212761157;
    CREATE TABLE design (
        id TEXT NOT NULL PRIMARY KEY CHECK (id <> ''),
        name TEXT NOT NULL,
        created TEXT NOT NULL,
        changed TEXT NOT NULL,
        archived INTEGER NOT NULL DEFAULT 0 CHECK (archived IN (0, 1)),
        deleted INTEGER NOT NULL DEFAULT 0 CHECK (deleted IN (0, 1)),
        current INTEGER NOT NULL,
        FOREIGN KEY (id, current) REFERENCES version (design, number)
            DEFERRABLE INITIALLY DEFERRED
    );
    CREATE TABLE version (
        design TEXT NOT NULL REFERENCES design (id) ON DELETE CASCADE,
        number INTEGER NOT NULL,
        parent INTEGER,
        text TEXT NOT NULL,
        saved TEXT NOT NULL,
        why TEXT NOT NULL,
        PRIMARY KEY (design, number),
        FOREIGN KEY (design, parent) REFERENCES version (design, number)
            DEFERRABLE INITIALLY DEFERRED
    );
    CREATE INDEX version_by_parent ON version (design, parent);
    CREATE TABLE setting (key TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL);
    CREATE TABLE change (
        counter INTEGER PRIMARY KEY AUTOINCREMENT,
        kind TEXT NOT NULL,
        key TEXT NOT NULL,
        UNIQUE (kind, key)
    );
    INSERT INTO design VALUES ('pouch', 'Pouch', '2026-01-02T03:04:05+00:00',
        '2026-01-03T03:04:05+00:00', 0, 0, 2);
    INSERT INTO version VALUES
        ('pouch', 1, NULL, 'kind: pouch', '2026-01-02T03:04:05+00:00', 'new'),
        ('pouch', 2, 1, 'kind: pouch 2', '2026-01-03T03:04:05+00:00', 'deeper');
    INSERT INTO setting VALUES ('unit', '"mm"');
    PRAGMA user_version = 1;
    """
#: How each version of the book was made, kept as it was.
KEPT_SCHEMAS = (
    _FIRST,
    f"""{_FIRST}
    CREATE TABLE kept (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        kind TEXT NOT NULL CHECK (kind <> ''),
        id TEXT NOT NULL CHECK (id <> ''),
        body TEXT NOT NULL CHECK (json_valid(body)),
        UNIQUE (kind, id)
    );
    PRAGMA user_version = 2;
    """,
)

KEPT = len(KEPT_SCHEMAS)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "shop" / "book.sqlite"


@pytest.fixture
def begun(path: Path) -> Path:
    """Return a book with one design of two versions, and one backup of its first."""
    with Book(path) as book:
        add_design(book, POUCH, name="Pouch", text="depth: 11 mm", when=WHEN)
        book.back_up()
        save_version(book, POUCH, text="depth: 12 mm", parent=1, when=WHEN, why="deeper")
    return path


@pytest.fixture
def lead_on(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Return what adds migrations to those there are."""

    def add(*migrations: tuple[str, ...]) -> None:
        monkeypatch.setattr(book_schema, "MIGRATIONS", (*book_schema.MIGRATIONS, *migrations))

    return add


def _files(folder: Path) -> dict[str, bytes]:
    """Return the files below a folder, without what readers leave: an empty log and its index."""
    return {
        str(p.relative_to(folder)): p.read_bytes()
        for p in folder.rglob("*")
        if p.is_file() and not p.name.endswith("-shm") and p.stat().st_size
    }


def _with_log(path: Path) -> None:
    """Leave a book as a killed program does: its last edit in the log, not yet in the file."""
    work = (
        "import os, sys; from pathlib import Path\n"
        "from hidewright.store.book import Book\n"
        "from hidewright.store.book_settings import put_setting\n"
        "book = Book(Path(sys.argv[1])); put_setting(book, 'left', True); os._exit(0)"
    )
    subprocess.run([sys.executable, "-c", work, str(path)], check=True)
    assert path.with_name(path.name + "-wal").stat().st_size > 0


# -- opening --------------------------------------------------------------------------------------


def test_after_closing_and_opening_all_is_as_it_was(begun: Path) -> None:
    with Book(begun) as book:
        assert [(d.id, d.name, d.current) for d in list_designs(book)] == [(POUCH, "Pouch", 2)]
        assert [v.why for v in versions(book, POUCH)] == ["new", "deeper"]
        assert text_of(book, POUCH, 2) == "depth: 12 mm"


def test_the_book_lies_in_the_users_data_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("platformdirs.user_data_dir", lambda name: f"/data/{name}")
    assert default_path() == Path("/data/hidewright/book.sqlite")


def test_each_edit_is_on_the_disk_and_references_are_kept(begun: Path) -> None:
    with Book(begun) as book, book.reading() as connection:
        for pragma, value in (("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1)):
            assert connection.execute(f"PRAGMA {pragma}").fetchone() == (value,)


def test_a_current_version_that_is_not_there_cannot_be_written(begun: Path) -> None:
    with Book(begun) as book:
        with pytest.raises(sqlite3.IntegrityError), book.writing() as connection:
            connection.execute("UPDATE design SET current = 7")
        assert design_of(book, POUCH).current == 2


def test_a_time_without_its_offset_is_refused(begun: Path) -> None:
    with Book(begun) as book:
        for when in ("2026-11-25", "2026-11-25T21:14:03", "2026-25-11T21:14:03+00:00", "now"):
            with pytest.raises(sqlite3.IntegrityError):
                rename(book, POUCH, name="later", when=when)
        assert design_of(book, POUCH).name == "Pouch"


def test_an_edit_that_fails_half_way_leaves_nothing(begun: Path) -> None:
    with Book(begun) as book:
        with suppress(ZeroDivisionError), book.writing() as connection:
            connection.execute("UPDATE design SET name = 'half'")
            raise ZeroDivisionError
        assert design_of(book, POUCH).name == "Pouch"


# -- bringing up to date --------------------------------------------------------------------------


@pytest.mark.parametrize("version", range(1, len(KEPT_SCHEMAS) + 1))
def test_a_book_of_each_earlier_version_opens_with_all_that_was_in_it(
    path: Path, version: int
) -> None:
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as old:
        old.executescript(KEPT_SCHEMAS[version - 1])
    with Book(path) as book:
        (design,) = list_designs(book)
        assert (design.id, design.name, design.current) == ("pouch", "Pouch", 2)
        assert [text_of(book, "pouch", v.number) for v in versions(book, "pouch")] == [
            "kind: pouch",
            "kind: pouch 2",
        ]
        assert settings(book) == {"unit": "mm"}
        with book.reading() as connection:
            assert book_schema.version_of(connection) == book_schema.newest()


def test_there_is_a_kept_book_of_each_version() -> None:
    assert len(KEPT_SCHEMAS) == book_schema.newest()


def test_a_book_is_backed_up_and_then_brought_up_to_date(
    begun: Path, lead_on: Callable[..., None]
) -> None:
    lead_on(("CREATE TABLE hide (name TEXT)",), ("INSERT INTO hide VALUES ('first')",))
    with Book(begun) as book:
        assert text_of(book, POUCH, 2) == "depth: 12 mm"
        with book.reading() as connection:
            assert connection.execute("SELECT name FROM hide").fetchall() == [("first",)]
            assert book_schema.version_of(connection) == KEPT + 2
    assert len(backups(begun)) == 2
    assert book_faults.look_at(backups(begun)[-1], still=True) == KEPT
    Book(begun).close()
    assert len(backups(begun)) == 2, "a book that is up to date is not backed up again"


def test_a_migration_that_fails_leaves_the_book_as_the_one_before_left_it(
    begun: Path, lead_on: Callable[..., None]
) -> None:
    lead_on(("CREATE TABLE hide (name TEXT)",), ("DELETE FROM setting", "INSERT INTO nowhere"))
    with closing(sqlite3.connect(begun)) as before:
        before.execute("INSERT INTO setting VALUES ('unit', '\"mm\"')")
        before.commit()
    with pytest.raises(sqlite3.OperationalError, match="incomplete input"):
        Book(begun)
    assert book_faults.look_at(begun) == KEPT + 1
    with closing(sqlite3.connect(begun)) as after:
        assert after.execute("SELECT value FROM setting").fetchall() == [('"mm"',)]


def test_a_migration_that_breaks_a_reference_is_not_kept(
    begun: Path, lead_on: Callable[..., None]
) -> None:
    lead_on(("DELETE FROM version WHERE number = 2",))
    with pytest.raises(ValueError, match="design points at no row of version"):
        Book(begun)
    assert book_faults.look_at(begun) == KEPT


def test_a_book_of_a_newer_program_is_refused_and_left_alone(begun: Path) -> None:
    with closing(sqlite3.connect(begun)) as newer:
        newer.execute(f"PRAGMA user_version = {KEPT + 1}")
    before = _files(begun.parent)
    with pytest.raises(RequestError, match="a newer hidewright wrote it"):
        Book(begun)
    assert _files(begun.parent) == before


def test_a_newer_program_that_comes_in_between_stops_the_older_one(
    begun: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Book(begun) as older:
        with monkeypatch.context() as newer:
            newer.setattr(book_schema, "MIGRATIONS", (*book_schema.MIGRATIONS, ("SELECT 1",)))
            Book(begun).close()
        with pytest.raises(RequestError, match="a newer hidewright wrote it"):
            put_setting(older, "unit", "in")
        with pytest.raises(RequestError, match="a newer hidewright wrote it"):
            setting(older, "unit")


def test_another_programs_file_is_no_book(path: Path) -> None:
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE songs (name TEXT)")
    before = _files(path.parent)
    with pytest.raises(RequestError, match="no book of hidewright"):
        Book(path)
    assert _files(path.parent) == before


# -- backups --------------------------------------------------------------------------------------


def test_the_last_ten_backups_are_kept(begun: Path) -> None:
    with Book(begun) as book:
        for number in range(2, 14):
            put_setting(book, "number", number)
            assert book.back_up() == backups(begun)[-1]
    kept = backups(begun)
    assert [p.name for p in kept] == [f"book-{n:04d}.sqlite" for n in range(4, 14)]
    with closing(sqlite3.connect(kept[0])) as oldest:
        assert oldest.execute("SELECT value FROM setting").fetchall() == [("4",)]
    assert sorted(p.name for p in (begun.parent / "backups").iterdir()) == [p.name for p in kept]


def test_a_backup_holds_what_is_only_in_the_log(begun: Path) -> None:
    _with_log(begun)
    with Book(begun) as book:
        book.back_up()
    begun.unlink()
    restore_last_backup(begun)
    with Book(begun) as book:
        assert setting(book, "left") is True
        assert text_of(book, POUCH, 2) == "depth: 12 mm"


def test_a_damaged_book_is_not_backed_up_over_good_backups(begun: Path) -> None:
    with Book(begun) as book:
        for _ in range(book_backups.KEPT):
            book.back_up()
        good = _files(begun.parent / "backups")
        with closing(sqlite3.connect(begun)) as behind:
            behind.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        _overwrite_pages(begun)
        with pytest.raises(DamagedBookError):
            book.back_up()
    left = {n: d for n, d in _files(begun.parent / "backups").items() if not n.endswith(".part")}
    assert left == good


# -- damage ---------------------------------------------------------------------------------------


def _overwrite_pages(path: Path) -> None:
    data = bytearray(path.read_bytes())
    data[4096:] = b"\xa5" * (len(data) - 4096)
    path.write_bytes(data)


def _overwrite_all(path: Path) -> None:
    path.write_bytes(b"\xa5" * path.stat().st_size)


def _cut_in_half(path: Path) -> None:
    os.truncate(path, path.stat().st_size // 2)


def _cut_to_nothing(path: Path) -> None:
    os.truncate(path, 0)


def _spoil_format(path: Path) -> None:
    data = bytearray(path.read_bytes())
    data[44:48] = (99).to_bytes(4, "big")  # the schema format number of SQLite's header
    path.write_bytes(data)


def _take_away(path: Path) -> None:
    path.unlink()


DAMAGES = (
    _overwrite_pages,
    _overwrite_all,
    _cut_in_half,
    _cut_to_nothing,
    _spoil_format,
    _take_away,
)


@pytest.mark.parametrize("damage", DAMAGES)
@pytest.mark.parametrize("log", [False, True])
def test_damage_is_found_the_last_good_backup_named_and_nothing_written_over(
    begun: Path, damage: Callable[[Path], None], log: bool
) -> None:
    good = begun.parent / "backups" / "book-0001.sqlite"
    shutil.copy(good, good.with_name("book-0002.sqlite"))
    _overwrite_all(good.with_name("book-0002.sqlite"))
    if log and damage is not _take_away:
        _with_log(begun)
    damage(begun)
    before = _files(begun.parent)
    with pytest.raises(DamagedBookError, match=r"book-0001\.sqlite") as caught:
        Book(begun)
    assert caught.value.backup == good
    assert _files(begun.parent) == before


@pytest.mark.parametrize("damage", DAMAGES)
def test_the_last_good_backup_is_put_back_and_the_damaged_file_kept(
    begun: Path, damage: Callable[[Path], None]
) -> None:
    damage(begun)
    before = begun.read_bytes() if begun.exists() else None
    backup, aside = restore_last_backup(begun)
    assert backup == backups(begun)[-1]
    assert (aside.read_bytes() if aside else None) == before
    with Book(begun) as book:
        assert [v.why for v in versions(book, POUCH)] == ["new"]
    damage(begun)
    _, second = restore_last_backup(begun)
    assert second is None or second != aside, "what was put aside is not written over"


def test_the_log_of_the_damaged_book_goes_with_it(begun: Path) -> None:
    _with_log(begun)
    log = begun.with_name("book.sqlite-wal").read_bytes()
    _, aside = restore_last_backup(begun)
    assert aside is not None
    assert aside.with_name(aside.name + "-wal").read_bytes() == log
    with Book(begun) as book:
        assert setting(book, "left") is None, "the old log was not read into the backup"


@pytest.mark.parametrize("step", range(4))
def test_restoring_that_is_stopped_at_any_step_can_be_done_again(
    begun: Path, monkeypatch: pytest.MonkeyPatch, step: int
) -> None:
    _with_log(begun)  # a sound book: without its log it would open and lack its last edit
    taken = iter(range(10))

    def stopped(real: Callable[[Path, Path], Path]) -> Callable[[Path, Path], Path]:
        def move(self: Path, target: Path) -> Path:
            if next(taken) == step:
                raise KeyboardInterrupt
            return real(self, target)

        return move

    with monkeypatch.context() as killed:
        killed.setattr(Path, "rename", stopped(Path.rename))
        killed.setattr(Path, "replace", stopped(Path.replace))
        with pytest.raises(KeyboardInterrupt):
            restore_last_backup(begun)
    if step == 0:
        with Book(begun) as book:
            assert setting(book, "left") is True, "whole as it was"
    else:
        with pytest.raises(DamagedBookError):
            Book(begun)
    restore_last_backup(begun)
    with Book(begun) as book:
        assert [v.why for v in versions(book, POUCH)] == ["new"]
        assert settings(book) == {}


def test_without_a_good_backup_nothing_is_touched(begun: Path) -> None:
    for one in backups(begun):
        _overwrite_all(one)
    _overwrite_all(begun)
    before = _files(begun.parent)
    with pytest.raises(DamagedBookError, match="no good backup") as caught:
        Book(begun)
    assert caught.value.backup is None
    with pytest.raises(RequestError, match="no good backup"):
        restore_last_backup(begun)
    assert last_good(begun) is None
    assert _files(begun.parent) == before


def test_damage_that_comes_while_the_book_is_open_is_told_in_words(begun: Path) -> None:
    with Book(begun) as book:
        with closing(sqlite3.connect(begun)) as behind:
            behind.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        _overwrite_pages(begun)
        with pytest.raises(DamagedBookError, match=r"book-0001\.sqlite"):
            text_of(book, POUCH, 2)


# -- a disk or a program that does not let us -----------------------------------------------------


@pytest.fixture
def for_all() -> Iterator[Path]:
    """Return a folder that every user may enter."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


@pytest.mark.skipif(os.name == "nt", reason="rights of folders are set otherwise on Windows")
@pytest.mark.parametrize("there", [False, True])
def test_a_folder_that_may_not_be_written_is_told_in_words(for_all: Path, there: bool) -> None:
    path = for_all / "book.sqlite"
    if there:
        Book(path).close()
    for_all.chmod(0o555)
    before = _files(for_all)
    work = (
        # parts of Python that it takes later may lie where the other user cannot read
        "import os, sys, urllib.parse; from pathlib import Path\n"
        "from hidewright.errors import RequestError\n"
        "from hidewright.store.book import Book\n"
        # the administrator may write anywhere, so another user tries
        "if os.geteuid() == 0: os.setgroups([]); os.setgid(65534); os.setuid(65534)\n"
        "try: Book(Path(sys.argv[1]))\n"
        "except RequestError as refused: print(refused)\n"
    )
    said = subprocess.run(
        [sys.executable, "-c", work, str(path)], capture_output=True, text=True, check=True
    )
    assert "cannot be opened or written" in said.stdout
    assert _files(for_all) == before
    for_all.chmod(0o755)


def test_a_place_that_is_no_folder_or_no_file_is_told_in_words(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine")
    for path in (tmp_path / "file" / "book.sqlite", tmp_path):
        with pytest.raises(RequestError, match="cannot be opened or written"):
            Book(path)
    with pytest.raises(RequestError, match="there is no book"):
        Book(tmp_path / "none" / "book.sqlite", new=False)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["file"]


def test_a_program_that_holds_the_book_is_told_of_in_words(
    begun: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("hidewright.store.book.PATIENCE_S", 0.05)
    with Book(begun) as book, closing(sqlite3.connect(begun)) as holding:
        holding.execute("BEGIN IMMEDIATE")
        with pytest.raises(RequestError, match="is in use"):
            put_setting(book, "unit", "in")
        assert setting(book, "unit", "mm") == "mm", "reading goes on"


def test_what_is_lent_when_a_book_is_closed_is_closed_as_it_comes_back(tmp_path: Path) -> None:
    book = Book(tmp_path / "book.sqlite")
    with book.writing() as lent:
        book.close()
        lent.execute("INSERT INTO setting VALUES ('unit', '\"mm\"')")
    with pytest.raises(sqlite3.ProgrammingError, match="closed"):
        lent.execute("SELECT 1")
    with Book(book.path) as again:
        assert setting(again, "unit") == "mm"
