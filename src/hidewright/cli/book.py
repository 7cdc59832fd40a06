"""Commands for the workshop's book, and the app that works in it."""

import json
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from hidewright.cli.root import Json, Listing, Paper, Rows, Working, bytes_of, catalogue_with
from hidewright.errors import RequestError

if TYPE_CHECKING:
    from hidewright.design.bench_reading import Standing
    from hidewright.drawing.tiles import Paper as Size
    from hidewright.store.book import Book

commands = typer.Typer()
book_commands = typer.Typer(
    help="The workshop's book: readings, what is known by them, and all of it in one archive.",
    cls=Listing,
    no_args_is_help=True,
    rich_markup_mode=None,
)
commands.add_typer(book_commands, name="book")

OfBook = Annotated[
    Path | None, typer.Option("--book", help="The book's file; without it your own book.")
]


@book_commands.command("export")
def book_export(
    file: Annotated[Path, typer.Argument(help="Archive to write, a .zip.")],
    book: OfBook = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Replace an archive that is there already.")
    ] = False,
) -> None:
    """Write everything in the book into one archive."""
    from hidewright.store.book import Book
    from hidewright.store.book_archive import book_export as exported

    if file.exists() and not replace:
        raise RequestError(f"{file} is already there", mend="Choose another name, or add --replace")
    with Book(book, new=False) as opened:
        data = exported(opened)
    part = file.with_name(file.name + ".part")
    try:
        part.write_bytes(data)
        part.replace(file)
    except OSError as refused:
        raise RequestError(
            f"{file} cannot be written", because=refused.strerror or str(refused)
        ) from None
    typer.echo(f"Wrote {file}")


@book_commands.command("import")
def book_import(
    file: Annotated[Path, typer.Argument(help="Archive that 'book export' wrote.")],
    book: OfBook = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Take the place of the work in the book.")
    ] = False,
) -> None:
    """Put everything of an archive into an empty book."""
    from hidewright.store.book import Book
    from hidewright.store.book_archive import LARGEST_BYTES
    from hidewright.store.book_archive import book_import as imported

    data = bytes_of(file, LARGEST_BYTES)
    with Book(book) as opened:
        imported(opened, data, replace=replace)
    typer.echo(f"The book {opened.path} now holds what {file} held.")


@book_commands.command("restore")
def book_restore(book: OfBook = None) -> None:
    """Put the last good backup in the book's place; the old file is kept beside it."""
    from hidewright.store.book import default_path
    from hidewright.store.book_backups import restore_last_backup

    backup, aside = restore_last_backup(book or default_path())
    typer.echo(f"The book is again as in {backup}." + (f" The old one: {aside}" if aside else ""))


@book_commands.command("readings")
def book_readings(book: OfBook = None, as_json: Json = False) -> None:
    """List the readings in the book, with the ids by which they are withdrawn or kept."""
    from hidewright.store.book import Book
    from hidewright.store.book_readings import READINGS
    from hidewright.workshop.learned_words import read_words, told_reading

    with Book(book, new=False) as opened:
        rows = READINGS.rows(opened)
    if as_json:
        typer.echo(json.dumps({id: _row(one) for id, one in rows.items()}, ensure_ascii=False))
        return
    for id, one in rows.items():
        read = read_words(one)
        of = ""
        if one.of is not None and not one.kind.cracks:
            of = f" of {told_reading(one.of, one.kind.unit)}"
        standing = "" if one.standing == "counts" else f"  {one.standing}"
        typer.echo(f"{id[:8]}  {one.day}  {one.what}: {read}{of}  {one.subject}{standing}")
    if not rows:
        typer.echo("No reading yet: 'hidewright test-pieces' draws what to cut and measure.")


@book_commands.command("add")
def book_add(
    what: Annotated[str, typer.Argument(help="What was read, such as 'kerf'.")],
    subject: Annotated[
        str, typer.Option(help="Board, leather or kind of work, by its name in the design.")
    ],
    value: Annotated[float, typer.Option(help="What was read, in mm, hours or minutes.")],
    of: Annotated[
        float | None, typer.Option(help="What it is compared with, in the same unit.")
    ] = None,
    depth: Annotated[
        float | None, typer.Option(help="Depth of the test plug it was read on, mm.")
    ] = None,
    design: Annotated[str, typer.Option(help="Id of the design whose piece was measured.")] = "",
    place: Annotated[str, typer.Option(help="Which hollow of it, as piece/zone.")] = "",
    lot: Annotated[str, typer.Option(help="Which hide, sheet or laser.")] = "",
    count: Annotated[int, typer.Option(help="Articles in the batch, for minutes.")] = 1,
    own: Annotated[
        bool, typer.Option("--own", help="What it is compared with was told by your own values.")
    ] = False,
    day: Annotated[str, typer.Option(help="When, as 2026-03-14; today without it.")] = "",
    note: Annotated[str, typer.Option(help="Your own words.")] = "",
    book: OfBook = None,
) -> None:
    """Put a reading into the book."""
    from hidewright.design.bench_reading import BenchReading
    from hidewright.store.book import Book
    from hidewright.store.book_readings import add_reading
    from hidewright.workshop.book_learned import Pressings, shelf_in
    from hidewright.workshop.learned_foretold import by_catalogue

    reading = BenchReading(
        what=what,  # type: ignore[arg-type]  # it refuses what it does not know
        subject=subject,
        lot=lot,
        value=value,
        of=of,
        depth_mm=depth,
        design=design,
        place=place,
        count=count,
        day=_day(day),
        note=note,
    )
    with Book(book) as opened, Working() as progress:
        if own:
            reading = by_catalogue(reading, shelf_in(opened, Pressings(), progress))
        id = add_reading(opened, reading)
    typer.echo(f"Kept as {id[:8]}.")


