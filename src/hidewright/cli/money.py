"""Commands that reckon cost and price, and write quotes."""

import json
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from hidewright.cli.book import OfBook
from hidewright.cli.root import Json, Own, Working, by_book, rates_of, read
from hidewright.errors import RequestError

if TYPE_CHECKING:
    from hidewright.design.customer_order import CustomerOrder

commands = typer.Typer()


@commands.command()
def price(
    file: Annotated[Path, typer.Argument(help="Design file.")],
    batch: Annotated[int, typer.Option(help="How many good articles are made at a time.")] = 10,
    rates: Annotated[
        Path | None, typer.Option(help="File with your own rates and prices, YAML.")
    ] = None,
    book: Own = None,
    as_json: Json = False,
) -> None:
    """Say what an article costs, what to ask for it, and what moves the price."""
    from hidewright.workshop.graph import Cache
    from hidewright.workshop.learned import NOTHING, own_rates
    from hidewright.workshop.money.price import priced
    from hidewright.workshop.money.priced import as_figures, in_words

    design = read(file)
    own = rates_of(rates, book)
    with Working() as progress:
        try:
            by = by_book(book, design.specification, progress)
            shelf = by.shelf if by else NOTHING
            told = priced(
                by.spec if by else design.specification,
                own_rates(shelf, own.rates),
                own.prices,
                batch,
                Cache(),
                progress,
                bench=by.bench if by else None,
                learned=shelf,
            )
        except RequestError as refused:
            raise design.located(refused) from None
    if as_json:
        typer.echo(json.dumps(as_figures(told), indent=2, ensure_ascii=False, allow_nan=False))
    else:
        for line in in_words(told):
            typer.echo(line)


@commands.command()
def quote(
    order: Annotated[
        str, typer.Argument(help="Order, the beginning of its id; without it they are listed.")
    ] = "",
    out: Annotated[Path | None, typer.Option(help="PDF to write.")] = None,
    paper: Annotated[str, typer.Option(help="A4 or Letter.")] = "A4",
    again: Annotated[
        str, typer.Option(help="Number of a quote that is written already, to print it again.")
    ] = "",
    book: OfBook = None,
) -> None:
    """Write the quote for an order in the book, under the next number, as PDF."""
    from hidewright.costing.quote import quote_for
    from hidewright.drawing.quote import quote_pdf
    from hidewright.drawing.tiles import PAPERS_MM, Paper
    from hidewright.store.book import Book
    from hidewright.store.book_orders import ORDERS
    from hidewright.store.book_quotes import QUOTES, give_quote, manner_in
    from hidewright.store.book_rates import rates_in

    size: Paper = "Letter" if paper == "Letter" else "A4"
    if paper not in PAPERS_MM:
        raise RequestError(f"paper {paper!r}", mend=f"Choose {' or '.join(PAPERS_MM)}")
    with Book(book, new=False) as opened:
        if again:
            kept = QUOTES.get(opened, again)
        elif not order:
            _list_orders(ORDERS.rows(opened))
            return
        else:
            id, found = _order_named(ORDERS.rows(opened), order)
            day: date = datetime.now().astimezone().date()  # noqa: TID251
            manner, rates = manner_in(opened), rates_in(opened).rates
            kept = give_quote(opened, id, day, lambda n: quote_for(found, n, day, manner, rates))
    target = out or Path(f"quote {kept.quote.number}.pdf")
    try:
        target.write_bytes(quote_pdf(kept.quote, size))
    except OSError as refused:
        raise RequestError(
            f"{target} cannot be written",
            because=refused.strerror or str(refused),
            mend=f"The quote is in the book: print it again with --again {kept.quote.number}",
        ) from None
    typer.echo(f"Wrote {target}")


def _list_orders(orders: "dict[str, CustomerOrder]") -> None:
    """Print the orders, each with the beginning of its id, its price and status."""
    from hidewright.units.money import Money, format_money

    for id, one in orders.items():
        price = (
            "no price yet"
            if one.price_minor is None
            else format_money(Money(minor=one.price_minor, currency=one.currency))
        )
        who = one.customer.splitlines()[0]
        typer.echo(f"{id[:8]}  {one.quantity:5} x {one.article} for {who}, {one.status}: {price}")
    if not orders:
        typer.echo("There is no order in the book.")


def _order_named(orders: "dict[str, CustomerOrder]", beginning: str) -> "tuple[str, CustomerOrder]":
    """Return the order whose id begins so.

    Raises:
        RequestError: When there is none, or more than one.
    """
    found = [(id, one) for id, one in orders.items() if id.startswith(beginning)]
    if len(found) != 1:
        raise RequestError(
            f"{len(found)} orders whose id begins with {beginning!r}",
            mend="Run 'hidewright quote' without one to list them",
        )
    return found[0]
