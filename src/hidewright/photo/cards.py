"""Scale cards: square markers of known size whose pattern says which card it is and how it lies."""

from functools import cache

import cv2
import numpy as np
import numpy.typing as npt

from hidewright.geometry.segment import Floats

Grey = npt.NDArray[np.uint8]

#: Numbers of the cards that are printed; other markers in a photo are not ours.
NUMBERS = tuple(range(8))
#: Side of the black square, mm.
SIDE_MM = 80.0

#: Of the library's own dictionaries: 5 x 5 cells with a frame of one cell; its first 50 patterns
#: differ in so many cells that a floor's pattern is not taken for one.
_DICTIONARY = cv2.aruco.DICT_5X5_50
_CELLS = 7
#: Cards are looked for at these scales: small in large photos, sharp in small ones.
_SCALES = (0.5, 1.0)
#: Looks across each edge of a card: how many, over which part of it, and how far either way in
#: sides of the card (a cell is a seventh, the white margin a ninth).
_LOOKS, _PART, _REACH = 48, 0.8, 0.06


def dictionary() -> cv2.aruco.Dictionary:
    """Return the patterns."""
    return cv2.aruco.getPredefinedDictionary(_DICTIONARY)


@cache
def cells_of(number: int) -> tuple[tuple[bool, ...], ...]:
    """Return which cells of a card are black, row by row from the top.

    >>> [sum(row) for row in cells_of(0)]
    [7, 5, 4, 5, 4, 4, 7]
    """
    drawn = cv2.aruco.generateImageMarker(dictionary(), number, _CELLS)
    return tuple(tuple(bool(cell == 0) for cell in row) for row in np.asarray(drawn).tolist())


def find_cards(grey: Grey) -> dict[int, Floats]:
    """Return the corners of the cards that lie whole in a picture, px, to a part of a pixel.

    Args:
        grey: (h, w) uint8.

    Returns:
        (4, 2) by number, from the upper left of the printed card on, clockwise. A card that is
        seen twice is left out: it cannot be told which print is meant.
    """
    settings = cv2.aruco.DetectorParameters()
    settings.adaptiveThreshWinSizeMin = 5
    settings.adaptiveThreshWinSizeMax = 65
    settings.adaptiveThreshWinSizeStep = 20
    settings.polygonalApproxAccuracyRate = 0.05
    settings.minMarkerPerimeterRate = 0.02
    detector = cv2.aruco.ArucoDetector(dictionary(), settings)
    cards: dict[int, Floats] = {}
    twice: set[int] = set()
    for scale in _SCALES:
        small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        quads, numbers, _ = detector.detectMarkers(small)
        found = [int(n) for n in np.ravel(numbers)] if numbers is not None else []
        twice |= {n for n in found if found.count(n) > 1}
        for number, quad in zip(found, quads, strict=True):
            cards[number] = (quad[0].astype(float) + 0.5) / scale - 0.5
    return {n: _sharpened(grey, cards[n]) for n in sorted(set(cards) & set(NUMBERS) - twice)}


def _sharpened(grey: Grey, corners: Floats) -> Floats:
    """Return corners as crossings of the lines that fit where the edges change half way.

    Each edge is looked across at many places; where the grey passes the mean of the ink's and
    the paper's is the edge there. A line through all of them, the stray ones left out, is known
    far better than any one corner.
    """
    for _ in range(2):
        after = np.roll(corners, -1, axis=0)
        lines = [_edge(grey, a, b) for a, b in zip(corners, after, strict=True)]
        if any(line is None for line in lines):
            return corners
        crossed = [_crossing(lines[k - 1], lines[k]) for k in range(4)]
        corners = np.array(crossed)
    return corners


def _edge(grey: Grey, start: Floats, end: Floats) -> Floats | None:
    """Return the line a x + b y = c of a card's edge as (a, b, c), or None when it is not clear."""
    along = end - start
    length = float(np.hypot(*along))
    out = np.array([along[1], -along[0]]) / length
    reach = max(3.0, _REACH * length)
    t = np.linspace(-reach, reach, 4 * int(np.ceil(reach)) + 1)
    share = 0.5 + _PART * (np.linspace(0, 1, _LOOKS) - 0.5)
    feet = start + share[:, None] * along
    at = (feet[:, None] + t[:, None] * out).astype(np.float32)
    looks = cv2.remap(grey, at[..., 0], at[..., 1], cv2.INTER_LINEAR).astype(float)
    quarter = len(t) // 4
    ink, paper = looks[:, :quarter].mean(), looks[:, -quarter:].mean()
    if paper - ink < 20:
        return None
    above = looks > (ink + paper) / 2
    k = np.argmax(above, axis=1)
    clear = (k > 0) & above.any(axis=1)
    rows, k = np.flatnonzero(clear), k[clear]
    if len(rows) < _LOOKS // 2:
        return None
    low, high = looks[rows, k - 1], looks[rows, k]
    passed = t[k - 1] + (t[1] - t[0]) * ((ink + paper) / 2 - low) / (high - low)
    points = feet[rows] + passed[:, None] * out
    for _ in range(3):
        middle = points.mean(axis=0)
        normal = np.linalg.svd(points - middle)[2][1]
        off = np.abs((points - middle) @ normal)
        points = points[off <= max(0.15, 2.5 * float(np.median(off)))]
    return np.array([*normal, normal @ middle])


def _crossing(one: Floats | None, two: Floats | None) -> Floats:
    assert one is not None
    assert two is not None
    return np.asarray(np.linalg.solve([one[:2], two[:2]], [one[2], two[2]]))
