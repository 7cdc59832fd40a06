"""Pixels and masks: a photo reduced, where its cards lie, and the floor along its border."""

from collections.abc import Iterable

import cv2
import numpy as np
import numpy.typing as npt

from hidewright.geometry.segment import Floats

Picture = npt.NDArray[np.uint8]
Mask = npt.NDArray[np.uint8]
Flags = npt.NDArray[np.bool_]

#: Strip along the photo's border that is taken to be floor, share of the long side.
_BORDER = 0.03


def reduced(picture: Picture, pixels: int) -> tuple[Picture, float]:
    """Return a picture of at most so many pixels, and its scale."""
    h, w = picture.shape[:2]
    scale = min(1.0, (pixels / (w * h)) ** 0.5)
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


def border_strip(shape: tuple[int, ...]) -> Flags:
    """Return which pixels lie along the border of a picture of this shape."""
    h, w = shape[:2]
    border = max(4, round(_BORDER * max(w, h)))
    strip = np.ones((h, w), bool)
    strip[border:-border, border:-border] = False
    return strip


def filled(ring: Floats, shape: tuple[int, ...]) -> Mask:
    """Return a mask that is 1 inside a ring, px."""
    mask = np.zeros(shape[:2], np.uint8)
    cv2.fillPoly(mask, [np.round(ring * 16).astype(np.int32)], 1, shift=4)
    return mask


def largest(mask: Mask) -> Mask:
    """Return the largest connected part of a mask, opened a little first, its holes filled."""
    opened = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    found, _ = cv2.findContours(opened, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    part = np.zeros_like(mask)
    if found:
        cv2.drawContours(part, [max(found, key=cv2.contourArea)], -1, 1, cv2.FILLED)
    return part
