"""A rough edge in a photo found again to a pixel: where leather's colour changes to the floor's."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from hidewright.geometry.segment import Floats
from hidewright.photo.picture import Mask, Picture

#: From look to look along the edge, and from place to place across it, px.
_STEP, _ACROSS = 4.0, 1.0
#: How far the edge may move either way, px of the reduced picture.
_REDUCED = 2.5
#: Width of the bands on either side that show what leather and floor look like there, px, and
#: over how many looks each way they are taken together.
_BAND, _NEAR = 18, 12
#: What a jump of the edge by one place from look to look costs, in spreads of colour.
_BENT = 0.35
#: Sides fewer spreads of colour apart than this are alike, those more apart than that are not.
_ALIKE, _UNLIKE = 1.0, 2.5
#: One pixel says no more than this, in spreads: a spot or a grout line is not the edge.
_MOST = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A photo and what is roughly known of it.

    Attributes:
        picture: (h, w, 3) uint8, blue, green, red.
        leather: Reduced mask, 1 for leather.
        paper: Reduced mask, 1 for cards.
        scale: Pixels of the masks to one of the photo.
    """

    picture: Picture
    leather: Mask
    paper: Mask
    scale: float


def sharpen(
    seen: Seen, ring: Floats, *, reach: float = _REDUCED, rest: float | None = None
) -> tuple[Floats, Floats]:
    """Return a closed edge, (n, 2) px, moved across itself to where the colour changes.

    Also returns how many spreads of colour leather and floor are apart at each of its places.

    At every look the colours of the leather inside and of the floor outside, as they are near
    there, give the direction of colour that tells them apart (R. A. Fisher, The use of multiple
    measurements in taxonomic problems, Annals of Eugenics 7, 1936). The edge goes where the
    pixels on its inside look most like leather and those outside like floor, and bends as little
    as that allows: the shortest way through all looks, by dynamic programming.

    Args:
        seen: The photo.
        ring: The rough edge, either way round, px of the photo.
        reach: How far the edge may move either way, px of the reduced picture.
        rest: How far out it goes where the sides cannot be told apart, px; None moves it there too.
    """
    feet, out = _looks(ring, seen)
    far = round(reach / seen.scale) + 2
    t = np.arange(-far - _BAND, far + _BAND + 1, _ACROSS)
    at = (feet[:, None] + t[:, None] * out[:, None]).astype(np.float32)
    likeness, wide = _likeness(_colours(seen.picture, at), *_bands(seen, at, far))
    middle = slice(_BAND, len(t) - _BAND)
    # leather gained inside the edge, less leather lost outside it
    gain = 2 * np.cumsum(likeness[:, middle], axis=1) - likeness[:, middle].sum(1, keepdims=True)
    place = _shortest(-gain)
    shift = t[middle][place] + _ACROSS / 2
    if rest is not None:
        trust = np.clip((wide - _ALIKE) / (_UNLIKE - _ALIKE), 0.0, 1.0)
        shift = rest + trust * (shift - rest)
    return feet + shift[:, None] * out, wide


