"""The edge of leather followed in drawn pictures whose edge is known."""

import cv2
import numpy as np
import numpy.typing as npt
import pytest

from hidewright.photo.edge import Seen, sharpen
from hidewright.photo.picture import Picture

RADIUS = 250.0
SIZE = 800
MIDDLE = (SIZE - 1) / 2
#: Reduced masks have a pixel to four.
SCALE = 0.25
#: Blue, green and red: one of another hue, and one that is the floor in half shade but for a tint.
FLOOR, PALE, SHADY = (70, 110, 170), (120, 170, 205), (50, 75, 128)

y, x = np.mgrid[:SIZE, :SIZE]
FROM_MIDDLE = np.hypot(x - MIDDLE, y - MIDDLE)


def drawn(leather: tuple[int, int, int], shade: npt.NDArray[np.float64]) -> Picture:
    """Return a disc of leather on a floor that is as bright as shade says, with noise."""
    inside = np.clip(RADIUS - FROM_MIDDLE + 0.5, 0.0, 1.0)[..., None]
    floor = np.array(FLOOR) * shade[..., None]
    picture = cv2.GaussianBlur(inside * np.array(leather) + (1 - inside) * floor, (0, 0), 0.8)
    noise = np.random.default_rng(3).normal(0, 4, picture.shape)
    return np.asarray(np.clip(picture + noise, 0, 255), np.uint8)


def strays(
    picture: Picture, rough: float, paper: npt.NDArray[np.bool_] | None = None
) -> npt.NDArray[np.float64]:
    """Return how far outside the true edge each place is that is found from a rough circle."""
    small = (cv2.resize(FROM_MIDDLE, None, fx=SCALE, fy=SCALE) < RADIUS).astype(np.uint8)
    cards = np.zeros_like(small)
    if paper is not None:
        cards = cv2.resize(paper.astype(np.uint8), None, fx=SCALE, fy=SCALE)
    seen = Seen(picture=picture, leather=small, paper=np.asarray(cards, np.uint8), scale=SCALE)
    turn = np.linspace(0, 2 * np.pi, 500, endpoint=False)[:, None]
    ring = MIDDLE + (RADIUS + rough) * np.hstack([np.cos(turn), np.sin(turn)])
    edge, _ = sharpen(seen, ring)
    return np.asarray(np.hypot(*(edge - MIDDLE).T) - RADIUS)


EVEN = np.ones((SIZE, SIZE))
#: A shadow to the lower right that takes a third of the light and ends softly.
SHADOW = 1 - 0.35 / (1 + np.exp((FROM_MIDDLE - RADIUS - 7 * (x + y - 2 * MIDDLE) / RADIUS) / 1.5))
#: Boards with dark joints, some of which end at the edge.
JOINTS = np.where((y % 90 < 6) | (x % 310 < 5), 0.35, 1.0)


@pytest.mark.parametrize("rough", [-6.0, 0.0, 6.0])
@pytest.mark.parametrize("leather", [PALE, SHADY], ids=["pale", "like floor in shade"])
@pytest.mark.parametrize(
    "shade", [EVEN, SHADOW, JOINTS], ids=["plain floor", "shadow beside it", "joints"]
)
def test_the_edge_is_found_to_three_pixels_and_to_one_in_the_mean(
    shade: npt.NDArray[np.float64], leather: tuple[int, int, int], rough: float
) -> None:
    off = strays(drawn(leather, shade), rough)
    assert abs(float(off.mean())) < 1.2
    assert float(np.abs(off).max()) < 3.0


def test_a_card_of_the_leather_s_colour_beside_it_is_not_taken_for_leather() -> None:
    paper = (np.abs(x - MIDDLE) < 50) & (y > MIDDLE + RADIUS + 4)
    picture = drawn(PALE, EVEN)
    picture[paper] = PALE
    assert float(np.abs(strays(picture, 0.0, paper)).max()) < 3.0
