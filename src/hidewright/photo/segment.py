"""Which part of a photo is leather: how it and the floor look, and a cut between them."""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from hidewright.geometry.segment import Floats
from hidewright.photo.edge import Seen, sharpen
from hidewright.photo.light import in_even_light
from hidewright.photo.looks import Fields, fields_of, likelihood, looks_of
from hidewright.photo.picture import Flags, Mask, Picture, border_strip, filled, largest

#: The cut is made at about so many pixels; the edge is then found again in the whole photo.
PIXELS = 400_000
#: Looks that describe floor and leather, and rounds of the cut.
_FLOOR, _LEATHER, _ROUNDS = 8, 3, 4
#: Orders of the polynomials that the light is fitted by, first along the border alone.
_ORDERS = (2, 4)
#: So near the leather its shadow tells nothing of the light.
_NEAR = np.ones((9, 9), np.uint8)
#: Floor is seen round each card, within so many times its size.
_ROUND_CARD = 1.5
#: Cards that lie round a hide at least: the ground between fewer of them tells nothing.
_ROUND_HIDE = 3
#: Part of the ground between the cards that is leather, most likely: its middle.
_MIDDLE = 0.5
#: Of the middle, the leather is learned first from so much that is least like the floor.
_FIRST = 0.6
#: Fewer pixels teach nothing.
_FEWEST = 100
#: How far the edge may lie from where the looks change, px, and how far it does as a rule.
_REACH, _GIVE = 10.0, 5.0
#: The middle is leather in this share at least, and what lies outside the cards in that at most.
_LEAST_MIDDLE, _MOST_OUTSIDE = 0.5, 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Leather:
    """Where the hide is in a reduced photo.

    Attributes:
        mask: (h, w) uint8, 1 for leather with its holes filled, cards being given to what lies
            round them.
        cut_off: Whether it reaches the photo's border.
    """

    mask: Mask
    cut_off: bool


def find_leather(picture: Picture, cards: Sequence[Floats], paper: Mask) -> Leather | None:
    """Return where the hide is; None when leather and floor cannot be told apart.

    The floor's looks are learned along the photo's border and round the cards, the leather's from
    what is least like the floor in the middle between the cards, twice, the second time with the
    light as the whole floor shows it. A graph cut with a mixture of looks for each side (C. Rother,
    V. Kolmogorov, A. Blake, "GrabCut", ACM Transactions on Graphics 23, 2004) settles both. Last
    the edge, blurred by the width that roughness is taken over, goes where the colour changes
    nearby.

    Args:
        picture: (h, w, 3) uint8, blue, green, red; about ``PIXELS`` in all.
        cards: Outlines with their margins, px.
        paper: Where these are.
    """
    strip = border_strip(paper.shape)
    clear = cv2.dilate(paper, np.ones((5, 5), np.uint8)) == 0
    between = _between(cards, paper.shape)
    middle = _middle(between) & clear
    floor = (strip | (_near(cards, paper.shape) & ~middle)) & clear
    lit = strip & clear
    leather = np.zeros_like(paper)
    sure = np.zeros_like(clear)
    for order in _ORDERS:
        fields = fields_of(in_even_light(picture, lit, order))
        unlike = -likelihood(fields, looks_of(fields[floor], _FLOOR))
        if not leather.any():
            sure = middle & (unlike >= np.quantile(unlike[middle], 1 - _FIRST))
        for _ in range(3):
            if np.count_nonzero(sure) < _FEWEST:
                return None
            score = unlike + likelihood(fields, looks_of(fields[sure], _LEATHER))
            sure = (score > 1) & clear & between
        leather = largest(((score > 0) & clear).astype(np.uint8))
        floor = lit = (cv2.dilate(leather, _NEAR) == 0) & clear
        sure = (cv2.erode(leather, _NEAR) == 1) & clear
    if not leather.any():
        return None
    leather = _cut(fields, score, leather, strip, paper)
    outside = float(leather[~between].mean()) if len(cards) >= _ROUND_HIDE else 0.0
    if float(leather[middle].mean()) < _LEAST_MIDDLE or outside > _MOST_OUTSIDE:
        return None
    return _moved_to_colour(picture, leather, paper)


def _between(cards: Sequence[Floats], shape: tuple[int, ...]) -> Flags:
    """Return the ground that cards lie round; of too few, all but the photo's outer part."""
    ground = np.zeros(shape, np.uint8)
    if len(cards) >= _ROUND_HIDE:
        corners = np.round(np.concatenate(list(cards))).astype(np.int32)
        cv2.fillConvexPoly(ground, cv2.convexHull(corners), 1)
    else:
        h, w = shape
        ground[h // 10 : -h // 10, w // 10 : -w // 10] = 1
    return np.asarray(ground == 1)


def _middle(ground: Flags) -> Flags:
    """Return the middle of a ground: it made smaller about its centre."""
    y, x = (float(v.mean()) for v in np.nonzero(ground))
    to = np.array([[_MIDDLE, 0, (1 - _MIDDLE) * x], [0, _MIDDLE, (1 - _MIDDLE) * y]])
    h, w = ground.shape
    moved = cv2.warpAffine(ground.astype(np.uint8), to, (w, h), flags=cv2.INTER_NEAREST)
    return np.asarray(np.asarray(moved) == 1)


def _near(cards: Sequence[Floats], shape: tuple[int, ...]) -> Flags:
    near = np.zeros(shape, np.uint8)
    for corners in cards:
        centre = corners.mean(axis=0)
        wider = (corners - centre) * _ROUND_CARD + centre
        cv2.fillConvexPoly(near, np.round(wider).astype(np.int32), 1)
    return np.asarray(near == 1)


def _cut(fields: Fields, score: Fields, first: Mask, strip: Flags, paper: Mask) -> Mask:
    """Return the leather by a graph cut over score, lightness and hue."""
    hue = (fields[..., 1] + fields[..., 2]) / 2
    channels = np.dstack([128 + 18 * score, fields[..., 0], hue])
    marks = np.where(first == 1, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    marks[strip & (first == 0)] = cv2.GC_BGD
    empty, (h, w) = np.zeros((1, 65)), paper.shape
    cv2.setRNGSeed(1)
    cv2.grabCut(
        np.clip(channels, 0, 255).astype(np.uint8),
        marks,
        (0, 0, w, h),
        empty,
        empty.copy(),
        _ROUNDS,
        cv2.GC_INIT_WITH_MASK,
    )
    leather = ((marks == cv2.GC_FGD) | (marks == cv2.GC_PR_FGD)).astype(np.uint8)
    return largest(_cards_given(leather, paper))


def _cards_given(leather: Mask, paper: Mask) -> Mask:
    """Return the mask with each card counted as what most of the ring round it is."""
    count, labels = cv2.connectedComponents(paper)
    given = leather.copy()
    for card in range(1, count):
        own = (labels == card).astype(np.uint8)
        ring = cv2.dilate(own, np.ones((9, 9), np.uint8)) - own
        given[own == 1] = leather[ring == 1].mean() > 0.5
    return given


def _moved_to_colour(picture: Picture, leather: Mask, paper: Mask) -> Leather:
    found, _ = cv2.findContours(leather, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    rough = max(found, key=cv2.contourArea)[:, 0].astype(float)
    seen = Seen(picture=picture, leather=leather, paper=paper, scale=1.0)
    edge, _ = sharpen(seen, rough, reach=_REACH, give=_GIVE)
    mask = largest(filled(edge, leather.shape))
    near = cv2.dilate(mask, np.ones((3, 3), np.uint8))
    return Leather(mask=mask, cut_off=bool(near[border_strip(leather.shape)].any()))
