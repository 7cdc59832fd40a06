"""Words in, files out: the command line.

Exit codes: 0 fine, 1 a remark forbids it, 2 a request that cannot be met, 3 our own mistake.
"""

import sys

import typer

from hidewright.cli import batch, book, cutting, designs, money, pressing
from hidewright.cli.root import BAD_REQUEST, OUR_MISTAKE, Listing
from hidewright.errors import RequestError

app = typer.Typer(
    name="hidewright",
    cls=Listing,
    help="From the thing to be carried to moulds, templates, stitch lines and cut files.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # plain help needs a third of the time to come up
)
for part in (designs, pressing, cutting, batch, money, book):
    app.add_typer(part.commands)


def main() -> None:
    """Run the command line and turn errors into words and exit codes."""
    try:
        sys.exit(app(standalone_mode=False) or 0)
    except RequestError as refused:
        typer.echo(f"hidewright: {refused}", err=True)
        sys.exit(BAD_REQUEST)
    except Exception as odd:
        _odd(odd)


def _odd(odd: Exception) -> None:
    """Show usage errors in their own words, and our mistakes with their traceback."""
    import traceback

    shown = getattr(odd, "format_message", None)
    if shown is not None:
        said = shown()
        typer.echo(said if said.startswith("Usage:") else f"hidewright: {said}", err=True)
        sys.exit(BAD_REQUEST)
    traceback.print_exception(odd)
    typer.echo("hidewright: this is our mistake, not yours; nothing was written.", err=True)
    sys.exit(OUR_MISTAKE)
