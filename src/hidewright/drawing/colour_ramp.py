"""Colours for amounts: from light yellow to dark blue in even steps, told apart by every eye.

A straight line through OKLab, a space in which equal distances look equally far apart (B. Ottosson,
A perceptual color space for image processing, 2020; its matrices from memory, the tests hold them
to white, black and the ends). Along it lightness falls as evenly as hue turns, so that the ramp
keeps its order in black and white; yellow and blue stay apart for eyes that mix up red and green.
"""

import numpy as np

from hidewright.geometry.segment import Floats

#: Ends of the ramp: lightness, green to red, blue to yellow. Least and most.
LIGHT = (0.94, -0.03, 0.13)
DARK = (0.38, -0.01, -0.15)

_TO_LMS = ((1.0, 0.3963377774, 0.2158037573), (1.0, -0.1055613458, -0.0638541728),
           (1.0, -0.0894841775, -1.2914855480))  # fmt: skip
_TO_RGB = ((4.0767416621, -3.3077115913, 0.2309699292),
           (-1.2684380046, 2.6097574011, -0.3413193965),
           (-0.0041960863, -0.7034186147, 1.7076147010))  # fmt: skip


def ramp(count: int) -> tuple[str, ...]:
    """Return so many colours as ``#rrggbb``, the lightest first, each equally far from the next.

    Args:
        count: At least two.
    """
    share = np.linspace(0.0, 1.0, count)[:, None]
    return tuple(
        _hex(rgb) for rgb in srgb(np.array(LIGHT) * (1.0 - share) + np.array(DARK) * share)
    )


def shaded(colour: str, light: float) -> str:
    """Return a colour with only a share of its light, 0 to 1, as on a face turned away from it."""
    parts = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return _hex(np.array([part * light for part in parts]))


def srgb(oklab: Floats) -> Floats:
    """Return (n, 3) shares of red, green and blue as screens take them, of (n, 3) OKLab colours."""
    linear = (oklab @ np.array(_TO_LMS).T) ** 3 @ np.array(_TO_RGB).T
    linear = np.clip(linear, 0.0, 1.0)
    # the curve of IEC 61966-2-1
    shares: Floats = np.where(
        linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1.0 / 2.4) - 0.055
    )
    return shares


def _hex(rgb: Floats) -> str:
    return "#" + "".join(f"{round(float(part) * 255):02x}" for part in rgb)
