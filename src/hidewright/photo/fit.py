"""The floor under a photo, from cards whose size is known and whose places are not."""

from collections.abc import Mapping
from dataclasses import dataclass

import cv2
import numpy as np
from scipy.optimize import least_squares

from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats
from hidewright.photo.lens import View

#: Corners of a marker are found about so exactly, px: 0.14 on rendered photos.
CORNER_PX = 0.2
#: How much corners that are left over count as having shown the spread, in corner coordinates.
_TRUSTED = 12.0
#: Phone lenses after their own correction stay within about twice this, in long sides of the
#: photo. From memory, no source.
K1_SPREAD = 0.05
#: Corners that miss by more than this, px, come from a card that is not flat or not square.
WORST_PX = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """What the cards say.

    Attributes:
        view: Scale, perspective and lens.
        cards: Corners of each card on the floor, mm, by its number: (4, 2) from its upper left
            on, clockwise as printed.
        residual_px: Root mean square of what the corners miss by, in each direction.
        covariance: (9, 9) of the homography's eight numbers and k1.
    """

    view: View
    cards: Mapping[int, Floats]
    residual_px: float
    covariance: Floats


def fit_view(found: Mapping[int, Floats], size: tuple[int, int], side_mm: float) -> Fit:
    """Return the view that explains the corners of all cards together, by least squares.

    Unknown are the homography, k1, and of each card but the first its place and turn on the
    floor; known is that each is a square of one size. The first lies at the origin. k1 is held
    near nought by its usual spread, so that one card leaves it open rather than undefined.

    Args:
        found: Corners of each card in the photo, px, (4, 2) clockwise from its upper left.
        size: Of the photo, px.
        side_mm: Of every card's black square.

    Raises:
        RequestError: When the corners cannot be those of flat squares of one size.
    """
    numbers = sorted(found, key=lambda n: -_area(found[n]))
    pixels = np.concatenate([found[n] for n in numbers])
    square = side_mm / 2 * np.array([(-1.0, 1), (1, 1), (1, -1), (-1, -1)])

    def parts(unknown: Floats) -> tuple[View, Floats]:
        view = View(homography=tuple(unknown[:8] * scales), k1=float(unknown[8]), size=size)
        places = np.vstack([np.zeros(3), unknown[9:].reshape(-1, 3)])
        c, s = np.cos(places[:, 2])[:, None], np.sin(places[:, 2])[:, None]
        x, y = square[:, 0], square[:, 1]
        corners = np.stack([c * x - s * y, s * x + c * y], axis=-1)
        return view, np.asarray(corners + side_mm * places[:, None, :2])

    def missed(unknown: Floats) -> Floats:
        view, corners = parts(unknown)
        by = (view.to_photo(corners.reshape(-1, 2)) - pixels).ravel() / CORNER_PX
        return np.asarray([*by, unknown[8] / K1_SPREAD])

    start = View(homography=(0.0,) * 8, k1=0.0, size=size)
    begin, scales = _begin([start.normal(found[n]) for n in numbers], square, side_mm)
    solved = least_squares(missed, begin, x_scale="jac", method="trf", max_nfev=200)
    view, corners = parts(solved.x)
    misses = missed(solved.x)[:-1] * CORNER_PX
    if not solved.success or np.abs(misses).max() > WORST_PX:
        worst = numbers[int(np.abs(misses).argmax()) // 8] + 1
        raise RequestError(
            "the cards do not agree",
            because=f"card {worst} misses its place by {np.abs(misses).max():.0f} px",
            mend="Lay them flat on the floor, all printed at one size, and take the photo again",
        )
    spare = len(misses) + 1 - len(solved.x)
    spread = (float(misses @ misses) + _TRUSTED * CORNER_PX**2) / (spare + _TRUSTED)
    slopes = np.asarray(solved.jac)
    full = np.linalg.pinv(slopes.T @ slopes) * spread / CORNER_PX**2
    to_own = np.diag([*scales, 1.0])
    return Fit(
        view=view,
        cards=dict(zip(numbers, corners, strict=True)),
        residual_px=float(np.sqrt(np.mean(misses**2))),
        covariance=to_own @ full[:9, :9] @ to_own,
    )


def _area(corners: Floats) -> float:
    return float(cv2.contourArea(corners.astype(np.float32)))


def _begin(cards: list[Floats], square: Floats, side_mm: float) -> tuple[Floats, Floats]:
    """Return the unknowns as the largest card alone has them, and the scale of each of eight."""
    # one card's perspective is too weak to carry far: begin by looking straight down
    linear, *_ = np.linalg.lstsq(np.column_stack([square, np.ones(4)]), cards[0], rcond=None)
    size = float(np.abs(linear[:2]).max())
    scales = np.array([size, size, 1, size, size, 1, size, size])
    first = np.array([*linear[:, 0], *linear[:, 1], 0.0, 0.0]) / scales
    inverse = np.linalg.inv(linear[:2].T)
    places = []
    for corners in cards[1:]:
        flat = (corners - linear[2]) @ inverse.T
        right = flat[1] + flat[2] - flat[0] - flat[3]
        places += [*(flat.mean(axis=0) / side_mm), float(np.arctan2(right[1], right[0]))]
    return np.array([*first, 0.0, *places]), scales
