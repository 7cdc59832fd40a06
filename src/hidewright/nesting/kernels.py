"""The compiled heart of the search: depth tables, maps of forbidden places, moving pieces apart.

Positions are whole numbers on a square lattice. ``Field`` holds what is fixed, ``State`` what
moves; lengths are in lattice steps, pieces measured from the lower left corner of their box. A
depth table tells, for one orientation fixed at the origin and another at some lattice vector, how
many fifths of a step lie between there and the nearest vector at which both may lie.
"""

# mypy: disable-error-code="misc,no-untyped-def,untyped-decorator,import-untyped,assignment"

from typing import Any, NamedTuple

import numpy as np
from numba import njit

STRAIGHT_STEP, SLANTED_STEP = 5, 7  # a step along an axis and a diagonal: 7/5 is near sqrt 2
FAR = 1e300
STEPS = np.array([[1, 0], [1, 1], [0, 1], [-1, 1], [-1, 0], [-1, -1], [0, -1], [1, -1]])


class Field(NamedTuple):
    """What does not change while pieces are moved.

    Attributes:
        xy: (corners, 2) of all convex parts of all orientations.
        corner: (parts + 1,) first corner of each part.
        part: (orientations + 1,) first part of each orientation.
        size: (orientations, 2) widths and heights.
        reach: (orientations, 2) whole steps that cover size and spacing.
        spacing: Between pieces.
        where: (orientations, orientations) start of a depth table, or -1 while it is not made.
        depths: All depth tables.
        used: (2,) how much of them is taken, and how often they were thrown out.
        mask: (orientations,) which map of places holds for an orientation; -1 for none.
        free: (maps, rows, bytes) where an orientation may lie: a bit for each column, the lowest
            first.
        choices: (kinds + 1,) first orientation of each kind of piece.
    """

    xy: Any
    corner: Any
    part: Any
    size: Any
    reach: Any
    spacing: float
    where: Any
    depths: Any
    used: Any
    mask: Any
    free: Any
    choices: Any


class State(NamedTuple):
    """What moves.

    Attributes:
        at: (pieces, 3) column, row, orientation.
        kind: (pieces,) kind of each piece.
        weight: (pieces, pieces) by how much an overlap of two counts, symmetric.
        limit: (2,) width and height of the field.
        rng: (1,) state of the random numbers.
    """

    at: Any
    kind: Any
    weight: Any
    limit: Any
    rng: Any


class Room(NamedTuple):
    """Scratch of the search, so that it need not ask for memory.

    Attributes:
        box: (pieces, 7) see ``_survey``.
        count: (rows, columns) how many boxes reach into a cell.
        items: (rows, columns, most) which.
        cell: (2,) one over the width and height of a cell, steps.
        kept: (descents, 3) best places found: cost, column, row.
        none: (0, 0) stands for no map.
    """

    box: Any
    count: Any
    items: Any
    cell: Any
    kept: Any
    none: Any


@njit(cache=True, nogil=True)
def draw(rng, n):
    """Return a random whole number below n (xorshift64*, Vigna 2016)."""
    x = rng[0]
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    rng[0] = x
    top = (x * np.uint64(2685821657736338717)) >> np.uint64(33)
    return np.int64((top * np.uint64(n)) >> np.uint64(31))


@njit(cache=True, nogil=True)
def _lowest(xy, first, last, sign):
    """Return the corner of a part, or of its point reflection, that is lowest, then leftmost."""
    best = first
    for k in range(first + 1, last):
        dy = sign * (xy[k, 1] - xy[best, 1])
        if dy < 0.0 or (dy == 0.0 and sign * (xy[k, 0] - xy[best, 0]) < 0.0):
            best = k
    return best


