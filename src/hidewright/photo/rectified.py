"""A photo laid flat: the floor as seen from straight above, at a stated scale."""

import cv2
import numpy as np

from hidewright.photo.lens import View
from hidewright.photo.picture import Picture

#: Largest picture that is made, px on its long side.
MOST_PX = 4000
_STEP = 16
_QUALITY = 82

#: (left, bottom, right, top) on the floor, mm.
Box = tuple[float, float, float, float]


def rectified(picture: Picture, view: View, box: Box, px_per_mm: float) -> bytes:
    """Return the part of the floor in a box as a JPEG file, its top edge at the top.

    Pixel (i, j) shows the floor at (left + (i + 1/2) / px_per_mm, top - (j + 1/2) / px_per_mm).
    What the photo does not show is light grey.

    Args:
        picture: The photo.
        view: How the floor lies in it.
        box: What to show, mm.
        px_per_mm: Scale; lowered where the picture would be larger than ``MOST_PX``.
    """
    flat = laid_flat(picture, view, box, px_per_mm)
    done, data = cv2.imencode(".jpg", flat, [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
    assert done
    return bytes(data)


def laid_flat(picture: Picture, view: View, box: Box, px_per_mm: float) -> Picture:
    """Return the same as pixels."""
    left, bottom, right, top = box
    scale = min(px_per_mm, MOST_PX / max(right - left, top - bottom))
    w, h = max(1, round((right - left) * scale)), max(1, round((top - bottom) * scale))
    # the view is smooth: reckoned at every 16th pixel and drawn straight between, it is
    # within a hundredth of a pixel
    i, j = np.meshgrid(np.arange(0, w + _STEP, _STEP), np.arange(0, h + _STEP, _STEP))
    floor = np.column_stack([left + (i.ravel() + 0.5) / scale, top - (j.ravel() + 0.5) / scale])
    grid = view.to_photo(floor).reshape(*i.shape, 2).astype(np.float32)
    spread = np.array([[_STEP, 0, 0], [0, _STEP, 0]], float)
    at = cv2.warpAffine(grid, spread, (w, h), flags=cv2.INTER_LINEAR)
    flat = cv2.remap(picture, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderValue=(225, 228, 230))
    return np.asarray(flat, np.uint8)
