"""What all commands share: the program, its options, how files are read and remarks printed."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperCommand, TyperGroup

from hidewright.errors import Remark, RequestError

if TYPE_CHECKING:
    from collections.abc import Callable

    from hidewright.catalogue.shelf import Catalogue
    from hidewright.design.specification import Specification
    from hidewright.drawing.tiles import Paper as PaperSize
    from hidewright.planning.workshop import Workshop
    from hidewright.store.design_file import DesignFile
    from hidewright.store.rates_file import RatesFile
    from hidewright.units.written import Written
    from hidewright.workshop.learned import LearnedShelf
    from hidewright.workshop.learned_shelf_remarks import ByBook

#: Letters of a command's first sentence.
LONGEST_HELP = 200
FORBIDDEN, BAD_REQUEST, OUR_MISTAKE = 1, 2, 3

Rows = Annotated[
    Path | None, typer.Option("--rows", help="File with your own rows for the catalogue.")
]
Json = Annotated[bool, typer.Option("--json", help="Print for machines, as JSON.")]
Own = Annotated[
    Path | None,
    typer.Option(
        "--book", help="Reckon with your own values, stock and moulds out of this book's file."
    ),
]
Paper = Annotated[str, typer.Option(help="Paper for the patterns: A4 or Letter.")]
Units = Annotated[str, typer.Option(help="How papers write measures: mm, or in for inches.")]
Replace = Annotated[bool, typer.Option("--replace", help="Replace a pack that is there already.")]


def on_paper(paper: str, units: str) -> "tuple[PaperSize, Written]":
    """Return the paper that was asked for, and how measures are written on it.

    Raises:
        RequestError: When one of them is not known.
    """
    from hidewright.units.written import Written

    if paper not in ("A4", "Letter"):
        raise RequestError(f"the paper {paper!r}", mend="Choose A4 or Letter")
    if units not in ("mm", "in"):
        raise RequestError(f"the units {units!r}", mend="Choose mm or in")
    return "A4" if paper == "A4" else "Letter", Written(lengths="in" if units == "in" else "mm")


def read(file: Path) -> "DesignFile":
    """Return the design in a file.

    Raises:
        RequestError: When it cannot be read.
    """
    from hidewright.store.design_file import read_design

    return read_design(bytes_of(file), name=file.name)


def by_book(
    book: Path | None, spec: "Specification[Any]", progress: "Callable[[str], None]"
) -> "ByBook | None":
    """Return a design as the workshop of a book reckons with it; None without a book."""
    if book is None:
        return None
    from hidewright.workshop.book_learned import Pressings, shelf_in
    from hidewright.workshop.learned_shelf_remarks import reckoned_by

    return reckoned_by(book, spec, lambda opened: shelf_in(opened, Pressings(), progress))


def learned_in(book: Path | None, progress: "Callable[[str], None]") -> "LearnedShelf":
    """Return what the workshop of a book knows; nothing without a book."""
    from hidewright.store.book import Book
    from hidewright.workshop.book_learned import Pressings, shelf_in
    from hidewright.workshop.learned import NOTHING

    if book is None:
        return NOTHING
    with Book(book, new=False) as opened:
        return shelf_in(opened, Pressings(), progress)


def workshop_in(book: Path | None) -> "Workshop":
    """Return the settings of a book's workshop; the usual ones without a book."""
    from hidewright.planning.workshop import Workshop
    from hidewright.store.book import Book
    from hidewright.store.book_workshop import workshop_of

    if book is None:
        return Workshop()
    with Book(book, new=False) as opened:
        return workshop_of(opened)


def rates_of(file: Path | None, book: Path | None) -> "RatesFile":
    """Return rates and prices of a file; without one those of the book, or the usual ones."""
    from hidewright.store.book import Book
    from hidewright.store.book_rates import rates_in
    from hidewright.store.rates_file import LARGEST_BYTES, read_rates

    if file is None and book is not None:
        with Book(book, new=False) as opened:
            return rates_in(opened)
    data = b"{}" if file is None else bytes_of(file, LARGEST_BYTES)
    return read_rates(data, name=file.name if file else "")


def bytes_of(file: Path, largest: int | None = None) -> bytes:
    """Return what a file holds.

    Args:
        file: Which one.
        largest: Bytes that such a file has at most; those of a design file without it.

    Raises:
        RequestError: When it is larger, or cannot be read.
    """
    from hidewright.store.design_file import LARGEST_BYTES

    largest = largest or LARGEST_BYTES
    try:
        if file.stat().st_size > largest:
            raise RequestError(
                f"{file} has {file.stat().st_size / 1e6:.1f} MB",
                because=f"such a file has at most {largest / 1e6:g} MB",
                mend="Check that it is the file you mean",
            )
        return file.read_bytes()
    except OSError as refused:
        raise RequestError(
            f"{file} cannot be read",
            because=refused.strerror or str(refused),
            mend="Check the name and the folder",
        ) from None


def catalogue_with(rows: Path | None) -> "Catalogue":
    """Return the built-in catalogue with the maker's own rows over it."""
    from hidewright.catalogue.shelf import built_in_catalogue, with_rows
    from hidewright.store.rows_file import read_rows

    if rows is None:
        return built_in_catalogue()
    return with_rows(built_in_catalogue(), read_rows(bytes_of(rows), name=rows.name))


def write_text(file: Path, text: str) -> None:
    """Write a file.

    Raises:
        RequestError: When it cannot be written.
    """
    write_bytes(file, text.encode())


def write_bytes(file: Path, data: bytes) -> None:
    """Write a file.

    Raises:
        RequestError: When it cannot be written.
    """
    try:
        file.write_bytes(data)
    except OSError as refused:
        raise RequestError(
            f"{file} cannot be written",
            because=refused.strerror or str(refused),
            mend="Choose a folder that is there and may be written to",
        ) from None


def print_remarks(remarks: tuple[Remark, ...]) -> None:
    """Print remarks with what would mend them."""
    said = {"forbids": "MUST NOT", "warning": "look at", "note": "note"}
    for remark in remarks:
        typer.echo(f"{said[remark.severity]:9}{remark.place}: {remark.sentence}")
        for remedy in remark.remedies:
            more = "".join(f", {f}: {v}" for f, v in remedy.also)
            typer.echo(f"{'':9}would mend it: {remedy.field}: {remedy.value}{more}")
    if not remarks:
        typer.echo("Nothing stands in the way.")


class Listing(TyperGroup):
    """Commands that are listed with the whole first sentence of their help."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the list."""
        with formatter.section("Commands"):
            formatter.write_dl(
                [
                    (name, self.commands[name].get_short_help_str(limit=LONGEST_HELP))
                    for name in self.list_commands(ctx)
                ]
            )


class WithFiles(TyperCommand):
    """A command whose arguments are files; its help says so in a maker's words."""

    def get_help(self, ctx: Any) -> str:
        """Return the help; a word of programmers for the arguments gives way to one as wide."""
        wide = "<list[str]>"
        return super().get_help(ctx).replace(wide, "<path>".ljust(len(wide)))


class Working:
    """Names the step in work on a terminal's last line; silent where there is no terminal."""

    def __enter__(self) -> "Callable[[str], None]":
        return self._say

    def __exit__(self, *_: Any) -> None:
        if sys.stderr.isatty():
            sys.stderr.write("\r\033[K")

    def _say(self, step: str) -> None:
        if step and sys.stderr.isatty():
            sys.stderr.write(f"\r\033[Kworking on: {step}")
            sys.stderr.flush()