@njit(cache=True, nogil=True)
def _difference(xy, a0, a1, b0, b1, out):
    """Write the corners of part a minus part b, both convex, into out; return their number.

    The edges of a convex sum are those of its terms in the order of their slopes.
    """
    na, nb = a1 - a0, b1 - b0
    i, j = _lowest(xy, a0, a1, 1.0) - a0, _lowest(xy, b0, b1, -1.0) - b0
    x, y = xy[a0 + i, 0] - xy[b0 + j, 0], xy[a0 + i, 1] - xy[b0 + j, 1]
    ta, tb, n = 0, 0, 0
    while ta < na or tb < nb:
        out[n, 0], out[n, 1] = x, y
        n += 1
        i1, j1 = (i + 1) % na, (j + 1) % nb
        ax, ay = xy[a0 + i1, 0] - xy[a0 + i, 0], xy[a0 + i1, 1] - xy[a0 + i, 1]
        bx, by = xy[b0 + j, 0] - xy[b0 + j1, 0], xy[b0 + j, 1] - xy[b0 + j1, 1]
        turn = ax * by - ay * bx
        if tb >= nb or (ta < na and turn >= 0.0):
            x, y, i, ta = x + ax, y + ay, i1, ta + 1
            if ta <= na and tb < nb and turn == 0.0:
                x, y, j, tb = x + bx, y + by, j1, tb + 1
        else:
            x, y, j, tb = x + bx, y + by, j1, tb + 1
    return n


@njit(cache=True, nogil=True)
def _fill(ring, n, grown, left, bottom, grid):
    """Mark the lattice points strictly inside a convex ring grown by a disc.

    ``grid[r, c]`` stands for the point (left + c, bottom + r).
    """
    rows, columns = grid.shape
    tiny = 1e-7
    low, high = ring[0, 1], ring[0, 1]
    for k in range(1, n):
        low, high = min(low, ring[k, 1]), max(high, ring[k, 1])
    first = max(int(np.floor(low - grown + tiny)) + 1, bottom)
    last = min(int(np.ceil(high + grown - tiny)) - 1, bottom + rows - 1)
    if last < first:
        return
    starts, ends = np.full(last - first + 1, FAR), np.full(last - first + 1, -FAR)
    for k in range(n):
        x0, y0 = ring[k, 0], ring[k, 1]
        x1, y1 = ring[(k + 1) % n, 0], ring[(k + 1) % n, 1]
        if grown > 0.0:
            for r in range(
                max(int(np.ceil(y0 - grown)), first), min(int(np.floor(y0 + grown)), last) + 1
            ):
                half = np.sqrt(max(grown * grown - (r - y0) * (r - y0), 0.0))
                starts[r - first] = min(starts[r - first], x0 - half)
                ends[r - first] = max(ends[r - first], x0 + half)
            size = np.hypot(x1 - x0, y1 - y0)
            if size == 0.0:
                continue
            ox, oy = grown * (y1 - y0) / size, grown * (x0 - x1) / size
            x0, y0, x1, y1 = x0 + ox, y0 + oy, x1 + ox, y1 + oy
        if y0 == y1:
            continue
        down, up = min(y0, y1), max(y0, y1)
        slope = (x1 - x0) / (y1 - y0)
        for r in range(max(int(np.ceil(down)), first), min(int(np.floor(up)), last) + 1):
            x = x0 + (r - y0) * slope
            starts[r - first] = min(starts[r - first], x)
            ends[r - first] = max(ends[r - first], x)
    for r in range(first, last + 1):
        if starts[r - first] > ends[r - first]:
            continue
        c0 = max(int(np.floor(starts[r - first] + tiny)) + 1 - left, 0)
        c1 = min(int(np.ceil(ends[r - first] - tiny)) - left, columns)
        for c in range(c0, c1):
            grid[r - bottom, c] = 1


