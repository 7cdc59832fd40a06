"""Commands for the workshop's book, and the app that works in it."""

from pathlib import Path
from typing import Annotated

import typer

from hidewright.cli.root import bytes_of
from hidewright.errors import RequestError

commands = typer.Typer()
book_commands = typer.Typer(
    help="The workshop's book: all into one archive, back out of it, or back to the last backup.",
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


@commands.command(name="app")
def open_app(
    book: Annotated[
        Path | None, typer.Option(help="File of the workshop's book; your own without it.")
    ] = None,
    port: Annotated[int, typer.Option(help="Port on this machine.", min=1, max=65535)] = 8377,
    show: Annotated[bool, typer.Option(help="Open it in the browser.")] = True,
) -> None:
    """Open the app: design by looking, in the browser, on this machine alone."""
    from hidewright.app.server import run

    typer.echo(f"hidewright is at http://127.0.0.1:{port} - stop it with Ctrl+C.")
    run(book, port=port, show=show)