def _colours(picture: Picture, at: npt.NDArray[np.float32]) -> Floats:
    """Return lightness and hue at places of a photo, (looks, places, 3)."""
    found = cv2.remap(
        picture, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return cv2.cvtColor(found.astype(np.float32) / 255, cv2.COLOR_BGR2LAB).astype(float)


def _looks(ring: Floats, seen: Seen) -> tuple[Floats, Floats]:
    """Return feet evenly along a smoothed ring, and the directions out of the leather."""
    closed = np.vstack([ring, ring[:1]])
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(12, round(run[-1] / _STEP))
    at = np.linspace(0, run[-1], count, endpoint=False)
    feet = np.column_stack([np.interp(at, run, closed[:, k]) for k in (0, 1)])
    # the rough edge goes in steps of a reduced pixel: smooth over three of them
    wide = max(1, round(1.5 / seen.scale / _STEP))
    weights = np.hanning(2 * wide + 3)[1:-1]
    feet = _round(feet, weights / weights.sum())
    along = np.roll(feet, -2, axis=0) - np.roll(feet, 2, axis=0)
    out = np.column_stack([along[:, 1], -along[:, 0]])
    out /= np.maximum(np.hypot(*out.T), 1e-12)[:, None]
    if _signed_area(feet) < 0:
        out = -out
    return feet, out


def _signed_area(ring: Floats) -> float:
    x, y = ring.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def _round(values: Floats, weights: Floats) -> Floats:
    """Return values smoothed along the first axis, which closes on itself."""
    half = len(weights) // 2
    padded = np.concatenate([values[-half:], values, values[:half]]) if half else values
    rounded = np.zeros_like(values)
    for k, weight in enumerate(weights):
        rounded += weight * padded[k : k + len(values)]
    return rounded


def _bands(seen: Seen, at: npt.NDArray[np.float32], reach: int) -> tuple[Floats, Floats]:
    """Return (looks, places) weights: what is surely leather, and surely floor."""
    x = np.clip(np.round(at[..., 0] * seen.scale), 0, seen.leather.shape[1] - 1).astype(int)
    y = np.clip(np.round(at[..., 1] * seen.scale), 0, seen.leather.shape[0] - 1).astype(int)
    inside = seen.leather[y, x].astype(float)
    clear = 1.0 - seen.paper[y, x]
    leather, floor = inside * clear, (1 - inside) * clear
    leather[:, _BAND + reach // 2 :] = 0
    floor[:, : -_BAND - reach // 2] = 0
    return leather, floor


def _likeness(colours: Floats, leather: Floats, floor: Floats) -> tuple[Floats, Floats]:
    """Return how much every pixel looks like leather, and how far apart the sides are at each look.

    Both in spreads of colour; the first within ``_MOST`` either way.
    """
    flat = np.ones(2 * _NEAR + 1)

    def side(weight: Floats) -> tuple[Floats, Floats]:
        total = _round(weight.sum(axis=1), flat)[:, None] + 1e-9
        mean = _round(np.einsum("np,npc->nc", weight, colours), flat) / total
        square = _round(np.einsum("np,npc,npd->ncd", weight, colours, colours), flat)
        return mean, square / total[..., None] - mean[:, :, None] * mean[:, None, :]

    (one, spread_one), (two, spread_two) = side(leather), side(floor)
    spread = (spread_one + spread_two) / 2 + 4.0 * np.eye(3)
    apart = one - two
    normal = np.linalg.solve(spread, apart[..., None])[..., 0]
    wide = np.sqrt(np.maximum(np.einsum("nc,nc->n", normal, apart), 1e-9))
    off = colours - ((one + two) / 2)[:, None]
    score = np.einsum("npc,nc->np", off, normal) / wide[:, None]
    return np.clip(score, -_MOST, _MOST), wide


def _shortest(cost: Floats) -> npt.NDArray[np.int64]:
    """Return the place at each look, of a way round that closes on itself."""
    n, places = cost.shape
    lap = min(n, 60)
    rolled = np.concatenate([cost, cost[:lap]])
    jump = np.subtract.outer(np.arange(places), np.arange(places)) ** 2 * _BENT
    total = rolled[0].copy()
    came = np.zeros(rolled.shape, np.int64)
    for look in range(1, len(rolled)):
        ways = total[None, :] + jump
        came[look] = ways.argmin(axis=1)
        total = ways[np.arange(places), came[look]] + rolled[look]
    place = np.zeros(len(rolled), np.int64)
    place[-1] = total.argmin()
    for look in range(len(rolled) - 1, 0, -1):
        place[look - 1] = came[look, place[look]]
    # the first looks are taken from the second lap's half, where the way has settled
    place[: lap // 2] = place[n : n + lap // 2]
    return place[:n]