@njit(cache=True, nogil=True)
def _deepen(grid, depth):
    """Write the chamfer distance of each marked point from the nearest unmarked one.

    Two passes over the grid (Borgefors, Distance transformations in digital images, 1986).
    """
    rows, columns = grid.shape
    for r in range(1, rows - 1):
        for c in range(1, columns - 1):
            if grid[r, c]:
                near = min(depth[r - 1, c], depth[r, c - 1]) + STRAIGHT_STEP
                aslant = min(depth[r - 1, c - 1], depth[r - 1, c + 1]) + SLANTED_STEP
                depth[r, c] = min(near, aslant)
    for r in range(rows - 2, 0, -1):
        for c in range(columns - 2, 0, -1):
            if grid[r, c]:
                near = min(depth[r + 1, c], depth[r, c + 1]) + STRAIGHT_STEP
                aslant = min(depth[r + 1, c - 1], depth[r + 1, c + 1]) + SLANTED_STEP
                depth[r, c] = min(depth[r, c], min(near, aslant))


@njit(cache=True, nogil=True)
def _find_room(field, a, b):
    """Give the depth table of orientation b about a room, throwing out all others if need be."""
    columns = field.reach[a, 0] + field.reach[b, 0] + 3
    rows = field.reach[a, 1] + field.reach[b, 1] + 3
    if field.used[0] + rows * columns > len(field.depths):
        field.used[0] = 0
        field.used[1] += 1
        field.where[:] = -1
    field.where[a, b] = field.used[0]
    field.used[0] += rows * columns


@njit(cache=True, nogil=True)
def _make_table(field, a, b):
    """Make the depth table of orientation b about a where it has room; return its start."""
    left, bottom = -field.reach[b, 0] - 1, -field.reach[b, 1] - 1
    columns, rows = field.reach[a, 0] + 2 - left, field.reach[a, 1] + 2 - bottom
    start = field.where[a, b]
    grid = np.zeros((rows, columns), np.uint8)
    ring = np.zeros((1024, 2))
    for p in range(field.part[a], field.part[a + 1]):
        for q in range(field.part[b], field.part[b + 1]):
            n = _difference(
                field.xy,
                field.corner[p],
                field.corner[p + 1],
                field.corner[q],
                field.corner[q + 1],
                ring,
            )
            _fill(ring, n, field.spacing, left, bottom, grid)
    depth = field.depths[start : start + rows * columns].reshape((rows, columns))
    depth[:] = 0
    _deepen(grid, depth)
    return start


@njit(cache=True, nogil=True)
def find_rooms(field):
    """Give all depth tables room; return whether there is enough."""
    for a in range(len(field.size)):
        for b in range(a, len(field.size)):
            _find_room(field, a, b)
    return field.used[1] == 0


@njit(cache=True, nogil=True)
def make_tables(field, first, every):
    """Make one in so many of the depth tables, beginning with the first, where they have room."""
    number = 0
    for a in range(len(field.size)):
        for b in range(a, len(field.size)):
            if number % every == first:
                _make_table(field, a, b)
            number += 1


@njit(cache=True, nogil=True)
def forbid(field, orientation, xy, corner, grown, free):
    """Clear the places of a map at which an orientation comes too near to obstacles.

    Args:
        field: Only its parts are used.
        orientation: Which one is laid.
        xy: (corners, 2) of the obstacles' convex parts.
        corner: (parts + 1,) first corner of each.
        grown: How near they may not come; 0 lets them touch.
        free: (rows, columns) the map.
    """
    count = len(xy)
    first, last = field.part[orientation], field.part[orientation + 1]
    start = field.corner[first]
    both = np.concatenate((xy, field.xy[start : field.corner[last]]))
    taken = np.zeros(free.shape, np.uint8)
    ring = np.zeros((4096, 2))
    for p in range(len(corner) - 1):
        for q in range(first, last):
            b0, b1 = field.corner[q] - start + count, field.corner[q + 1] - start + count
            n = _difference(both, corner[p], corner[p + 1], b0, b1, ring)
            _fill(ring, n, grown, 0, 0, taken)
    for r in range(free.shape[0]):
        for c in range(free.shape[1]):
            if taken[r, c]:
                free[r, c] = 0


