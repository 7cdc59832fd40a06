"""The book does what a plain dict would, whatever is asked of it and in whatever order."""

import json
import shutil
import tempfile
import uuid
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    consumes,
    initialize,
    invariant,
    multiple,
    rule,
)

from hidewright.errors import RequestError
from hidewright.store import book_designs, book_settings
from hidewright.store.book import Book
from hidewright.store.book_archive import book_export, book_import
from hidewright.store.book_changes import changes_since
from hidewright.store.book_designs import KeptDesign
from hidewright.store.book_versions import (
    Conflict,
    Version,
    save_version,
    set_current,
    text_of,
    thin,
    versions,
)

OFFSETS = st.sampled_from((-7.0, 0.0, 1.0, 5.75)).map(lambda h: timezone(timedelta(hours=h)))
TIMES = st.builds(
    lambda second, zone: datetime(2026, 11, 20, tzinfo=zone) + timedelta(seconds=second),
    st.integers(0, 5 * 86_400),
    OFFSETS,
).map(datetime.isoformat)
TEXTS = st.text(max_size=40)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
    | TEXTS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
    max_leaves=5,
)  # fmt: skip


class BookMachine(RuleBasedStateMachine):
    """Runs the same edits on a book and on dicts; both must hold the same after each."""

    designs = Bundle("designs")

    @initialize()
    def begin(self) -> None:
        self.folder = Path(tempfile.mkdtemp())
        self.book = Book(self.folder / "book.sqlite")
        self.rows: dict[str, dict[str, Any]] = {}
        self.history: dict[str, dict[int, tuple[int | None, str, str, str]]] = {}
        self.values: dict[str, Any] = {}
        self.counter = 0
        self.touched: tuple[set[str], set[str]] = (set(), set())

    def teardown(self) -> None:
        if hasattr(self, "book"):
            self.book.close()
            shutil.rmtree(self.folder)

    @rule(target=designs, id=st.uuids(version=4), name=TEXTS, text=TEXTS, when=TIMES, why=TEXTS)
    def add(self, id: uuid.UUID, name: str, text: str, when: str, why: str) -> str:
        key = str(id)
        if key in self.rows:
            return key
        book_designs.add_design(self.book, key, name=name, text=text, when=when, why=why)
        self._added(key, name, text, when, why)
        return key

    @rule(target=designs, of=designs, id=st.uuids(version=4), name=TEXTS, when=TIMES)
    def copy(self, of: str, id: uuid.UUID, name: str, when: str) -> Any:
        key = str(id)
        if key in self.rows:
            return multiple()
        book_designs.copy_design(self.book, of, id=key, name=name, when=when)
        text = self.history[of][self.rows[of]["current"]][1]
        self._added(key, name, text, when, f"copy of {self.rows[of]['name']}")
        return key

    def _added(self, key: str, name: str, text: str, when: str, why: str) -> None:
        self.rows[key] = {
            "name": name,
            "created": when,
            "changed": when,
            "archived": False,
            "deleted": False,
            "current": 1,
        }
        self.history[key] = {1: (None, text, when, why)}
        self.touched[0].add(key)

    @rule(design=designs, text=TEXTS, when=TIMES, why=TEXTS, behind=st.integers(0, 2))
    def save(self, design: str, text: str, when: str, why: str, behind: int) -> None:
        row = self.rows[design]
        parent = row["current"] - behind
        got = save_version(self.book, design, text=text, parent=parent, when=when, why=why)
        if behind:
            assert got == Conflict(current=row["current"])
            return
        number = max(self.history[design]) + 1
        assert got == number
        self.history[design][number] = (parent, text, when, why)
        self._moved(design, number, when)

    @rule(design=designs, pick=st.integers(0, 10**6), when=TIMES, behind=st.integers(0, 1))
    def undo_or_redo(self, design: str, pick: int, when: str, behind: int) -> None:
        numbers = sorted(self.history[design])
        to, was = numbers[pick % len(numbers)], self.rows[design]["current"] + behind
        got = set_current(self.book, design, to, was=was, when=when)
        if behind:
            assert got == Conflict(current=self.rows[design]["current"])
        else:
            assert got == to
            self._moved(design, to, when)

    def _moved(self, design: str, number: int, when: str) -> None:
        self.rows[design] |= {"current": number, "changed": when}
        self.touched[0].add(design)

    @rule(design=designs, name=TEXTS, when=TIMES)
    def rename(self, design: str, name: str, when: str) -> None:
        book_designs.rename(self.book, design, name=name, when=when)
        self.rows[design] |= {"name": name, "changed": when}
        self.touched[0].add(design)

    @rule(design=designs, archived=st.booleans())
    def archive(self, design: str, archived: bool) -> None:
        book_designs.archive(self.book, design, archived=archived)
        self.rows[design]["archived"] = archived
        self.touched[0].add(design)

    @rule(design=designs, deleted=st.booleans())
    def delete(self, design: str, deleted: bool) -> None:
        book_designs.delete(self.book, design, deleted=deleted)
        self.rows[design]["deleted"] = deleted
        self.touched[0].add(design)

    @rule(target=designs, design=consumes(designs))
    def purge(self, design: str) -> Any:
        gone = book_designs.purge(self.book, design)
        assert gone == self.rows[design]["deleted"]
        if not gone:
            return design
        del self.rows[design], self.history[design]
        self.touched[0].add(design)
        for ask in (book_designs.design_of, versions):
            with pytest.raises(RequestError, match="no longer in the book"):
                ask(self.book, design)
        return multiple()

    @rule(design=designs, since=TIMES)
    def thin(self, design: str, since: str) -> None:
        history = self.history[design]
        last_of_day = {when[:10]: number for number, (_, _, when, _) in sorted(history.items())}
        kept = {
            number
            for number, (_, _, when, _) in history.items()
            if datetime.fromisoformat(when) >= datetime.fromisoformat(since)
            or number in (self.rows[design]["current"], last_of_day[when[:10]])
        }
        assert thin(self.book, design, since=since) == len(history) - len(kept)
        if len(kept) < len(history):
            self.touched[0].add(design)

        def ancestor(number: int) -> int | None:
            parent = history[number][0]
            return parent if parent is None or parent in kept else ancestor(parent)

        self.history[design] = {n: (ancestor(n), *history[n][1:]) for n in kept}

    @rule(key=TEXTS, value=VALUES)
    def put(self, key: str, value: Any) -> None:
        book_settings.put_setting(self.book, key, value)
        self.values[key] = value
        self.touched[1].add(key)

    @rule()
    def look_for_changes(self) -> None:
        found = changes_since(self.book, self.counter)
        assert (set(found.designs), set(found.settings)) == self.touched
        assert (found.counter > self.counter) == any(self.touched)
        self.counter, self.touched = found.counter, (set(), set())

    @rule()
    def open_again(self) -> None:
        self.book.close()
        self.book = Book(self.book.path)

    @rule()
    def move_to_another_book(self) -> None:
        data = book_export(self.book)
        with Book(self.folder / f"{uuid.uuid4()}.sqlite") as other:
            book_import(other, data)
            assert book_export(other) == data
            self._holds_all(other)

    @invariant()
    def holds_all(self) -> None:
        if hasattr(self, "book"):
            self._holds_all(self.book)

    def _holds_all(self, book: Book) -> None:
        want = [KeptDesign(id=key, **row) for key, row in self.rows.items()]
        want.sort(key=lambda d: (-datetime.fromisoformat(d.changed).timestamp(), d.id))
        shelves = (
            ("in work", [d for d in want if not d.deleted and not d.archived]),
            ("archived", [d for d in want if not d.deleted and d.archived]),
            ("deleted", [d for d in want if d.deleted]),
        )
        for shelf, designs in shelves:
            assert list(book_designs.list_designs(book, shelf)) == designs  # type: ignore[arg-type]
        for key, history in self.history.items():
            assert versions(book, key) == tuple(
                Version(number=number, parent=parent, saved=saved, why=why)
                for number, (parent, _, saved, why) in sorted(history.items())
            )
            for number, (_, text, _, _) in history.items():
                assert text_of(book, key, number) == text
        assert json.dumps(book_settings.settings(book), sort_keys=True) == json.dumps(
            self.values, sort_keys=True
        )


TestBook = BookMachine.TestCase
TestBook.settings = settings(
    max_examples=30,
    stateful_step_count=30,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
