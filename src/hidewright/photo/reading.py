"""A hide read from a photo: outline, area and how far both can be trusted."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np

from hidewright.design.hide import Corners, Hide
from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats
from hidewright.photo.cards import SIDE_MM, find_cards
from hidewright.photo.edge import Seen
from hidewright.photo.file import unpacked
from hidewright.photo.fit import Fit, fit_view
from hidewright.photo.lens import View
from hidewright.photo.outline import FAINT_SHARE, TOLERANCE_MM, Rings, area_of, polygon, rings
from hidewright.photo.picture import Picture, paper_mask, reduced
from hidewright.photo.segment import PIXELS, find_leather

#: With so many cards round the hide its outline is as good as a tape measure's.
ENOUGH_CARDS = 4
#: An area known less well than this, share either way, is rough whatever the number of cards.
ROUGH_SHARE = 0.01
#: Where it is so, the edge as a whole may be this far in or out, mm; one standard deviation. On the
#: safe side: on rendered photos of leather of the floor's colour areas were within 1.2 %.
FAINT_EDGE_MM = 5.0
#: The printed ruler's length when the printer keeps its scale, mm.
RULER_MM = 100.0
#: The ruler may come out this much too short or long, share.
_RULER_SHARE = 0.1
#: Side of a card with its margin, in sides of the square.
_CARD = 1.24
_RIGHT = np.array([5.0, 0.0])
#: Least part of the photo that is a hide.
_LEAST_SHARE = 0.01
#: The edge as a whole may seem this far in or out, by blur and by its shadow, mm: up to 0.6 on
#: rendered photos; one standard deviation.
EDGE_MM = 0.5
#: What is said where the hide cannot be told from the floor.
UNTOLD = (
    "Rough: leather and floor cannot be told apart in this photo. Tap round the hide to draw its "
    "edge yourself, or lay it on a floor or cloth of another colour and take the photo again."
)
#: Times the standard deviation: about 95 of 100 lie within.
_SPREADS = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoReading:
    """What a photo says of a hide.

    Attributes:
        hide: Outline and holes, mm, lower left at the origin, y up, turned as in the photo.
        area_mm2: Of the leather, its holes left out.
        area_range_mm2: Where the true area lies, 95 times in 100, by what the cards leave open
            and by how well an edge is seen.
        cards: Numbers of the cards that were found, from 1.
        residual_px: What the corners of the cards miss by, root mean square.
        found: Whether leather and floor could be told apart; if not, the outline is a box in the
            middle of the photo, to be drawn by hand, and the range is all that the photo shows.
        rough: Whether to measure the hide before cutting to the last centimetre.
        said: Sentences on all this, for the maker.
        view: How the floor, in the hide's frame, lies in the photo.
    """

    hide: Hide
    area_mm2: float
    area_range_mm2: tuple[float, float]
    cards: tuple[int, ...]
    residual_px: float
    found: bool
    rough: bool
    said: tuple[str, ...]
    view: View


def read_hide(
    data: bytes,
    name: str,
    *,
    ruler_mm: float = RULER_MM,
    progress: Callable[[str], object] = lambda words: None,
) -> tuple[PhotoReading, Picture]:
    """Return what a photo says of the hide in it, and the photo's pixels.

    Args:
        data: A JPEG or PNG file.
        name: Of the file, for the errors.
        ruler_mm: What the ruler on the printed sheet measures; 100 mm when the scale was kept.
        progress: Told what is being done.

    Raises:
        RequestError: When the file cannot be read, no card is seen whole, or the cards do not
            agree.
    """
    if not abs(ruler_mm / RULER_MM - 1) <= _RULER_SHARE:
        raise RequestError(
            f"a printed ruler of {ruler_mm:g} mm",
            because=f"it is {RULER_MM:g} mm long when printed at full size",
            mend="Print the cards at 100 %, without fitting them to the page, and measure again",
        )
    progress("Unpacking the photo")
    picture = unpacked(data, name)
    progress("Looking for the cards")
    found = find_cards(np.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), np.uint8))
    if not found:
        raise RequestError(
            f"no scale card is seen whole in {name}",
            because="without one the photo has no scale; half a card, one in glare or one that "
            "is bent does not count",
            mend="Print the cards, lay at least four flat round the hide, all of each in the photo",
        )
    h, w = picture.shape[:2]
    fit = fit_view(found, (w, h), SIDE_MM * ruler_mm / RULER_MM)
    progress("Telling leather from floor")
    small, scale = reduced(picture, PIXELS)
    cards = [((c - c.mean(axis=0)) * _CARD + c.mean(axis=0)) * scale for c in found.values()]
    paper = paper_mask(small, cards)
    leather = find_leather(small, cards, paper)
    if leather is None or leather.mask.mean() < _LEAST_SHARE:
        return _untold(fit, name), picture
    progress("Following the edge")
    px_per_mm = float(np.mean([area_of(c) for c in found.values()])) ** 0.5 / SIDE_MM
    seen = Seen(picture=picture, leather=leather.mask, paper=paper, scale=scale)
    return _reading(fit, rings(seen, px_per_mm), name, cut_off=leather.cut_off), picture


def _untold(fit: Fit, name: str) -> PhotoReading:
    """Return what the cards say where the hide cannot be told from the floor."""
    w, h = fit.view.size
    all_of_it = np.array([(0.0, 0), (w - 1, 0), (w - 1, h - 1), (0, h - 1)])
    box = (all_of_it + all_of_it.mean(axis=0)) / 2
    view = _upright(fit.view, box)
    low = view.to_floor(box).min(axis=0)
    view = view.moved(0.0, (-float(low[0]), -float(low[1])))
    hide = Hide(name=_title(name), outline=_corners(view.to_floor(box)))
    return PhotoReading(
        hide=hide,
        area_mm2=hide.area_mm2,
        area_range_mm2=(0.0, area_of(view.to_floor(all_of_it))),
        cards=tuple(sorted(n + 1 for n in fit.cards)),
        residual_px=fit.residual_px,
        found=False,
        rough=True,
        said=(_cards_said(fit), UNTOLD),
        view=view,
    )


def _reading(fit: Fit, found: Rings, name: str, *, cut_off: bool) -> PhotoReading:
    edge = found.outer
    view = _upright(fit.view, edge)
    outline = polygon(edge, view)
    view = view.moved(0.0, (-float(outline[:, 0].min()), -float(outline[:, 1].min())))
    hide = Hide(
        name=_title(name),
        outline=_corners(polygon(edge, view)),
        holes=tuple(_corners(polygon(hole, view)) for hole in found.holes),
    )
    area = area_of(np.array(hide.outline)) - sum(area_of(np.array(h)) for h in hide.holes)
    scale = _SPREADS * _area_spread(fit, edge)
    doubts = _doubts(len(fit.cards), scale, found.faint, cut_off)
    edge_mm = EDGE_MM if found.faint <= FAINT_SHARE else FAINT_EDGE_MM
    seen = _SPREADS * edge_mm * sum(map(_length_of, (hide.outline, *hide.holes))) / area
    spread = float(np.hypot(scale, seen))
    low, high = area / (1 + spread), area * (1 + spread)
    return PhotoReading(
        hide=hide,
        area_mm2=area,
        area_range_mm2=(low, high),
        cards=tuple(sorted(n + 1 for n in fit.cards)),
        residual_px=fit.residual_px,
        found=True,
        rough=bool(doubts),
        said=(*_said(fit, area, (low, high), scale), *doubts),
        view=view,
    )


def _title(name: str) -> str:
    return name.rpartition(".")[0] or name


def _upright(view: View, edge: Floats) -> View:
    """Return the view with the floor turned so that right in the photo's middle is along x."""
    middle = edge.mean(axis=0)
    here, right = view.to_floor(np.array([middle - _RIGHT, middle + _RIGHT]))
    return view.moved(-float(np.arctan2(*(right - here)[::-1])), (0.0, 0.0))