@njit(cache=True, nogil=True)
def _survey(field, state, i, room):
    """List in each cell of a coarse grid the others that piece i may overlap there, however laid.

    One grid does for all orientations: what is listed in vain is told by its box.
    """
    first, last = field.choices[state.kind[i]], field.choices[state.kind[i] + 1]
    reach_x, reach_y = field.reach[first:last, 0].max(), field.reach[first:last, 1].max()
    room.count[:] = 0
    rows, columns = room.count.shape
    most = room.items.shape[2]
    wide, high = columns / (state.limit[0] + 1.0), rows / (state.limit[1] + 1.0)
    room.cell[0], room.cell[1] = wide, high
    for j in range(len(state.at)):
        if i == j:
            continue
        x, y, p = state.at[j, 0], state.at[j, 1], state.at[j, 2]
        c0 = np.int64(max(x - reach_x + 1, 0) * wide)
        c1 = min(np.int64((x + field.reach[p, 0] - 1) * wide), columns - 1)
        r0 = np.int64(max(y - reach_y + 1, 0) * high)
        r1 = min(np.int64((y + field.reach[p, 1] - 1) * high), rows - 1)
        for r in range(r0, r1 + 1):
            for c in range(c0, c1 + 1):
                n = room.count[r, c]
                if n < most:
                    room.items[r, c, n] = j
                room.count[r, c] = n + 1


@njit(cache=True, nogil=True)
def _settled_boxes(field, state, i, o, box):
    """Tell where the others lie as piece i sees them when laid as orientation o.

    Each other piece has a box of places at which it may be overlapped, and the line
    ``base + right * x + up * y`` of its depth table there.
    """
    made = -1
    while made != field.used[1]:  # a table made on the way may have thrown out the others
        made = field.used[1]
        _boxes(field, state, o, 0, len(box), box)
    box[i, :4] = 0  # it overlaps itself nowhere


@njit(cache=True, nogil=True)
def _boxes(field, state, o, first, last, box):
    rox, roy = field.reach[o, 0], field.reach[o, 1]
    for j in range(first, last):
        x, y, p = state.at[j, 0], state.at[j, 1], state.at[j, 2]
        rpx, rpy = field.reach[p, 0], field.reach[p, 1]
        box[j, 0], box[j, 1] = x - rox + 1, x + rpx
        box[j, 2], box[j, 3] = y - roy + 1, y + rpy
        stride = rox + rpx + 3
        a, b = min(o, p), max(o, p)
        start = field.where[a, b]
        if start < 0:
            _find_room(field, a, b)
            start = _make_table(field, a, b)
        if p <= o:
            box[j, 4] = start + (roy + 1 - y) * stride + rox + 1 - x
            box[j, 5], box[j, 6] = 1, stride
        else:
            box[j, 4] = start + (y + rpy + 1) * stride + x + rpx + 1
            box[j, 5], box[j, 6] = -1, -stride


@njit(cache=True, nogil=True, inline="always")  # a call costs as much as its work
def _weighed(box, depths, weight, count, items, cell, x, y, enough):
    """Return the weighted overlap of the surveyed piece at a place; FAR once more than enough."""
    r, c = np.int64(y * cell[1]), np.int64(x * cell[0])
    n = count[r, c]
    listed = n <= items.shape[2]
    if not listed:
        n = len(box)
    total = 0.0
    for k in range(n):
        j = np.int64(items[r, c, k]) if listed else k
        if x >= box[j, 0] and x < box[j, 1] and y >= box[j, 2] and y < box[j, 3]:
            total += depths[box[j, 4] + box[j, 5] * x + box[j, 6] * y] * weight[j]
            if total >= enough:
                return FAR
    return total


@njit(cache=True, nogil=True)
def _is_set(free, x, y):
    return (free[y, x >> 3] >> (x & 7)) & 1


