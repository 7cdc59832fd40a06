"""What an article costs and what to ask, as tables of HTML: rows that add up to the cent."""

from collections.abc import Callable, Iterable, Sequence
from html import escape

from hidewright.costing.asking import Asked
from hidewright.costing.cost import GROUPS, Cost
from hidewright.costing.ladder import Rung
from hidewright.units.money import Money, format_money
from hidewright.workshop.lists import taken_of
from hidewright.workshop.money.priced import SHOWN

Says = Callable[[int], str]


def in_currency(currency: str) -> Says:
    """Return what writes a sum in a currency, given in its smallest coin."""

    def said(minor: int) -> str:
        return format_money(Money(minor=minor, currency=currency))

    return said


def figures_in(currency: str) -> Says:
    """Return what writes a sum without its currency, which stands over the table."""
    said = in_currency(currency)
    return lambda minor: said(minor).partition(" ")[0]


def lines_table(cost: Cost) -> str:
    """Return the cost lines by group, for the batch and for one, with sums and total."""
    said = figures_in(cost.currency)
    bodies: list[str] = []
    for group in GROUPS:
        lines = [one for one in cost.lines if one.group == group]
        if not lines:
            continue
        for_batch, for_one = cost.group_minor(group)
        rows = [_row((group, "", said(for_batch), said(for_one)), "group")]
        rows += [
            _row(
                (
                    one.what,
                    taken_of(one.quantity, one.unit),
                    said(one.batch_minor),
                    said(one.each_minor),
                ),
            )
            for one in lines
        ]
        bodies.append(f"<tbody>{''.join(rows)}</tbody>")
    total = _row(("cost", "", said(cost.total_minor), said(cost.each_minor)), "total")
    head = ("what", "how much", f"batch of {cost.batch}", "for one")
    return _table(f"Cost lines, {cost.currency}", head, (*bodies, f"<tbody>{total}</tbody>"))


def build_up_table(asked: Asked, currency: str) -> str:
    """Return how the price of one is built up from its cost."""
    said = figures_in(currency)
    markup = "" if asked.markup is None else f", a markup of {float(asked.markup):.1%}"
    rows = (
        ("cost of one", asked.cost_minor, ""),
        ("box", asked.box_minor, ""),
        ("sales fee", asked.fee_minor, ""),
        (f"profit: {float(asked.margin):.1%} of the price{markup}", asked.profit_minor, ""),
        ("price before tax", asked.net_minor, "group"),
        ("tax", asked.tax_minor, ""),
        ("price", asked.gross_minor, "total"),
    )
    body = "".join(_row((what, said(minor)), sort) for what, minor, sort in rows)
    return _table(
        f"How the price is built up, {currency}", ("what", "for one"), (f"<tbody>{body}</tbody>",)
    )


def ladder_table(rungs: Sequence[Rung], batch: int, currency: str) -> str:
    """Return cost and price by batch size: the usual sizes, and the batch that is looked at."""
    said = figures_in(currency)
    rows = [
        _row(
            (
                f"{rung.batch}",
                said(rung.asked.cost_minor),
                said(rung.asked.gross_minor),
                said(rung.asked.profit_minor),
            ),
            "here" if rung.batch == batch else "",
        )
        for rung in rungs
        if rung.batch in (*SHOWN, batch)
    ]
    head = ("batch", "cost of one", "price", "profit on one")
    return _table(f"By batch size, {currency}", head, (f"<tbody>{''.join(rows)}</tbody>",))


def _table(caption: str, head: Iterable[str], bodies: Iterable[str]) -> str:
    heads = "".join(f'<th scope="col">{escape(words)}</th>' for words in head)
    return (
        f'<table class="sums"><caption>{escape(caption)}</caption>'
        f"<thead><tr>{heads}</tr></thead>{''.join(bodies)}</table>"
    )


def _row(cells: Sequence[str], sort: str = "") -> str:
    first, *rest = (escape(cell) for cell in cells)
    name = f'<th scope="row">{first}</th>'
    values = "".join(f"<td>{cell}</td>" for cell in rest)
    return f'<tr class="{sort}">{name}{values}</tr>' if sort else f"<tr>{name}{values}</tr>"