def _corners(ring: Floats) -> Corners:
    return tuple((round(float(x), 3), round(float(y), 3)) for x, y in ring)


def _length_of(corners: Corners) -> float:
    ring = np.array(corners)
    return float(np.hypot(*(np.roll(ring, -1, axis=0) - ring).T).sum())


def _area_spread(fit: Fit, edge: Floats) -> float:
    """Return the standard deviation of the area that the cards leave, as a share of it.

    The area's slope along each of the nine numbers of the view, by central differences, through
    their covariance.
    """
    numbers = np.array([*fit.view.homography, fit.view.k1])
    steps = 0.02 * np.sqrt(np.maximum(np.diag(fit.covariance), 1e-30))

    def area(at: Floats) -> float:
        view = replace(fit.view, homography=tuple(at[:8].tolist()), k1=float(at[8]))
        return area_of(view.to_floor(edge))

    pairs = zip(steps, np.eye(9), strict=True)
    slope = np.array([(area(numbers + s * e) - area(numbers - s * e)) / (2 * s) for s, e in pairs])
    return float(np.sqrt(max(0.0, slope @ fit.covariance @ slope)) / area(numbers))


def _said(fit: Fit, area: float, between: tuple[float, float], scale: float) -> tuple[str, ...]:
    low, high = (f"{value / 1e6:.3f}" for value in between)
    return (
        f"Area {area / 1e6:.3f} m2, between {low} and {high} as far as the photo can say. "
        f"Lengths hold to {50 * scale:.2f} % by the cards.",
        _cards_said(fit),
        f"The outline's corners stray from the edge that was seen by {TOLERANCE_MM:g} mm at most.",
    )


def _cards_said(fit: Fit) -> str:
    count = len(fit.cards)
    words = f"{count} card{'s' if count > 1 else ''} found"
    return f"{words}; their corners miss by {fit.residual_px:.2f} px."


def _doubts(count: int, scale: float, faint: float, cut_off: bool) -> tuple[str, ...]:
    """Return why an outline is rough, one sentence each; none when it is not."""
    said = []
    if count < ENOUGH_CARDS:
        said.append(
            f"Rough: with fewer than {ENOUGH_CARDS} cards round the hide, perspective and lens "
            "are guessed. Take it again with more, or measure it before you cut."
        )
    elif scale > ROUGH_SHARE:
        said.append("Rough: the cards lie too close together. Lay them round the whole hide.")
    if cut_off:
        said.append("Rough: the hide runs out of the photo. Step back, and show floor all round.")
    if faint > FAINT_SHARE:
        said.append(
            f"Rough: over {100 * faint:.0f} % of the edge leather and floor look alike. "
            "Correct the outline there, or lay the hide on another colour. Holes were not looked "
            "for: mark them."
        )
    return tuple(said)