@njit(cache=True, nogil=True)
def _descend(room, depths, weight, free, width, height, x, y, cost, step):
    """Return the place that steps downhill from one lead to: column, row, cost."""
    masked = free.shape[0] > 0
    k = failed = 0
    while step >= 1 and cost > 0.0:
        u = x + step * STEPS[k, 0]
        v = y + step * STEPS[k, 1]
        c = FAR
        if 0 <= u < width and 0 <= v < height and not (masked and not _is_set(free, u, v)):
            c = _weighed(room.box, depths, weight, room.count, room.items, room.cell, u, v, cost)
        if c < cost:
            x, y, cost, failed = u, v, c, 0  # and on, the same way
        else:
            failed += 1
            k = (k + 3) % 8
            if failed == 8:
                step //= 2
                failed = 0
    return x, y, cost


@njit(cache=True, nogil=True)
def _move(field, state, i, effort, room):
    """Lay piece i where it overlaps least of what some samples and descents find.

    Args:
        field: What is fixed.
        state: What moves; piece i is laid anew.
        i: The piece.
        effort: (4,) orientations tried, places tried anywhere and near for each, descents.
        room: Scratch.
    """
    x0, y0, o0 = state.at[i, 0], state.at[i, 1], state.at[i, 2]
    first = field.choices[state.kind[i]]
    count = field.choices[state.kind[i] + 1] - first
    weight, depths = state.weight[i], field.depths
    box, listed, items, cell = room.box, room.count, room.items, room.cell
    bx, by, bo, best = x0, y0, o0, FAR
    tried = min(count, effort[0])
    start = draw(state.rng, count)
    kept = room.kept
    _survey(field, state, i, room)
    for t in range(tried):
        # the orientation it has comes first, then others round the circle
        o = (
            o0
            if t == 0
            else first + (o0 - first + 1 + (start + t * count // tried) % (count - 1)) % count
        )
        width = np.int64(np.floor(state.limit[0] - field.size[o, 0] + 1e-7)) + 1
        height = np.int64(np.floor(state.limit[1] - field.size[o, 1] + 1e-7)) + 1
        if width < 1 or height < 1:
            continue
        m = field.mask[o]
        free = field.free[m] if m >= 0 else room.none
        _settled_boxes(field, state, i, o, box)
        kept[:, 0] = FAR
        worst = 0
        reach_x, reach_y = field.reach[o, 0] // 4 + 1, field.reach[o, 1] // 4 + 1
        for n in range(effort[1] + effort[2] + 1):
            if n == 0:
                x, y = min(x0, width - 1), min(y0, height - 1)
            elif n <= effort[1]:
                x, y = draw(state.rng, width), draw(state.rng, height)
                for _ in range(20):
                    if m < 0 or _is_set(free, x, y):
                        break
                    x, y = draw(state.rng, width), draw(state.rng, height)
            else:
                x = min(max(x0 + draw(state.rng, 2 * reach_x + 1) - reach_x, 0), width - 1)
                y = min(max(y0 + draw(state.rng, 2 * reach_y + 1) - reach_y, 0), height - 1)
            if m >= 0 and not _is_set(free, x, y):
                continue
            c = _weighed(box, depths, weight, listed, items, cell, x, y, kept[worst, 0])
            if n == 0 and t == 0:
                best = c
            if c < kept[worst, 0]:
                kept[worst, 0], kept[worst, 1], kept[worst, 2] = c, x, y
                worst = np.argmax(kept[:, 0])
        for k in range(effort[3]):
            c = kept[k, 0]
            if c >= FAR:
                continue
            step = max(min(field.reach[o, 0], field.reach[o, 1]) // 8, 1)
            x, y = np.int64(kept[k, 1]), np.int64(kept[k, 2])
            x, y, c = _descend(room, depths, weight, free, width, height, x, y, c, step)
            if c < best:
                bx, by, bo, best = x, y, o, c
        if best == 0.0:
            break
    state.at[i, 0], state.at[i, 1], state.at[i, 2] = bx, by, bo


@njit(cache=True, nogil=True)
def _depths_of(field, state, i, room, depth):
    """Write how deep piece i overlaps each other into depth."""
    x, y, o = state.at[i, 0], state.at[i, 1], state.at[i, 2]
    rox, roy = field.reach[o, 0], field.reach[o, 1]
    box = room.box
    for j in range(len(box)):
        dx, dy, p = x - state.at[j, 0], y - state.at[j, 1], state.at[j, 2]
        d = np.int64(0)
        near = -rox < dx < field.reach[p, 0] and -roy < dy < field.reach[p, 1]
        if near and j != i:
            _boxes(field, state, o, j, j + 1, box)
            d = np.int64(field.depths[box[j, 4] + box[j, 5] * x + box[j, 6] * y])
        if d != depth[i, j]:
            depth[i, j], depth[j, i] = d, d


@njit(cache=True, nogil=True)
def lay_in_cells(field, state, i, o, cells, size, tries, room, depth):
    """Lay piece i as orientation o with its middle in one of some cells where it overlaps none.

    Args:
        field: What is fixed.
        state: What moves.
        i: The piece.
        o: How it is to be laid.
        cells: (n, 2) column and row of each cell.
        size: Of a cell, steps.
        tries: Places tried.
        room: Scratch.
        depth: (pieces, pieces) the depths, which are kept right.

    Returns:
        Whether there was such a place.
    """
    width = np.int64(np.floor(state.limit[0] - field.size[o, 0] + 1e-7)) + 1
    height = np.int64(np.floor(state.limit[1] - field.size[o, 1] + 1e-7)) + 1
    half_x, half_y = np.int64(field.size[o, 0] / 2.0), np.int64(field.size[o, 1] / 2.0)
    m = field.mask[o]
    _survey(field, state, i, room)
    _settled_boxes(field, state, i, o, room.box)
    for _ in range(tries):
        k = draw(state.rng, len(cells))
        x = cells[k, 0] * size + draw(state.rng, size) - half_x
        y = cells[k, 1] * size + draw(state.rng, size) - half_y
        if x < 0 or y < 0 or x >= width or y >= height:
            continue
        if m >= 0 and not _is_set(field.free[m], x, y):
            continue
        c = _weighed(
            room.box,
            field.depths,
            state.weight[i],
            room.count,
            room.items,
            room.cell,
            x,
            y,
            1e-9,
        )
        if c == 0.0:
            state.at[i, 0], state.at[i, 1], state.at[i, 2] = x, y, o
            _depths_of(field, state, i, room, depth)
            return True
    return False


@njit(cache=True, nogil=True)
def overlaps(field, state, room, depth):
    """Write the depth of each pair of pieces into depth; return their sum, each counted twice."""
    for i in range(len(state.at)):
        _depths_of(field, state, i, room, depth)
    return depth.sum()


@njit(cache=True, nogil=True)
def separate(field, state, depth, effort, room):
    """Move every overlapping piece once, then make the overlaps left count more.

    Guided local search (Voudouris and Tsang 1999) with weights on pairs, as by Egeblad, Nielsen
    and Odgaard, Fast neighborhood search for two- and three-dimensional nesting problems, 2007.

    Args:
        field: What is fixed.
        state: What moves.
        depth: (pieces, pieces) the depths as they are; rewritten.
        effort: (4,) orientations tried, places tried anywhere and near for each, descents.
        room: Scratch.

    Returns:
        The sum of all depths after it; 0 when nothing overlaps.
    """
    n = len(state.at)
    order = np.arange(n)
    for k in range(n - 1, 0, -1):
        m = draw(state.rng, k + 1)
        order[k], order[m] = order[m], order[k]
    for k in range(n):
        i = order[k]
        if depth[i].max() > 0:
            _move(field, state, i, effort, room)
            _depths_of(field, state, i, room, depth)
    deepest = np.array([of_one.max() for of_one in depth])
    worst = deepest.max()
    for i in range(n):
        weight = state.weight[i]
        if deepest[i] == 0:
            weight[:] = np.maximum(1.0, weight * 0.95)
            continue
        for j in range(n):
            if depth[i, j] > 0:
                weight[j] *= 1.2 + 0.8 * depth[i, j] / worst
            else:
                weight[j] = max(1.0, weight[j] * 0.95)
    return depth.sum()
