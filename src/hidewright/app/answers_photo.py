"""What the process that reads photos answers: scale cards to print, and the hide in a photo."""

from collections.abc import Callable, Iterator

from hidewright.app.asked import Progress
from hidewright.app.asked_photo import Box, CardsAsked, CardsDrawn, PhotoAsked, PhotoRead
from hidewright.design.hide import Hide
from hidewright.drawing.scale_cards import scale_cards_pdf
from hidewright.photo.cards import NUMBERS, SIDE_MM, cells_of
from hidewright.photo.reading import read_hide
from hidewright.photo.rectified import rectified

#: Floor shown round the hide, mm, and scale of the picture that is shown.
ROUND_MM, PX_PER_MM = 60.0, 1.0


def answer(asked: CardsAsked | PhotoAsked, progress: Progress) -> Iterator[CardsDrawn | PhotoRead]:
    """Yield the one answer."""
    if isinstance(asked, CardsAsked):
        cards = {number + 1: cells_of(number) for number in NUMBERS}
        yield CardsDrawn(pdf=scale_cards_pdf(cards, SIDE_MM, asked.paper))
        return
    reading, picture = read_hide(asked.data, asked.name, ruler_mm=asked.ruler_mm, progress=progress)
    progress("Laying the photo flat")
    shown = _box(reading.hide, found=reading.found)
    yield PhotoRead(
        hide=reading.hide,
        found=reading.found,
        rough=reading.rough,
        said=reading.said,
        picture=rectified(picture, reading.view, shown, PX_PER_MM),
        box=shown,
    )


def photo() -> Callable[[CardsAsked | PhotoAsked, Progress], Iterator[CardsDrawn | PhotoRead]]:
    """Return what reads photos and draws cards."""
    return answer


def _box(hide: Hide, *, found: bool) -> Box:
    """Return what is shown: the hide with some floor round it, or all that the photo shows."""
    xs, ys = zip(*hide.outline, strict=True)
    left, bottom, right, top = min(xs), min(ys), max(xs), max(ys)
    wide, high = (ROUND_MM, ROUND_MM) if found else ((right - left) / 2, (top - bottom) / 2)
    return (left - wide, bottom - high, right + wide, top + high)
