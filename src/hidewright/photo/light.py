"""Slow changes over a photo, of light or of leather, as polynomials that hold against spots."""

import numpy as np

from hidewright.geometry.segment import Floats
from hidewright.photo.picture import Flags, Picture

#: Pixels that a polynomial is fitted to at most.
_SAMPLES = 20_000


def in_even_light(picture: Picture, floor: Flags, order: int) -> Picture:
    """Return a picture with the slow changes of light on its floor taken out."""
    light = np.log(np.maximum(picture.max(axis=2), 4).astype(float))
    gain = np.exp(np.clip(np.log(110.0) - slow_part(light, floor, order), -1.5, 1.5))
    return np.asarray(np.clip(picture * gain[..., None], 0, 255), np.uint8)


def slow_part(values: Floats, where: Flags, order: int) -> Floats:
    """Return the polynomial in x and y that fits values, (h, w), at some pixels, for all of them.

    Pixels that do not follow (joints, motifs, spots) count less at each of three rounds.
    """
    h, w = values.shape
    down, along = (np.vander(np.linspace(-1, 1, n), order + 1, increasing=True) for n in (h, w))
    terms = [(k, i) for i in range(order + 1) for k in range(order + 1 - i)]
    rows, columns = np.nonzero(where)
    few = slice(None, None, max(1, len(rows) // _SAMPLES))
    rows, columns = rows[few], columns[few]
    seen = values[rows, columns]
    design = np.column_stack([down[rows, k] * along[columns, i] for k, i in terms])
    weight = np.ones(len(seen))
    for _ in range(3):
        found, *_ = np.linalg.lstsq(design * weight[:, None], seen * weight, rcond=None)
        off = np.abs(seen - design @ found)
        weight = 1 / (1 + off / max(float(np.median(off)), 1e-3))
    shares = np.zeros((order + 1, order + 1))
    shares[tuple(zip(*terms, strict=True))] = found
    return np.asarray(down @ shares @ along.T)
