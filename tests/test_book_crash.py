"""Killed programs, several programs and several threads: no edit that was made is lost."""

import random
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest

from hidewright.errors import RequestError
from hidewright.store.book import Book
from hidewright.store.book_designs import add_design, design_of
from hidewright.store.book_settings import put_setting, setting
from hidewright.store.book_versions import (
    Conflict,
    save_version,
    text_of,
    versions,
)

WHEN = "2026-11-25T21:14:03+01:00"
DESIGN = "6f1c7c1e-5b0a-4a53-9d0c-2f6f2b3f7a11"

#: Edit n saves a version with the text n when n is even, and a setting when it is odd; every tenth
#: is followed by a backup. Each is told of once it is made.
WRITER = f"""
import itertools, sys
from pathlib import Path
from hidewright.store.book import Book
from hidewright.store.book_settings import put_setting
from hidewright.store.book_versions import save_version
book = Book(Path(sys.argv[1]))
print("open", flush=True)
for n in itertools.count(int(sys.argv[2])):
    if n % 2:
        put_setting(book, "edit", n)
    else:
        save_version(book, "{DESIGN}", text=str(n) * 2000, parent=n // 2, when="{WHEN}", why="")
    print(n, flush=True)
    if n % 10 == 0:
        book.back_up()
"""

#: Saves versions, each made from whatever version is current, until so many are in.
EDITOR = f"""
import sys
from pathlib import Path
from hidewright.store.book import Book
from hidewright.store.book_designs import design_of
from hidewright.store.book_versions import Conflict, save_version
name, edits = sys.argv[2], int(sys.argv[3])
book = Book(Path(sys.argv[1]))
print("open", flush=True)
sys.stdin.readline()
parent = 1
for n in range(edits):
    while isinstance(
        got := save_version(
            book, "{DESIGN}", text=f"{{name}} {{n}}", parent=parent, when="{WHEN}", why=name
        ),
        Conflict,
    ):
        parent = got.current
    parent = got
book.close()
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "book.sqlite"
    with Book(path) as book:
        add_design(book, DESIGN, name="Pouch", text="0", when=WHEN)
        put_setting(book, "edit", -1)
    return path


def _edits(book: Book) -> int:
    """Return how many edits of WRITER the book holds, all of them and whole."""
    kept = versions(book, DESIGN)
    assert [v.number for v in kept] == list(range(1, len(kept) + 1))
    for v in kept[1:]:
        assert text_of(book, DESIGN, v.number) == str(2 * (v.number - 1)) * 2000
    assert design_of(book, DESIGN).current == len(kept)
    even, odd = 2 * (len(kept) - 1), setting(book, "edit")
    assert isinstance(odd, int)
    assert abs(even - odd) == 1
    return max(even, odd)


@pytest.mark.parametrize("kills", [30, pytest.param(200, marks=pytest.mark.sweep)])
def test_a_killed_program_loses_at_most_the_edit_in_flight(path: Path, kills: int) -> None:
    draw = random.Random(kills)
    done = 0
    for _ in range(kills):
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path), str(done + 1)],
            stdout=subprocess.PIPE,
            text=True,
        ) as writer:
            assert writer.stdout is not None
            assert writer.stdout.readline() == "open\n"
            told = [writer.stdout.readline() for _ in range(draw.randrange(4))]
            time.sleep(draw.uniform(0.0, 0.01))  # somewhere in the next edit
            writer.kill()
            told += writer.stdout.read().rpartition("\n")[0].split()
        last = int(told[-1]) if told else done
        with closing(sqlite3.connect(path)) as look:
            assert look.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert look.execute("PRAGMA foreign_key_check").fetchall() == []
        with Book(path) as book:
            done = _edits(book)
        assert done in (last, last + 1)
    assert done > kills, "the writers did write"


@pytest.mark.parametrize("edits", [200, pytest.param(1000, marks=pytest.mark.sweep)])
def test_two_programs_on_one_design_lose_no_edit(path: Path, edits: int) -> None:
    editors = [
        subprocess.Popen(
            [sys.executable, "-c", EDITOR, str(path), name, str(edits)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        for name in ("left", "right")
    ]
    for editor in editors:
        assert editor.stdout is not None
        assert editor.stdout.readline() == "open\n"
    for editor in editors:
        assert editor.stdin is not None
        editor.stdin.write("begin\n")
        editor.stdin.flush()
    for editor in editors:
        editor.communicate()
    assert [editor.returncode for editor in editors] == [0, 0]
    with Book(path) as book:
        kept = versions(book, DESIGN)
        # each was made from the one before it: nobody wrote over what he had not seen
        assert [(v.number, v.parent) for v in kept[1:]] == [
            (n, n - 1) for n in range(2, 2 * edits + 2)
        ]
        texts = [text_of(book, DESIGN, v.number) for v in kept[1:]]
    for name in ("left", "right"):
        assert [t for t in texts if t.startswith(name)] == [f"{name} {n}" for n in range(edits)]


def test_several_threads_share_a_book(path: Path) -> None:
    wrong: list[BaseException] = []

    def edit(book: Book, name: str) -> None:
        try:
            parent = 1
            for n in range(50):
                while isinstance(
                    got := save_version(
                        book, DESIGN, text=f"{name} {n}", parent=parent, when=WHEN, why=name
                    ),
                    Conflict,
                ):
                    parent = got.current
                parent = got
                put_setting(book, name, n)
                assert setting(book, name) == n
        except BaseException as error:
            wrong.append(error)

    with Book(path) as book:
        threads = [threading.Thread(target=edit, args=(book, str(i))) for i in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert wrong == []
        kept = versions(book, DESIGN)
        texts = sorted(text_of(book, DESIGN, v.number) for v in kept[1:])
        assert texts == sorted(f"{i} {n}" for i in range(4) for n in range(50))


def test_several_programs_may_begin_one_book_at_once(tmp_path: Path) -> None:
    path = tmp_path / "new" / "book.sqlite"
    work = (
        "import sys; from pathlib import Path; from hidewright.store.book import Book\n"
        "from hidewright.store.book_settings import put_setting\n"
        "sys.stdin.readline()\n"
        "with Book(Path(sys.argv[1])) as book: put_setting(book, sys.argv[2], 1)"
    )
    beginners = [
        subprocess.Popen([sys.executable, "-c", work, str(path), str(i)], stdin=subprocess.PIPE)
        for i in range(6)
    ]
    for one in beginners:
        one.communicate(b"\n")
    assert [one.returncode for one in beginners] == [0] * 6
    with Book(path) as book:
        assert [setting(book, str(i)) for i in range(6)] == [1] * 6


def test_a_design_that_another_program_purged_is_told_in_words(path: Path) -> None:
    with Book(path) as book, Book(path) as other:
        with other.writing() as connection:
            connection.execute("DELETE FROM design")
        with pytest.raises(RequestError, match="no longer in the book"):
            save_version(book, DESIGN, text="", parent=1, when=WHEN, why="")
