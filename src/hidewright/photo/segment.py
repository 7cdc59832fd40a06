"""Which part of a photo is leather: the colours of floor and hide, and a cut between them."""

from collections.abc import Iterable

import cv2
import numpy as np
import numpy.typing as npt

from hidewright.geometry.segment import Floats

Picture = npt.NDArray[np.uint8]
Mask = npt.NDArray[np.uint8]
Flags = npt.NDArray[np.bool_]

#: The cut is made at about so many pixels; the edge is then found again in the whole photo.
PIXELS = 400_000
#: A hole is at least so wide, px of the reduced picture.
_LEAST_HOLE = 4
#: Strip along the photo's border that is taken to be floor, share of the long side.
_BORDER = 0.03
#: Colours that describe the floor, and rounds of the cut.
_TONES, _ROUNDS = 8, 4
#: A tone so many times commoner in the middle than along the border is no floor's.
_MIDDLE_TIMES = 3.0
#: Orders of the polynomials that the light is fitted by, first along the border alone.
_ORDERS = (2, 4)
#: So near the leather its shadow tells nothing of the light.
_NEAR = np.ones((9, 9), np.uint8)


def reduced(picture: Picture) -> tuple[Picture, float]:
    """Return a picture of at most ``PIXELS``, and its scale."""
    h, w = picture.shape[:2]
    scale = min(1.0, (PIXELS / (w * h)) ** 0.5)
    small = cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.uint8), scale


def paper_mask(picture: Picture, cards: Iterable[Floats]) -> Mask:
    """Return where cards lie, 1 for paper.

    Args:
        picture: Whose size it has.
        cards: Outlines with their margins, px, (4, 2) each.
    """
    paper = np.zeros(picture.shape[:2], np.uint8)
    for corners in cards:
        cv2.fillPoly(paper, [np.round(corners).astype(np.int32)], 1)
    return paper


def leather_mask(picture: Picture, paper: Mask) -> tuple[Mask, bool]:
    """Return where the largest thing is that differs from the floor round it.

    The border strip of the photo shows the floor with its pattern. What its colours explain
    badly begins as leather; a graph cut with a mixture of colours for each side (C. Rother,
    V. Kolmogorov, A. Blake, "GrabCut", ACM Transactions on Graphics 23, 2004) then settles both.
    Slow changes of light are taken out before; the cut is made twice, the second time with the
    light as the whole floor shows it.

    Args:
        picture: (h, w, 3) uint8, blue, green, red; about ``PIXELS`` in all.
        paper: Of the cards.

    Returns:
        (h, w) uint8, 1 for leather, cards being given to what lies round them; and whether the
        leather reaches the strip along the photo's border.
    """
    h, w = picture.shape[:2]
    border = max(4, round(_BORDER * max(w, h)))
    strip = np.ones((h, w), bool)
    strip[border:-border, border:-border] = False
    leather = np.zeros((h, w), np.uint8)
    for order in _ORDERS:
        # the light as the floor shows it: first along the border, then all round the leather
        floor = (strip if not leather.any() else cv2.dilate(leather, _NEAR) == 0) & (paper == 0)
        colours = _colours(_in_even_light(picture, floor, order))
        leather = _cut(colours, strip & (paper == 0), paper)
    left, top, wide, high = cv2.boundingRect(leather)
    cut_off = min(left, top, w - left - wide, h - top - high) <= border + 1
    return leather, cut_off


