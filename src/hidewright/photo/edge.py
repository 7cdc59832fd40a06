"""A rough edge in a photo found again to a pixel: where leather's colour changes to the floor's."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

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
_BENT = 0.8
#: Degrees of freedom of a colour: far from both sides it tells little between them, so that a spot
#: or a joint is not taken for the edge.
_FREEDOM = 32.0
#: Colours are means over so many px each way, which takes noise out and leaves edges in place.
_MEAN_OF = 5
#: Steps of colour to a unit of its logarithm, so that all fit into a byte.
_SCALE = 46.0
_LOGARITHM = np.round(_SCALE * np.log(np.maximum(np.arange(256), 4))).astype(np.uint8)
#: Spread of lightness and the two of hue at least, squared steps: light drifts.
_LEAST = np.diag([2.0, 0.5, 0.5])
#: A shadow beside the leather takes up to half of the floor's light, and is up to ``_BAND`` wide.
_SHADE = _SCALE * np.log(2.0)
#: It explains so much at least, in what leather and floor are apart: what blur does is less.
_LEAST_SHADOW = 0.2


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
    seen: Seen, ring: Floats, *, reach: float = _REDUCED, give: float = np.inf
) -> tuple[Floats, Floats]:
    """Return a closed edge, (n, 2) px, moved across itself to where the colour changes.

    Also returns how many spreads of colour leather and floor are apart at each of its places.

    At every look the colours of the leather inside and of the floor outside, as they are near
    there, say how likely each pixel is either, or floor in a shadow: a multivariate t distribution
    each (K. L. Lange, R. J. A. Little, J. M. G. Taylor, Robust statistical modeling using the t
    distribution, Journal of the American Statistical Association 84, 1989). The edge goes where
    the pixels inside it are likeliest leather and those outside floor, shaded or not next to the
    edge; it bends as little as that allows: the shortest way through all looks, by dynamic
    programming.

    Args:
        seen: The photo.
        ring: The rough edge, either way round, px of the photo.
        reach: How far the edge may move either way, px of the reduced picture.
        give: How far it moves as a rule, px of the reduced picture: one standard deviation.
    """
    feet, out = _looks(ring, seen)
    far = round(reach / seen.scale) + 2
    t = np.arange(-far - _BAND, far + _BAND + 1, _ACROSS)
    at = (feet[:, None] + t[:, None] * out[:, None]).astype(np.float32)
    inside, outside, clear = _bands(seen, at, far)
    leather, shadow, wide = _over_floor(_colours(seen.picture, at), inside, outside)
    places = t[_BAND:-_BAND]
    unlikely = (places * seen.scale / give) ** 2
    explained = _inside_shadow(clear * leather, clear * shadow, _LEAST_SHADOW * wide)
    place = _shortest(unlikely - 2 * explained)
    shift = places[place] + _ACROSS / 2
    return feet + shift[:, None] * out, wide


def _colours(picture: Picture, at: npt.NDArray[np.float32]) -> Floats:
    """Return lightness and two of hue at places of a photo, (looks, places, 3).

    They are of logarithms: shade changes the first alone.
    """
    mean = cv2.blur(cv2.LUT(picture, _LOGARITHM), (_MEAN_OF, _MEAN_OF))
    logs = cv2.remap(
        mean, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    ).astype(float)
    return np.dstack([logs.mean(axis=2), logs[..., 2] - logs[..., 1], logs[..., 1] - logs[..., 0]])


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


def _bands(seen: Seen, at: npt.NDArray[np.float32], reach: int) -> tuple[Floats, Floats, Floats]:
    """Return (looks, places) weights: what is surely leather, surely floor, and no card."""
    x = np.clip(np.round(at[..., 0] * seen.scale), 0, seen.leather.shape[1] - 1).astype(int)
    y = np.clip(np.round(at[..., 1] * seen.scale), 0, seen.leather.shape[0] - 1).astype(int)
    inside = seen.leather[y, x].astype(float)
    clear = 1.0 - seen.paper[y, x]
    leather, floor = inside * clear, (1 - inside) * clear
    leather[:, _BAND + reach // 2 :] = 0
    floor[:, : -_BAND - reach // 2] = 0
    return leather, floor, clear


def _over_floor(colours: Floats, leather: Floats, floor: Floats) -> tuple[Floats, Floats, Floats]:
    """Return how much likelier than floor every pixel is as leather, and as floor in shadow.

    Also returns how far apart leather and floor are at each look; all in spreads of colour.
    """
    flat = np.ones(2 * _NEAR + 1)

    def side(weight: Floats) -> tuple[Floats, Floats]:
        total = _round(weight.sum(axis=1), flat)[:, None] + 1e-9
        mean = _round(np.einsum("np,npc->nc", weight, colours), flat) / total
        square = _round(np.einsum("np,npc,npd->ncd", weight, colours, colours), flat)
        return mean, square / total[..., None] - mean[:, :, None] * mean[:, None, :]

    def fit(mean: Floats, spread: Floats) -> Floats:
        """Return the logarithm of how likely the colours are, up to one constant."""
        root = np.linalg.inv(np.linalg.cholesky(spread))
        off = np.einsum("ncd,npd->npc", root, colours - mean[:, None])
        tail = (_FREEDOM + 3) * np.log1p((off * off).sum(axis=2) / _FREEDOM)
        return np.asarray(-(tail + np.log(np.linalg.det(spread))[:, None]) / 2)

    (one, spread_one), (two, spread_two) = side(leather), side(floor)
    spread = (spread_one + spread_two) / 2 + _LEAST
    apart = one - two
    normal = np.linalg.solve(spread, apart[..., None])[..., 0]
    wide = np.sqrt(np.maximum(np.einsum("nc,nc->n", normal, apart), 1e-9))
    shade, any_shade = np.zeros(3), np.zeros((3, 3))
    shade[0], any_shade[0, 0] = _SHADE / 2, _SHADE**2 / 12
    lit = fit(two, spread)
    return (
        (fit(one, spread) - lit) / wide[:, None],
        (fit(two - shade, spread + any_shade) - lit) / wide[:, None],
        wide,
    )


def _inside_shadow(leather: Floats, shadow: Floats, least: Floats) -> Floats:
    """Return what the edge explains at each of its places: leather inside, shadow just outside.

    Args:
        leather: (looks, places) what each pixel gains as leather.
        shadow: The same as shadow.
        least: What a shadow must explain at each look to be one: a blurred edge is none.
    """
    inside, dark = np.cumsum(leather, axis=1), np.cumsum(shadow, axis=1)
    ends = sliding_window_view(dark[:, _BAND:], _BAND + 1, axis=1).max(axis=2)
    shaded = np.maximum(0.0, ends - dark[:, _BAND:-_BAND] - least[:, None])
    return np.asarray(inside[:, _BAND:-_BAND] + shaded)


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
