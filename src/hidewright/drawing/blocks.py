"""Blocks that are never broken, set on page after page, each page with its number at the foot."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from hidewright.drawing.pdf_page import Book, Page

#: The foot stands so far below the lower margin, mm.
FOOT_MM = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """What is not broken over pages.

    Attributes:
        height: In mm.
        draw: How it is drawn from a top downwards.
        under: The heading that it stands under, drawn again where a page begins with it.
        keep: Whether a page must not end with it.
    """

    height: float
    draw: Callable[[Page, float], None]
    under: "Block | None" = None
    keep: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Margins:
    """What is left free at the edges of a page, mm."""

    side: float
    top: float
    bottom: float


def draw_blocks(
    book: Book,
    blocks: Iterable[Block],
    size: tuple[float, float],
    margins: Margins,
    foot: Callable[[str], str],
    capital_mm: float,
) -> None:
    """Draw blocks on as many pages as they take.

    Args:
        book: Where to.
        blocks: In order.
        size: Of the paper, mm.
        margins: Of each page.
        foot: What stands at the foot, given ``page 1 of 3``.
        capital_mm: Height of its capitals.
    """
    width, height = size
    pages = list(_pages(tuple(blocks), height - margins.top - margins.bottom))
    for number, page_of in enumerate(pages, start=1):
        with book.page(size) as page:
            top = height - margins.top
            for block in page_of:
                block.draw(page, top)
                top -= block.height
            right = (width - margins.side, margins.bottom - FOOT_MM)
            told = foot(f"page {number} of {len(pages)}")
            room = width - 2 * margins.side
            page.words(told, right, capital_mm=capital_mm, anchor="end", room_mm=room)


def _pages(blocks: Sequence[Block], room: float) -> Iterator[list[Block]]:
    """Yield the blocks of each page; a heading stays with what is under it."""
    page: list[Block] = []
    for number, block in enumerate(blocks):
        needed = [block]
        for then in blocks[number + 1 :]:
            if not needed[-1].keep:
                break
            needed.append(then)
        if page and sum(one.height for one in (*page, *needed)) > room:
            yield page
            page = [block.under] if block.under is not None else []
        page.append(block)
    yield page
