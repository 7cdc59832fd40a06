"""The maker's own rates and prices, from a YAML file with the sections ``rates`` and ``prices``."""

from dataclasses import dataclass

import yaml

from hidewright.catalogue.prices import Price, built_in_prices, own_price, with_prices
from hidewright.catalogue.strict_yaml import plain
from hidewright.costing.workshop_rates import SUMS, WorkshopRates
from hidewright.errors import RequestError
from hidewright.store.fields import Place, entries, items, noun_from_node, root_of, word
from hidewright.units.money import Money, parse_money

#: No honest rates file is longer.
LARGEST_BYTES = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class RatesFile:
    """What a rates file says, over what is built in."""

    rates: WorkshopRates
    prices: tuple[Price, ...]


def read_rates(data: bytes, *, name: str) -> RatesFile:
    """Return the rates and prices of a file; what it leaves out stays as built in.

    Args:
        data: The file's bytes, UTF-8.
        name: The file's name, for errors.

    Raises:
        RequestError: Names file, line and field of anything that is wrong.
    """
    root = root_of(
        data,
        name=name,
        sort="rates file",
        largest_bytes=LARGEST_BYTES,
        when_empty="Write your rates under 'rates:' and prices under 'prices:'",
    )
    place = Place(file=name)
    got = entries(root, place, known=("rates", "prices"))
    rates = noun_from_node(
        WorkshopRates, got.get("rates"), place.into("rates"), own=dict.fromkeys(SUMS, _money)
    )
    own = _prices(got["prices"], place.into("prices")) if "prices" in got else []
    try:
        return RatesFile(rates=rates, prices=with_prices(built_in_prices(), own))
    except RequestError as refused:
        raise refused.at(name) from None


def _money(node: yaml.Node, place: Place) -> Money:
    try:
        return parse_money(word(node, place))
    except RequestError as refused:
        raise refused.at(place.at(node)) from None


def _prices(node: yaml.Node, place: Place) -> list[Price]:
    own: list[Price] = []
    for one in items(node, place):
        row = plain(one, place.file)
        if not isinstance(row, dict):
            raise RequestError("not a row", mend="Write it as '- name: ...'", where=place.at(one))
        own.append(own_price(row, where=place.at(one)))
    return own