def _cut(colours: Picture, floor: Flags, paper: Mask) -> Mask:
    """Return the leather, where a strip of floor is known."""
    h, w = paper.shape
    unlike = _unlike(colours, floor) & (paper == 0)
    first = _largest(unlike.astype(np.uint8))
    marks = np.where(first == 1, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    marks[floor & (first == 0)] = cv2.GC_BGD
    if not first.any():
        return first
    empty = np.zeros((1, 65))
    cv2.setRNGSeed(1)
    cv2.grabCut(colours, marks, (0, 0, w, h), empty, empty.copy(), _ROUNDS, cv2.GC_INIT_WITH_MASK)
    leather = ((marks == cv2.GC_FGD) | (marks == cv2.GC_PR_FGD)).astype(np.uint8)
    return _without_specks(_cards_given(leather, paper))


def _in_even_light(picture: Picture, floor: Flags, order: int) -> Picture:
    """Return a picture with the slow changes of light on its floor taken out.

    A polynomial in x and y is fitted to the logarithm of the floor's lightness, pixels that do
    not follow (joints, motifs) counting less at each of three rounds.
    """
    h, w = picture.shape[:2]
    y, x = np.mgrid[-1 : 1 : h * 1j, -1 : 1 : w * 1j]
    terms = [(i, k) for i in range(order + 1) for k in range(order + 1 - i)]
    light = np.log(np.maximum(picture.max(axis=2), 4).astype(float))
    some = np.flatnonzero(floor)[:: max(1, int(floor.sum()) // 20_000)]
    xs, ys, seen = x.ravel()[some], y.ravel()[some], light.ravel()[some]
    design = np.column_stack([xs**i * ys**k for i, k in terms])
    weight = np.ones(len(seen))
    for _ in range(3):
        found, *_ = np.linalg.lstsq(design * weight[:, None], seen * weight, rcond=None)
        off = np.abs(seen - design @ found)
        weight = 1 / (1 + off / max(float(np.median(off)), 1e-3))
    fitted = np.zeros((h, w))
    for share, (i, k) in zip(found, terms, strict=True):
        fitted += share * x**i * y**k
    gain = np.exp(np.clip(np.log(110.0) - fitted, -1.5, 1.5))
    return np.asarray(np.clip(picture * gain[..., None], 0, 255), np.uint8)


def _colours(picture: Picture) -> Picture:
    """Return lightness, and hue freed of it, as three channels of like weight."""
    smooth = cv2.bilateralFilter(picture, 5, 20, 3)
    lab = cv2.cvtColor(smooth.astype(np.float32) / 255, cv2.COLOR_BGR2LAB)
    chroma = lab[..., 1:] * (60 / np.maximum(lab[..., 0], 12))[..., None]
    return np.clip(np.dstack([1.6 * lab[..., 0], 128 + 2.2 * chroma]), 0, 255).astype(np.uint8)


def _unlike(colours: Picture, floor: Flags) -> Flags:
    """Return which pixels the tones of a strip along the border, the floor's, explain badly.

    A tone that is far commoner in the middle of the photo than along its border is the hide's,
    which then runs out of the photo.
    """
    h, w = colours.shape[:2]
    middle = (slice(h // 4, 3 * h // 4), slice(w // 4, 3 * w // 4))
    samples = colours[floor].astype(np.float32)
    samples = samples[:: max(1, len(samples) // 20_000)]
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 20, 0.5)
    cv2.setRNGSeed(1)
    _, labels, _ = cv2.kmeans(samples, _TONES, np.zeros(0), stop, 1, cv2.KMEANS_PP_CENTERS)
    away = np.full(colours.shape[:2], np.inf, np.float32)
    pixels = colours.astype(np.float32)
    for tone in range(_TONES):
        some = samples[labels.ravel() == tone]
        if len(some) < 20:
            continue
        spread = np.cov(some.T) + 9 * np.eye(3)
        off = pixels - some.mean(axis=0).astype(np.float32)
        square = np.einsum("hwi,ij,hwj->hw", off, np.linalg.inv(spread).astype(np.float32), off)
        here, there = float(np.mean(square[middle] < 9)), len(some) / len(samples)
        if here < max(_MIDDLE_TIMES * there, 0.1):
            away = np.minimum(away, square)
    # a threshold between the two humps of the distances, but never below what chance gives
    scaled = np.clip(40 * np.sqrt(away), 0, 255).astype(np.uint8)
    split, _ = cv2.threshold(scaled, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    return np.asarray(scaled > max(split, 40 * 3.0))


def _largest(mask: Mask) -> Mask:
    """Return the largest connected part of a mask, opened a little first."""
    opened = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(opened, connectivity=4)
    if count < 2:
        return np.zeros_like(mask)
    best = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    return np.asarray(labels == best, np.uint8)


def _cards_given(leather: Mask, paper: Mask) -> Mask:
    """Return the mask with each card counted as what most of the ring round it is."""
    count, labels = cv2.connectedComponents(paper)
    given = leather.copy()
    for card in range(1, count):
        own = (labels == card).astype(np.uint8)
        ring = cv2.dilate(own, np.ones((9, 9), np.uint8)) - own
        given[own == 1] = leather[ring == 1].mean() > 0.5
    return given


def _without_specks(leather: Mask) -> Mask:
    """Return the largest part, its small holes closed."""
    part = _largest(leather)
    # what the opening took from the edge is given back
    grown = np.asarray(cv2.dilate(part, np.ones((5, 5), np.uint8)), np.uint8)
    part = leather & grown
    count, labels, stats, _ = cv2.connectedComponentsWithStats(1 - part, connectivity=4)
    for hole in range(1, count):
        if min(stats[hole, cv2.CC_STAT_WIDTH], stats[hole, cv2.CC_STAT_HEIGHT]) < _LEAST_HOLE:
            part[labels == hole] = 1
    return np.asarray(part, np.uint8)
