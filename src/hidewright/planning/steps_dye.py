"""Dyeing in the booth: a blank before it is soaked, a piece, or the article when it is sewn."""

from collections.abc import Sequence

from hidewright.design.blank import Blank
from hidewright.design.design import Design
from hidewright.design.piece import Piece
from hidewright.design.step import Hold, PlaceKind, Rest, Step
from hidewright.planning.steps_choice import BlankFacts, Facts
from hidewright.planning.steps_maker import Maker, figures, span_of_time


def blank_of(design: Design, piece: Piece) -> Blank | None:
    """Return the blank that a piece is pressed on; None for a flat one."""
    for blank in design.blanks:
        if piece.name in (*(place.piece for place in blank.places), *blank.over):
            return blank
    return None


def dye_blank(maker: Maker, blank: Blank, known: BlankFacts, after: str) -> tuple[Step, ...]:
    """Return the dyeing of a flat blank."""
    return _dyed(
        maker,
        "blank",
        blank.name,
        f"blank {blank.name}",
        "Dye the grain side evenly, edge to edge. It must not bleed in the soak: prove it on a "
        "scrap.",
        area_mm2=known.cut_mm[0] * known.cut_mm[1],
        after=(after,),
        articles=blank.articles,
    )


def dye_piece(
    maker: Maker, design: Design, piece: Piece, facts: Facts, after: Sequence[str]
) -> tuple[Step, ...]:
    """Return the dyeing of a piece; a moulded one dries on its plug when water wets it again."""
    blank = blank_of(design, piece)
    return _dyed(
        maker,
        "piece",
        piece.name,
        piece.name,
        "Dye the grain side and the edges evenly.",
        area_mm2=piece.outline.area,
        after=after,
        wetted=() if blank is None else (facts.blank(blank.name),),
    )


def dye_article(
    maker: Maker, design: Design, facts: Facts, after: Sequence[str]
) -> tuple[Step, ...]:
    """Return the dyeing of the sewn article; wetted again, it dries on the plugs of its blanks."""
    return _dyed(
        maker,
        "article",
        design.name,
        "the article",
        "Mask what is not to take colour. Dye it evenly.",
        area_mm2=sum(piece.outline.area for piece in design.pieces),
        after=after,
        wetted=tuple(facts.blank(blank.name) for blank in design.blanks),
    )


def _dyed(
    maker: Maker,
    kind: PlaceKind,
    place: str,
    told: str,
    how: str,
    *,
    area_mm2: float,
    after: Sequence[str],
    wetted: tuple[BlankFacts, ...] = (),
    articles: int = 1,
) -> tuple[Step, ...]:
    """Return the dyeing, and the taking off the plug where the dye's water wets what is moulded.

    Args:
        maker: Who dyes.
        kind: Of place.
        place: What is dyed.
        told: What it is called.
        how: What to do.
        area_mm2: Grain side.
        after: Steps before it.
        wetted: The blanks on whose plugs it would dry.
        articles: That one thing serves.
    """
    choice, name, off = maker.choice, f"dye {told}", f"take {told} off the plug"
    again = choice.dye_base == "water" and bool(wetted)
    rest = maker.rest("dye")
    holds = [Hold(station="booth", until=name)]
    if again:
        dries = max(one.wet_again_minutes for one in wetted)
        least = max(dries, rest.least_minutes if rest else 0)
        rest = Rest(what="drying on the plug", least_minutes=least)
        holds += [Hold(station="plug", of=one.blank, until=off) for one in wetted]
    dye = maker.step(
        "dye",
        kind,
        place,
        f"{how} Put it back on its plug at once and let it dry there."
        if again
        else f"{how} Let it dry flat.",
        name=name,
        units=area_mm2 / 1e4,
        after=after,
        rest=rest,
        holds=tuple(holds),
        load_limit=choice.booth_holds,
        limited_by="booth",
        articles=articles,
        setup=choice.colour,
        cautions=("dye",),
        figures=figures(
            ("Colour", choice.colour),
            ("Base", choice.dye_base),
            ("Dry", span_of_time(rest) if rest else ""),
        ),
    )
    if not again:
        return (dye,)
    taken = maker.step(
        "unmould",
        kind,
        place,
        "When it is dry and no longer cool to the touch, push it off its plug evenly.",
        name=off,
        after=(name,),
    )
    return dye, taken
