"""The maker's readings in the book, and the demo workshop's invented ones."""

import uuid
from collections.abc import Mapping
from dataclasses import fields, replace

from pydantic import TypeAdapter, ValidationError

from hidewright.catalogue.rows import near
from hidewright.catalogue.strict_yaml import compose_strictly, plain
from hidewright.design.bench_reading import BenchReading, Standing
from hidewright.errors import RequestError
from hidewright.store.book import Book
from hidewright.store.book_drawers import Drawer
from hidewright.store.demo import demo_file

READINGS = Drawer(kind="reading", noun=BenchReading)
#: No honest file of readings is longer.
LARGEST_BYTES = 1_000_000


def add_reading(book: Book, reading: BenchReading) -> str:
    """Put a reading into the book; return its id."""
    id = str(uuid.uuid4())
    READINGS.put(book, id, reading)
    return id


def stand(book: Book, id: str, standing: Standing) -> BenchReading:
    """Withdraw a reading, keep an odd one, or let it count as any other.

    Raises:
        RequestError: When it is not in the book.
    """
    return READINGS.edit(book, id, lambda one: replace(one, standing=standing))


def read_readings(data: bytes, *, name: str) -> tuple[BenchReading, ...]:
    """Return the readings of a YAML file: a list of rows, each with the fields of a reading.

    Raises:
        RequestError: Names the file and the row of anything that is wrong.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise RequestError("not UTF-8 text", mend="Save it as UTF-8", where=name) from None
    root = compose_strictly(text, where=name)
    rows = plain(root, name) if root is not None else []
    if not isinstance(rows, list):
        raise RequestError("no list of readings", mend="Write each as '- what: ...'", where=name)
    return tuple(_reading(row, f"{name} row {number}") for number, row in enumerate(rows, start=1))


def _reading(row: object, where: str) -> BenchReading:
    known = [field.name for field in fields(BenchReading)]
    for name in row if isinstance(row, dict) else ():
        if name not in known:
            raise RequestError(f"a reading has no {name!r}", mend=near(name, known), where=where)
    try:
        return _ADAPTER.validate_python(row)
    except RequestError as refused:
        raise refused.at(where) from None
    except ValidationError as wrong:
        first = wrong.errors()[0]
        field = ".".join(str(step) for step in first["loc"])
        raise RequestError(f"{field}: {first['msg']}", where=where) from None


_ADAPTER = TypeAdapter(BenchReading)


def demo_readings() -> tuple[BenchReading, ...]:
    """Return the invented readings of the demo workshop; designs are named as in their files.

    Raises:
        RequestError: When the package was installed without its examples.
    """
    file = demo_file("readings.yaml")
    return read_readings(file.read_bytes(), name=file.name)


def add_demo_readings(book: Book, designs: Mapping[str, str]) -> int:
    """Put the demo's readings into a book; return how many.

    Args:
        book: Where to.
        designs: Ids of the book's designs by name; readings on others are left out.
    """
    added = 0
    for one in demo_readings():
        if one.design and one.design not in designs:
            continue
        add_reading(book, replace(one, design=designs.get(one.design, "")))
        added += 1
    return added
