"""What is cut from leather for one article: blanks layer by layer, flat pieces, and covers."""

from collections.abc import Iterator
from dataclasses import dataclass

from hidewright.design.cover import covers_of
from hidewright.design.design import Design
from hidewright.geometry.outline import Outline
from hidewright.planning.steps_mould import layers_of
from hidewright.workshop.forming_chain import PressedBlanks


@dataclass(frozen=True, slots=True, kw_only=True)
class CutLeather:
    """One thing to cut.

    Attributes:
        what: In words, such as ``blank pair of fronts``.
        role: Of its leather.
        outline: As cut, dry and flat.
        articles: How many articles it serves.
    """

    what: str
    role: str
    outline: Outline
    articles: int = 1


def cut_leather(design: Design, pressed: PressedBlanks) -> Iterator[CutLeather]:
    """Yield the blanks, layer by layer, the pieces that no blank is moulded for, and the covers."""
    moulded: set[str] = set()
    for one in pressed[0]:
        moulded |= {*(place.piece for place in one.blank.places), *one.blank.over}
        for role in layers_of(design, one.blank):
            yield CutLeather(
                what=f"blank {one.blank.name}",
                role=role,
                outline=one.cut,
                articles=one.blank.articles,
            )
    for piece in design.pieces:
        if piece.name not in moulded:
            yield CutLeather(what=piece.name, role=piece.role, outline=piece.outline)
    for cover in covers_of(design):
        yield CutLeather(what=cover.name, role=cover.role, outline=cover.outline)
