"""What a layout tells the papers of a design that lies on it: batch, yield, leather there is."""

import math
from collections.abc import Sequence

from hidewright.design.cut_layout import CutLayout, layouts_with, yields_of
from hidewright.design.stock_hide import MM2_PER_M2
from hidewright.workshop.paper_choice import USUAL_BATCH, PaperChoice


def choice_for(name: str, layouts: Sequence[CutLayout]) -> PaperChoice:
    """Return what the papers of a design go by when it is cut as some layouts have it.

    The batch is as many as lie there, the leather in stock is that of their hides, those that are
    still to be bought left out.

    Args:
        name: The design's.
        layouts: One for each leather, perhaps with pieces of other designs.
    """
    own = layouts_with(name, layouts)
    counts = [dict(one.articles)[name] for one in own]
    stock = {
        material: math.fsum(
            hide.area_mm2 / MM2_PER_M2
            for one in own
            if one.material == material
            for hide, id in zip(one.hides, one.hide_ids, strict=True)
            if id
        )
        for material in dict.fromkeys(one.material for one in own)
    }
    return PaperChoice(
        batch=min(counts, default=USUAL_BATCH) or USUAL_BATCH,
        stock=tuple(stock.items()),
        yields=yields_of(own),
        layouts=own,
    )
