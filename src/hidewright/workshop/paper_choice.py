"""What the workshop's papers go by, beside the design."""

from dataclasses import dataclass, field

from hidewright.catalogue.prices import Price, built_in_prices
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.cut_layout import CutLayout
from hidewright.planning.steps_choice import BenchChoice
from hidewright.units.written import METRIC, Written

#: Batch that a design is first looked at in.
USUAL_BATCH = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperChoice:
    """What the workshop's papers go by, beside the design.

    Attributes:
        rates: Of the workshop.
        prices: Of materials.
        batch: How many good articles are made at a time.
        bench: How it is made at the bench.
        stock: (name, how much) of what there is, in the unit each is used by.
        yields: Share of a hide in pieces as cut, by leather, where a layout is known.
        layouts: Where pieces of the design lie on hides, to be in its pack.
        address: That the code on a label opens; no label without it.
        maker: Who makes it, for the buyer; may be empty.
        day: On which the papers are printed; may be empty.
        written: How they write measures.
    """

    rates: WorkshopRates = field(default_factory=WorkshopRates)
    prices: tuple[Price, ...] = field(default_factory=built_in_prices)
    batch: int = USUAL_BATCH
    bench: BenchChoice = field(default_factory=BenchChoice)
    stock: tuple[tuple[str, float], ...] = ()
    yields: tuple[tuple[str, float], ...] = ()
    layouts: tuple[CutLayout, ...] = ()
    address: str = ""
    maker: str = ""
    day: str = ""
    written: Written = METRIC