@book_commands.command("withdraw")
def book_withdraw(
    reading: Annotated[str, typer.Argument(help="Its id, or how it begins.")],
    book: OfBook = None,
) -> None:
    """Withdraw a reading: everything is as if it had never been taken."""
    _stand(reading, "withdrawn", book)


@book_commands.command("keep")
def book_keep(
    reading: Annotated[str, typer.Argument(help="Its id, or how it begins.")],
    book: OfBook = None,
) -> None:
    """Let a reading count, however odd it is."""
    _stand(reading, "kept", book)


@book_commands.command("known")
def book_known(book: OfBook = None, as_json: Json = False) -> None:
    """Say what the readings tell of your laser, boards, leathers and hands."""
    from hidewright.store.book import Book
    from hidewright.workshop.book_learned import Pressings, shelf_in
    from hidewright.workshop.learned_telling import as_figures, in_words

    with Book(book, new=False) as opened, Working() as progress:
        shelf = shelf_in(opened, Pressings(), progress)
    if as_json:
        typer.echo(json.dumps(as_figures(shelf), indent=2, ensure_ascii=False))
        return
    for line in in_words(shelf):
        typer.echo(line)


@commands.command("test-pieces")
def draw_test_pieces(
    out: Annotated[Path, typer.Option(help="Folder to make, or a .zip.")],
    board: Annotated[str, typer.Option(help="Board that they are cut from.")] = "MDF 6 mm",
    leather: Annotated[
        str, typer.Option(help="Leather that they are for.")
    ] = "vegetable-tanned shoulder 1.4-1.6 mm",
    rows: Rows = None,
    paper: Paper = "A4",
) -> None:
    """Draw the test pieces that tell your kerf, thickness, shrinkage, pull-in and minutes."""
    from hidewright.catalogue.shelf import find
    from hidewright.store.write_pack import refuse_target, write_pack
    from hidewright.workshop.bench_pieces import bench_files

    refuse_target(out, replace=False)
    shelf = catalogue_with(rows)
    size: Size = "Letter" if paper == "Letter" else "A4"
    files = bench_files(find(shelf.boards, board), find(shelf.leathers, leather), size)
    write_pack(files, out)
    typer.echo(f"Wrote {len(files)} files to {out}: begin with the sheet 'kerf comb.pdf'.")


@commands.command(name="app")
def open_app(
    book: Annotated[
        Path | None, typer.Option(help="File of the workshop's book; your own without it.")
    ] = None,
    port: Annotated[int, typer.Option(help="Port on this machine.", min=1, max=65535)] = 8377,
    show: Annotated[bool, typer.Option(help="Open it in the browser.")] = True,
) -> None:
    """Open the app: design by looking, in the browser, on this machine alone."""
    from hidewright.workshop.uncollected import uncollected

    # what is loaded now stays; the server begins to search for garbage when it has loaded all
    with uncollected():
        from hidewright.app.server import run

        typer.echo(f"hidewright is at http://127.0.0.1:{port} - stop it with Ctrl+C.")
        run(book, port=port, show=show)


def _row(reading: Any) -> dict[str, Any]:
    from dataclasses import asdict

    return {key: str(v) if isinstance(v, date) else v for key, v in asdict(reading).items()}


def _day(text: str) -> date:
    try:
        if text:
            return date.fromisoformat(text)
    except ValueError:
        raise RequestError(f"{text!r} is no day", mend="Write it as 2026-03-14") from None
    return datetime.now().astimezone().date()  # noqa: TID251 - a shell may look at the clock


def _stand(begins: str, standing: "Standing", book: Path | None) -> None:
    from hidewright.store.book import Book
    from hidewright.store.book_readings import stand

    with Book(book, new=False) as opened:
        id = _found(opened, begins)
        stand(opened, id, standing)
    typer.echo(f"{id[:8]} is {standing}.")


def _found(book: "Book", begins: str) -> str:
    from hidewright.store.book_readings import READINGS

    ids = [id for id in READINGS.rows(book) if begins and id.startswith(begins)]
    if len(ids) != 1:
        raise RequestError(
            f"{len(ids)} readings begin with {begins!r}" if ids else f"no reading {begins!r}",
            mend="'hidewright book readings' lists them",
        )
    return ids[0]
