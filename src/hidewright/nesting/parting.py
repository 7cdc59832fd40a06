"""Compiled: the lines that keep convex parts of a layout's pieces apart."""

# mypy: disable-error-code="misc,no-untyped-def,untyped-decorator,import-untyped"

import numpy as np
from numba import njit

FAR = 1e300


@njit(cache=True, nogil=True)
def _gap(xy, p0, p1, px, py, q0, q1, qx, qy, nx, ny):
    """Return by how much two convex parts are apart along a direction, from p to q."""
    top, bottom = -FAR, FAR
    for k in range(p0, p1):
        top = max(top, nx * (xy[k, 0] + px) + ny * (xy[k, 1] + py))
    for k in range(q0, q1):
        bottom = min(bottom, nx * (xy[k, 0] + qx) + ny * (xy[k, 1] + qy))
    return bottom - top


@njit(cache=True, nogil=True)
def _parting(xy, p0, p1, px, py, q0, q1, qx, qy, best):
    """Write the direction along which two convex parts are furthest apart: x, y, gap.

    It is a normal of an edge or the direction between two corners (separating axes).
    """
    best[2] = -FAR
    for k in range(p0, p1):
        m = k + 1 if k + 1 < p1 else p0
        ex, ey = xy[m, 0] - xy[k, 0], xy[m, 1] - xy[k, 1]
        size = np.hypot(ex, ey)
        if size > 0.0:
            g = _gap(xy, p0, p1, px, py, q0, q1, qx, qy, ey / size, -ex / size)
            if g > best[2]:
                best[0], best[1], best[2] = ey / size, -ex / size, g
    for k in range(q0, q1):
        m = k + 1 if k + 1 < q1 else q0
        ex, ey = xy[m, 0] - xy[k, 0], xy[m, 1] - xy[k, 1]
        size = np.hypot(ex, ey)
        if size > 0.0:
            g = _gap(xy, p0, p1, px, py, q0, q1, qx, qy, -ey / size, ex / size)
            if g > best[2]:
                best[0], best[1], best[2] = -ey / size, ex / size, g
    if best[2] <= 0.0:
        return
    near, ux, uy = FAR, 0.0, 0.0
    for k in range(p0, p1):
        for m in range(q0, q1):
            dx, dy = xy[m, 0] + qx - xy[k, 0] - px, xy[m, 1] + qy - xy[k, 1] - py
            if dx * dx + dy * dy < near:
                near, ux, uy = dx * dx + dy * dy, dx, dy
    size = np.sqrt(near)
    if size > 0.0:
        g = _gap(xy, p0, p1, px, py, q0, q1, qx, qy, ux / size, uy / size)
        if g > best[2]:
            best[0], best[1], best[2] = ux / size, uy / size, g


@njit(cache=True, nogil=True)
def partings(xy, corner, part, at, way, reach, lines):
    """Write how each two convex parts of different pieces that are near are kept apart.

    Args:
        xy: (corners, 2) of all convex parts of all orientations.
        corner: (parts + 1,) first corner of each part.
        part: (orientations + 1,) first part of each orientation.
        at: (pieces, 2) places.
        way: (pieces,) orientations.
        reach: Parts further apart than this are left out.
        lines: (most, 5) room for: one piece, the other, direction x, y, gap.

    Returns:
        How many lines there are; no more than there is room for.
    """
    best = np.zeros(3)
    n, count = len(at), 0
    box = np.zeros((len(corner) - 1, 4))
    for p in range(len(box)):
        ring = xy[corner[p] : corner[p + 1]]
        box[p, 0], box[p, 1] = ring[:, 0].min(), ring[:, 0].max()
        box[p, 2], box[p, 3] = ring[:, 1].min(), ring[:, 1].max()
    for i in range(n):
        for j in range(i + 1, n):
            dx, dy = at[j, 0] - at[i, 0], at[j, 1] - at[i, 1]
            for p in range(part[way[i]], part[way[i] + 1]):
                for q in range(part[way[j]], part[way[j] + 1]):
                    if (
                        box[q, 0] + dx > box[p, 1] + reach
                        or box[q, 1] + dx < box[p, 0] - reach
                        or box[q, 2] + dy > box[p, 3] + reach
                        or box[q, 3] + dy < box[p, 2] - reach
                    ):
                        continue
                    _parting(
                        xy,
                        corner[p],
                        corner[p + 1],
                        0.0,
                        0.0,
                        corner[q],
                        corner[q + 1],
                        dx,
                        dy,
                        best,
                    )
                    if best[2] < reach and count < len(lines):
                        lines[count, 0], lines[count, 1] = i, j
                        lines[count, 2], lines[count, 3], lines[count, 4] = (
                            best[0],
                            best[1],
                            best[2],
                        )
                        count += 1
    return count
