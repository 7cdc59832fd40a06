"""A solid as binary STL in mm."""

import struct

import numpy as np

from hidewright.drawing.line_styles import DECIMALS
from hidewright.geometry.segment import Floats
from hidewright.geometry.surface import Surface

_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def to_stl(surface: Surface, name: str) -> bytes:
    """Return a closed surface as binary STL.

    Corners are rounded to 1e-4 mm before they are stored as single floats; triangles that rounding
    closes up are left out, which keeps the rest closed. The same surface gives the same bytes.

    Args:
        surface: Closed, seen from outside counter-clockwise.
        name: Written into the header of 80 characters, plain letters only.

    Raises:
        ValueError: When the surface is open or inside out: that is a fault of the construction.
    """
    if not surface.is_closed or surface.volume <= 0:
        raise ValueError(f"the solid {name!r} is open or inside out")
    corners = surface.corners.round(DECIMALS).astype("<f4") + np.float32(0.0)
    a, b, c = np.moveaxis(corners, 1, 0)
    flat = (a == b).all(axis=1) | (b == c).all(axis=1) | (c == a).all(axis=1)
    corners = corners[~flat]
    rows = np.zeros(len(corners), dtype=_TRIANGLE)
    rows["corners"] = corners
    rows["normal"] = _normals(corners.astype(np.float64))
    # a header that begins with "solid" is taken for the text form of STL
    header = f"part {name}, mm".encode("ascii", "replace")[:80].ljust(80)
    return header + struct.pack("<I", len(rows)) + rows.tobytes()


def _normals(corners: Floats) -> Floats:
    """Return (m, 3) unit normals; nought for a triangle without area."""
    a, b, c = np.moveaxis(corners, 1, 0)
    normals = np.cross(b - a, c - a)
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    unit: Floats = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0)
    unit += 0.0
    return unit
