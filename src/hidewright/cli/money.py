"""Commands that reckon cost and price."""

import json
from pathlib import Path
from typing import Annotated

import typer

from hidewright.cli.root import Json, Working, bytes_of, read
from hidewright.errors import RequestError

commands = typer.Typer()


@commands.command()
def price(
    file: Annotated[Path, typer.Argument(help="Design file.")],
    batch: Annotated[int, typer.Option(help="How many good articles are made at a time.")] = 10,
    rates: Annotated[
        Path | None, typer.Option(help="File with your own rates and prices, YAML.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Say what an article costs, what to ask for it, and what moves the price."""
    from hidewright.store.rates_file import LARGEST_BYTES, read_rates
    from hidewright.workshop.graph import Cache
    from hidewright.workshop.price import as_figures, in_words, priced

    design = read(file)
    data = b"{}" if rates is None else bytes_of(rates, LARGEST_BYTES)
    own = read_rates(data, name=rates.name if rates else "")
    with Working() as progress:
        try:
            told = priced(design.specification, own.rates, own.prices, batch, Cache(), progress)
        except RequestError as refused:
            raise design.located(refused) from None
    if as_json:
        typer.echo(json.dumps(as_figures(told), indent=2, ensure_ascii=False, allow_nan=False))
    else:
        for line in in_words(told):
            typer.echo(line)
