"""Holes in leather: spots of the floor's colour, down to the width of a finger."""

from collections.abc import Iterator

import cv2
import numpy as np

from hidewright.geometry.segment import Floats
from hidewright.geometry.surface import Ints
from hidewright.photo.light import in_even_light, slow_part
from hidewright.photo.looks import Fields, Look, likelihood, looks_of
from hidewright.photo.picture import Flags, Mask, Picture, reduced

#: Holes are looked for at about so many pixels.
_PIXELS = 2_500_000
#: A hole is at least so wide, mm; what is narrower is a scar or a joint in the floor.
LEAST_MM = 9.0
#: A spot differs from the leather round it by at least so many spreads.
_APART = 3.5
#: Looks of the floor, and of leather.
_FLOOR, _LEATHER = 8, 1
#: Away from the edge, where its shadow and its blur lie, mm.
_EDGE_MM = 8.0
#: Order of the polynomial that the leather's own colour is fitted by.
_ORDER = 4


def holes_in(picture: Picture, leather: Mask, paper: Mask, px_per_mm: float) -> tuple[Floats, ...]:
    """Return the edges of the holes in a hide, (n, 2) px of the photo.

    A hole is a spot that differs from the leather round it, is wide enough, and has colours that
    are likelier the floor's than the leather's; its edge runs where the colour is half way between.

    Args:
        picture: The photo.
        leather: Reduced mask with its holes filled.
        paper: Reduced mask of cards.
        px_per_mm: Scale of the photo, roughly.
    """
    small, scale = reduced(picture, _PIXELS)
    h, w = small.shape[:2]
    own = cv2.resize(leather, (w, h), interpolation=cv2.INTER_NEAREST)
    cards = cv2.dilate(cv2.resize(paper, (w, h), interpolation=cv2.INTER_NEAREST), _disc(5))
    fine = px_per_mm * scale
    inside = (cv2.erode(own, _disc(_EDGE_MM * fine)) == 1) & (cards == 0)
    floor = (cv2.dilate(own, _disc(_EDGE_MM * fine)) == 0) & (cards == 0)
    if not inside.any() or not floor.any():
        return ()
    even = cv2.GaussianBlur(in_even_light(small, floor, _ORDER), (0, 0), 0.8)
    lab: Fields = np.asarray(
        cv2.cvtColor(even.astype(np.float32) / 255, cv2.COLOR_BGR2LAB), np.float32
    )
    off, away = _off_leather(lab, inside)
    looks = looks_of(lab[floor], _FLOOR), looks_of(lab[inside], _LEATHER)
    spots = (away > _APART) & inside
    count, found = cv2.connectedComponents(spots.astype(np.uint8), connectivity=4)
    labels = np.asarray(found, np.int64)
    wide = cv2.distanceTransform(spots.astype(np.uint8), cv2.DIST_L2, 3)
    rings = []
    for spot in _wide_enough(labels, wide, count, LEAST_MM * fine / 2):
        where = labels == spot
        if _is_floor(lab[where & (wide > 1)], looks):
            rings.append((_half_way(off, where, wide, inside) + 0.5) / scale - 0.5)
    return tuple(rings)


def _disc(px: float) -> Mask:
    size = 2 * max(1, round(px)) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), np.uint8)


def _off_leather(lab: Fields, inside: Flags) -> tuple[Fields, Fields]:
    """Return by what each pixel differs from the leather round it, and by how many spreads."""
    slow = [slow_part(lab[..., k].astype(float), inside, _ORDER) for k in range(3)]
    off = (lab - np.dstack(slow)).astype(np.float32)
    flat = off[inside]
    spread = 1.4826 * np.median(np.abs(flat - np.median(flat, axis=0)), axis=0)
    away = np.sqrt(((off / np.maximum(spread, 0.8)) ** 2).sum(axis=2) / 3)
    return off, np.asarray(away, np.float32)


def _wide_enough(labels: Ints, wide: Fields, count: int, least: float) -> Iterator[int]:
    radius = np.zeros(count)
    np.maximum.at(radius, labels.ravel(), wide.ravel())
    yield from (spot for spot in range(1, count) if radius[spot] >= least)


def _is_floor(pixels: Fields, looks: tuple[list[Look], list[Look]]) -> bool:
    floor, leather = (likelihood(pixels, side) for side in looks)
    return len(pixels) > 0 and float(np.median(floor - leather)) > 0.0


def _half_way(off: Fields, where: Flags, wide: Fields, inside: Flags) -> Floats:
    """Return the edge of a spot where its colour is half way to the leather's."""
    core = where & (wide >= 0.6 * wide[where].max())
    mean = off[core].mean(axis=0)
    share = off @ (mean / max(float(mean @ mean), 1e-9))
    near = cv2.dilate(where.astype(np.uint8), _disc(3)) == 1
    spot = ((share > 0.5) & near & inside).astype(np.uint8)
    found, _ = cv2.findContours(spot, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    ring = max(found, key=cv2.contourArea)[:, 0].astype(float)
    # a contour runs through the outermost pixels: half a pixel further out is the edge
    centre = ring.mean(axis=0)
    out = ring - centre
    return np.asarray(ring + 0.5 * out / np.maximum(np.hypot(*out.T), 1e-9)[:, None])
