"""What the workshop reckons with: its hour, its waste, its consumption and how it sells."""

from dataclasses import dataclass, field, fields
from fractions import Fraction
from typing import Any

from hidewright.costing.exact import exact
from hidewright.design.measure import check_limits, measure
from hidewright.errors import RequestError
from hidewright.units.money import Money, format_money


def _share(default: float, says: str, low: float = 0.0, high: float = 1.0) -> Any:
    return measure("ratio", default, says, low=low, high=high)


def _euros(cents: int) -> Money:
    return Money(minor=cents, currency="EUR")


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkshopRates:
    """What a workshop reckons with; every default says where it comes from.

    Money is without the tax that the buyer pays, but for ``round_to`` and ``ending``, which are of
    the price that is asked. Every sum is in one currency.

    Attributes:
        pay_per_hour: What an hour at the bench is paid.
        overhead_a_year: Rent, power, insurance, tools, advertising; no material, no pay.
        paid_hours_a_year: Hours that are paid in a year, at the bench or not.
        utilisation: Share of the paid hours in which articles are made; the rest, which buys,
            sells and sweeps, is overhead.
        breaks: Rest during the work, as a share added to hands-on time.
        learning: Mean time of a batch of twice as many, over that of the batch; 1 for none.
        times_hold_at: The minutes of the steps are the mean of a batch of so many.
        rejects: Share of what is begun that cannot be sold.
        leather_yield: Share of a hide that ends up in blanks and pieces as cut.
        mould_pressings: Pressings that a board mould lasts.
        template_uses: Articles that a clear template lasts.
        moulds_of_each: Moulds of one kind that are pressed at once.
        water_based_glue_g_m2: Of water-based glue, on one of two faces.
        contact_glue_g_m2: Of contact glue, on each of two faces.
        dye_ml_m2: Of dye in one coat.
        dye_coats: Coats of dye.
        conditioner_ml_m2: Of conditioner in one coat.
        edge_paint_ml_m: Of edge paint in one coat on a metre of edge.
        margin: Share of the price that is left when all is paid.
        sales_fee: What a market takes of the price.
        sales_fee_fixed: What it takes besides, for each sale.
        box: Box, paper and label of one article.
        tax: On the price.
        round_to: Prices are whole steps of this and the ending.
        ending: What prices end in, less than a step.
        sold_a_year: Articles of this design that a year may take.
        holding: Cost of an article that lies about for a year, as a share of its cost.
        laser_speed: Millimetres a second that the laser cuts through a sheet of 3 mm; a thicker
            one takes longer in proportion.
    """

    pay_per_hour: Money = field(
        default=_euros(1800), metadata={"says": "an hour at the bench is paid; demo, invented"}
    )
    overhead_a_year: Money = field(
        default=_euros(600_000), metadata={"says": "rent, power, insurance, tools; demo, invented"}
    )
    paid_hours_a_year: float = measure(
        "number", 1600, "paid hours in a year; demo, invented", low=1, high=100_000
    )
    utilisation: float = _share(
        0.70, "share of paid hours at the bench; common practice, no source", low=0.05
    )
    breaks: float = _share(0.10, "rest during the work; common practice, no source")
    learning: float = _share(
        0.95, "mean time when the batch doubles, small batches 85 to 95 %; from memory", low=0.5
    )
    times_hold_at: int = measure(
        "count", 10, "the steps' minutes are the mean of such a batch; demo, invented", low=1
    )
    rejects: float = _share(
        0.05, "cannot be sold, 15 % of a new design; common practice, no source", high=0.9
    )
    leather_yield: float = _share(
        0.70, "share of a hide in blanks as cut; common practice, no source", low=0.05
    )
    mould_pressings: int = measure(
        "count", 100, "pressings that a board mould lasts; demo, invented", low=1
    )
    template_uses: int = measure(
        "count", 500, "articles that a clear template lasts; demo, invented", low=1
    )
    moulds_of_each: int = measure(
        "count", 1, "moulds of one kind pressed at once; demo, invented", low=1
    )
    water_based_glue_g_m2: float = measure(
        "number", 125, "g on a square metre of one face, 100 to 150; from memory", low=0, high=2000
    )
    contact_glue_g_m2: float = measure(
        "number", 150, "g on a square metre of each face; a glue maker's sheet", low=0, high=2000
    )
    dye_ml_m2: float = measure(
        "number", 150, "ml on a square metre a coat; from memory", low=0, high=2000
    )
    dye_coats: int = measure("count", 2, "coats of dye; from memory", low=1, high=20)
    conditioner_ml_m2: float = measure(
        "number", 75, "ml on a square metre a coat, 50 to 100; from memory", low=0, high=2000
    )
    edge_paint_ml_m: float = measure(
        "number", 1, "ml on a metre of edge a coat; common practice, no source", low=0, high=100
    )
    margin: float = _share(0.35, "share of the price that is left; demo, invented", high=0.95)
    sales_fee: float = _share(0.06, "what a market takes of the price; demo, invented", high=0.95)
    sales_fee_fixed: Money = field(
        default=_euros(30), metadata={"says": "what it takes for each sale; demo, invented"}
    )
    box: Money = field(
        default=_euros(120), metadata={"says": "box, paper and label of one; demo, invented"}
    )
    tax: float = _share(0.20, "on the price; demo, invented")
    round_to: Money = field(
        default=_euros(100), metadata={"says": "step of the prices asked; demo, invented"}
    )
    ending: Money = field(
        default=_euros(90), metadata={"says": "what prices end in; demo, invented"}
    )
    sold_a_year: int = measure("count", 120, "articles wanted a year; demo, invented", low=1)
    holding: float = _share(
        0.20, "cost of holding one for a year, of its cost; common practice, no source", low=0.001
    )
    laser_speed: float = measure(
        "number", 10, "mm a second through a sheet of 3 mm; demo, invented", low=0.1, high=1000
    )

    def __post_init__(self) -> None:
        check_limits(self, "rates")
        for name in SUMS:
            money: Money = getattr(self, name)
            if money.currency != self.currency:
                raise RequestError(
                    f"{name} in {money.currency}, pay_per_hour in {self.currency}",
                    because="money is never exchanged here",
                    mend="Give all sums in one currency",
                    where=f"rates.{name}",
                )
            if money.minor < 0:
                raise RequestError(f"{name} of {format_money(money)}", where=f"rates.{name}")
        if not self.round_to.minor > self.ending.minor:
            raise RequestError(
                f"prices that end in {format_money(self.ending)} in steps of "
                f"{format_money(self.round_to)}",
                because="the ending must be less than the step",
                mend="Such as round_to: 1.00 EUR with ending: 0.90 EUR",
                where="rates.ending",
            )

    @property
    def currency(self) -> str:
        """Three-letter code of every sum."""
        return self.pay_per_hour.currency

    @property
    def pay_per_minute(self) -> Fraction:
        """Pay of a minute at the bench, in the smallest coin."""
        return Fraction(self.pay_per_hour.minor, 60)

    @property
    def effective_hours(self) -> Fraction:
        """Hours in a year in which articles are made: paid hours x utilisation."""
        return exact(self.paid_hours_a_year) * exact(self.utilisation)

    @property
    def overhead_per_minute(self) -> Fraction:
        """What a minute at the bench bears of the year's overhead, in the smallest coin."""
        return self.overhead_a_year.minor / (60 * self.effective_hours)

    @property
    def away_per_minute(self) -> Fraction:
        """What it bears of the pay of hours that are not at the bench."""
        return self.pay_per_minute * (1 / exact(self.utilisation) - 1)


#: Fields that are sums of money.
SUMS = tuple(f.name for f in fields(WorkshopRates) if isinstance(f.default, Money))
