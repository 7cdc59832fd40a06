"""How leather and floor look: colour and roughness of each pixel, and mixtures of such looks."""

from collections.abc import Sequence

import cv2
import numpy as np
import numpy.typing as npt

from hidewright.geometry.segment import Floats
from hidewright.photo.picture import Picture

#: Pixels that a mixture is learned from at most.
_SAMPLES = 12_000
#: Roughness is taken over about so many px each way.
_OVER = 3.0
#: Weight of a doubling of roughness, and of its direction, beside a step of colour.
_ROUGHNESS, _DIRECTION = 8.0, 40.0

#: Logarithm of a look's share with its density, its mean, and a root of the inverse covariance.
Look = tuple[float, Floats, Floats]
Fields = npt.NDArray[np.float32]


def fields_of(picture: Picture) -> Fields:
    """Return (h, w, 6): three of colour, and the amounts and the direction of roughness.

    Roughness is the mean outer product of the gradient of the logarithm of light (W. Forstner,
    E. Gulch, A fast operator for detection and precise location of distinct points, ISPRS 1987):
    it tells boards from leather of their colour, by how much grain there is and which way it runs.
    """
    colours = cv2.GaussianBlur(_colours(picture), (0, 0), 1.5)
    grey = cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY).astype(np.float32)
    light = np.log(np.maximum(grey, 8))
    # a joint or a shadow counts as no rougher than the steepest grain
    right = np.clip(cv2.Sobel(light, cv2.CV_32F, 1, 0, ksize=3) / 8, -0.2, 0.2)
    down = np.clip(cv2.Sobel(light, cv2.CV_32F, 0, 1, ksize=3) / 8, -0.2, 0.2)
    xx, yy, xy = (
        cv2.GaussianBlur(v, (0, 0), _OVER) for v in (right * right, down * down, right * down)
    )
    least = 1e-5
    roughness = _ROUGHNESS / np.log(2.0) * np.log(np.dstack([xx, yy]) + least)
    direction = _DIRECTION * xy / (xx + yy + least)
    return np.dstack([colours, roughness, direction]).astype(np.float32)


def _colours(picture: Picture) -> Fields:
    """Return lightness, and hue freed of it, as three channels of like weight."""
    smooth = cv2.bilateralFilter(picture, 5, 20, 3)
    lab = cv2.cvtColor(smooth.astype(np.float32) / 255, cv2.COLOR_BGR2LAB)
    chroma = lab[..., 1:] * (60 / np.maximum(lab[..., 0], 12))[..., None]
    return np.clip(np.dstack([1.6 * lab[..., 0], 128 + 2.2 * chroma]), 0, 255).astype(np.float32)


def looks_of(pixels: Fields, count: int) -> list[Look]:
    """Return a mixture of at most so many normal distributions, (n, channels) pixels being its."""
    some = np.ascontiguousarray(pixels[:: max(1, len(pixels) // _SAMPLES)], np.float32)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 20, 0.5)
    cv2.setRNGSeed(1)
    _, labels, _ = cv2.kmeans(some, count, np.zeros(0), stop, 1, cv2.KMEANS_PP_CENTERS)
    found = []
    for look in range(count):
        own = some[labels.ravel() == look].astype(float)
        if len(own) < 30:
            continue
        root = np.linalg.cholesky(np.linalg.inv(np.cov(own.T) + 4 * np.eye(own.shape[1])))
        density = float(np.log(len(own) / len(some)) + np.log(np.diag(root)).sum())
        found.append((density, own.mean(axis=0), root))
    return found


def likelihood(fields: Fields, looks: Sequence[Look]) -> Fields:
    """Return the logarithm of how likely each pixel is in a mixture, up to one constant."""
    total = np.full(fields.shape[:-1], -1e9, np.float32)
    for density, mean, root in looks:
        off = (fields - mean.astype(np.float32)) @ root.astype(np.float32)
        total = np.logaddexp(total, np.float32(density) - 0.5 * (off * off).sum(axis=-1))
    return np.asarray(total, np.float32)
