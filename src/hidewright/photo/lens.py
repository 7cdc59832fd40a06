"""How a point of the floor comes into the photo: a flat view, then the lens that bends it."""

from dataclasses import dataclass, replace

import numpy as np

from hidewright.geometry.segment import Floats

#: Steps of Newton's method back through the lens; from a start within 10 % four give 1e-12.
_STEPS = 8
#: The lens model rises up to r = 1 / sqrt(3 |k1|); beyond this share of it nothing is seen.
_RISING = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A photo of a flat floor.

    A point (x, y) of the floor, mm, y to the left of x as seen from above, goes through the
    homography to a point p in long sides of the photo from its middle, x right and y down; the
    lens moves it to p (1 + k1 |p|^2), the first term of Brown's radial model (D. C. Brown,
    Close-range camera calibration, Photogrammetric Engineering 37, 1971). The middle of the lens
    is taken to be that of the photo.

    Attributes:
        homography: The eight numbers of its matrix row by row, the ninth being 1.
        k1: Radial distortion in long sides of the photo.
        size: Width and height of the photo, px.
    """

    homography: tuple[float, ...]
    k1: float
    size: tuple[int, int]

    def to_photo(self, points: Floats) -> Floats:
        """Return where (n, 2) points of the floor, mm, lie in the photo, px; centres are whole."""
        matrix = np.array([*self.homography, 1.0]).reshape(3, 3)
        flat = points @ matrix[:, :2].T + matrix[:, 2]
        straight = flat[:, :2] / flat[:, 2:]
        return self._pixels(bend(straight, self.k1))

    def to_floor(self, pixels: Floats) -> Floats:
        """Return which points of the floor, mm, are seen at (n, 2) pixels."""
        matrix = np.linalg.inv(np.array([*self.homography, 1.0]).reshape(3, 3))
        straight = unbend(self.normal(pixels), self.k1)
        flat = straight @ matrix[:, :2].T + matrix[:, 2]
        return np.asarray(flat[:, :2] / flat[:, 2:])

    def normal(self, pixels: Floats) -> Floats:
        """Return pixels in long sides of the photo from its middle."""
        w, h = self.size
        return np.asarray((pixels - ((w - 1) / 2, (h - 1) / 2)) / max(w, h))

    def moved(self, turn: float, shift: tuple[float, float]) -> "View":
        """Return the same view with floor points given after a turn and a shift.

        Args:
            turn: Of the floor's points, radians, anticlockwise.
            shift: Added after the turn, mm.
        """
        c, s = float(np.cos(turn)), float(np.sin(turn))
        to_new = np.array([[c, -s, shift[0]], [s, c, shift[1]], [0, 0, 1]])
        matrix = np.array([*self.homography, 1.0]).reshape(3, 3) @ np.linalg.inv(to_new)
        matrix /= matrix[2, 2]
        return replace(self, homography=tuple(matrix.ravel()[:8].tolist()))

    def _pixels(self, normal: Floats) -> Floats:
        w, h = self.size
        return np.asarray(normal * max(w, h) + ((w - 1) / 2, (h - 1) / 2))


def bend(straight: Floats, k1: float) -> Floats:
    """Return where the lens puts (n, 2) points of a straight view."""
    square = (straight * straight).sum(axis=1, keepdims=True)
    if k1 < 0:
        square = np.minimum(square, _RISING / (3 * -k1))
    return np.asarray(straight * (1 + k1 * square))


def unbend(bent: Floats, k1: float) -> Floats:
    """Return the points of a straight view that the lens puts there: ``bend`` undone."""
    radius = np.hypot(bent[:, 0], bent[:, 1])
    most = np.sqrt(_RISING / (3 * -k1)) if k1 < 0 else np.inf
    r = np.minimum(radius, most)
    for _ in range(_STEPS):
        r = np.clip(r - (r * (1 + k1 * r * r) - radius) / (1 + 3 * k1 * r * r), 0, most)
    return np.asarray(bent * (r / np.maximum(radius, 1e-300))[:, None])
