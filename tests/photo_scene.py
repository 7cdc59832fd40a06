"""Rendered photos of known hides: what a phone would take of them, with the truth beside it.

The lens and the place of everything come from ``cv2.projectPoints`` and ``cv2.undistortPoints``,
which the reading of photos does not use.
"""

from dataclasses import dataclass
from typing import Any, Literal

import cv2
import numpy as np
import numpy.typing as npt
import shapely
from shapely import LinearRing, Polygon

from hidewright.geometry.segment import Point
from hidewright.photo.cards import SIDE_MM, cells_of
from hidewright.photo.reading import PhotoReading

Array = npt.NDArray[Any]
Floor = Literal["boards", "tiles", "carpet"]
#: A phone's 12 megapixels, and its focal length, px: a wide lens sees about 64 degrees across.
SIZE = (4032, 3024)
FOCAL = 3200.0
#: White round a marker, mm.
MARGIN_MM = 9.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """What lies on the floor and how it is taken.

    Attributes:
        seed: Draws all that is irregular.
        floor: What the hide lies on.
        outline: The hide's edge, mm; y is up, seen from above.
        holes: Where there is no leather.
        cards: (x, y, turn in radians) of each card's middle, mm; its number is its place here.
        k1: Radial distortion of the lens, about the middle, in focal lengths.
        tilt: (about the level axis, about the upright axis, about the view), degrees.
        leather: Its colour, red, green and blue.
        brightness: Of the whole picture.
        size: Width and height, px; the lens sees the same of the floor.
    """

    seed: int
    floor: Floor
    outline: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...] = ()
    cards: tuple[tuple[float, float, float], ...]
    k1: float = 0.03
    tilt: tuple[float, float, float] = (14.0, 6.0, 3.0)
    leather: tuple[int, int, int] = (205, 160, 112)
    brightness: float = 1.0
    size: tuple[int, int] = SIZE


def side(seed: int, *, length_mm: float = 1900.0, height_mm: float = 850.0) -> tuple[Point, ...]:
    """Return a side: straight along the back, with a neck, two shanks and a wavy belly."""
    draw = np.random.default_rng(seed)
    shape = [
        (0.0, 0.62), (0.03, 0.95), (0.2, 1.0), (0.6, 0.99), (0.9, 0.97), (1.0, 0.86),
        (0.985, 0.55), (0.93, 0.32), (0.95, 0.04), (0.86, 0.0), (0.8, 0.2), (0.62, 0.16),
        (0.45, 0.2), (0.3, 0.17), (0.22, 0.02), (0.13, 0.05), (0.13, 0.3), (0.05, 0.42),
    ]  # fmt: skip
    corners = np.array(shape) * (length_mm, height_mm) + draw.normal(0, 14, (len(shape), 2))
    for _ in range(4):  # corner cutting gives a smooth edge
        after = np.roll(corners, -1, axis=0)
        corners = np.stack([0.75 * corners + 0.25 * after, 0.25 * corners + 0.75 * after], 1)
        corners = corners.reshape(-1, 2)
    # an edge that a knife has followed by hand
    phase = draw.uniform(0, 2 * np.pi, 6)
    t = np.linspace(0, 2 * np.pi, len(corners), endpoint=False)
    wave = sum(1.2 * np.sin((9 + 13 * k) * t + phase[k]) for k in range(6))
    corners[:, 1] += wave
    return tuple((float(x), float(y)) for x, y in corners)


def round_hole(x: float, y: float, radius_mm: float) -> tuple[Point, ...]:
    """Return a round hole."""
    t = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    return tuple((x + radius_mm * float(np.cos(a)), y + radius_mm * float(np.sin(a))) for a in t)


def cards_round(outline: tuple[Point, ...], count: int, seed: int) -> tuple[Any, ...]:
    """Return places of cards round a hide, clear of it, each turned as it fell."""
    draw = np.random.default_rng(seed + 77)
    xy = np.array(outline)
    (left, low), (right, high) = xy.min(0), xy.max(0)
    away, middle = 75.0, (left + right) / 2
    spots = [
        (left - away, high + 10), (right + away, high + 10),
        (right + away, low - 10), (left - away, low - 10),
        (middle, high + away), (middle, low - away),
    ]  # fmt: skip
    return tuple(
        (x + draw.uniform(-8, 8), y + draw.uniform(-8, 8), draw.uniform(-np.pi, np.pi))
        for x, y in spots[:count]
    )


class Camera:
    """A phone above the middle of what it takes, far enough to see all of it."""

    def __init__(self, scene: Scene) -> None:
        w, h = scene.size
        f = FOCAL * w / SIZE[0]
        self.matrix = np.array([[f, 0, (w - 1) / 2], [0, f, (h - 1) / 2], [0, 0, 1]])
        self.lens = np.array([scene.k1, 0, 0, 0, 0])
        cards = np.array(scene.cards)[:, :2]
        far = SIDE_MM / 2 + MARGIN_MM
        corners = far * 1.5 * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)])
        round_them = [cards + corner for corner in corners]
        xy = np.concatenate([np.array(scene.outline), *round_them])
        middle = (xy.min(0) + xy.max(0)) / 2
        a, b, c = np.radians(scene.tilt)
        flip = np.diag([1.0, -1.0, -1.0])  # seen from above
        self.turn = _turn(0, a) @ _turn(1, b) @ _turn(2, c) @ flip
        # back off until all cards are 2 % of the frame from its border
        for distance in np.arange(600, 9000, 25.0):
            self.shift = np.array([0, 0, distance]) - self.turn @ np.array([*middle, 0.0])
            px = self.to_photo(xy)
            edge = 0.02 * w
            if px.min() > edge and (px < np.array([w, h]) - edge).all():
                break

    def to_photo(self, xy: Array) -> Array:
        """Return where points of the floor, mm, come to lie, px."""
        points = np.column_stack([xy, np.zeros(len(xy))])
        rotation = cv2.Rodrigues(self.turn)[0]
        px, _ = cv2.projectPoints(points, rotation, self.shift, self.matrix, self.lens)
        found: Array = px[:, 0]
        return found

    def to_floor(self, px: Array) -> Array:
        """Return which points of the floor, mm, are seen at pixels."""
        stop = (cv2.TERM_CRITERIA_MAX_ITER + cv2.TERM_CRITERIA_EPS, 40, 1e-10)
        bent = px.reshape(-1, 1, 2).astype(float)
        rays = cv2.undistortPoints(
            bent, self.matrix, self.lens, R=None, P=None, dst=None, criteria=stop
        )
        rays = np.column_stack([rays[:, 0], np.ones(len(rays))])
        plane = np.column_stack([self.turn[:, 0], self.turn[:, 1], self.shift])
        seen = rays @ np.linalg.inv(plane).T
        found: Array = seen[:, :2] / seen[:, 2:]
        return found


def render(scene: Scene) -> Array:
    """Return the picture, (h, w, 3) uint8 in blue, green and red."""
    draw = np.random.default_rng(scene.seed)
    camera = Camera(scene)
    w, h = scene.size
    xs, ys = _seen(camera, w, h)
    picture = _floor(scene.floor, xs, ys, draw)
    mask = leather_mask(camera, scene, w, h)
    # the edge lifts a little and throws a narrow shadow to one side
    cast = cv2.GaussianBlur(
        np.roll(mask, (round(w / 800), round(w / 600)), (0, 1)), (0, 0), w / 900
    )
    picture *= (1 - 0.35 * cast * (1 - mask))[..., None]
    cover = mask[..., None]
    picture += cover * (_leather(scene.leather, xs, ys, draw) - picture)
    for number, card in enumerate(scene.cards):
        _lay_card(picture, camera, number, card)
    picture *= _light(xs, ys, draw, scene)[..., None]
    blurred = cv2.GaussianBlur(picture, (0, 0), 0.7).astype(np.float32)
    noise = draw.standard_normal((h // 2 + 1, w // 2 + 1, 3), dtype=np.float32)
    blurred += 3.0 * cv2.resize(noise, (w, h), interpolation=cv2.INTER_LINEAR)
    blurred += 3.0 * draw.standard_normal((h, w, 1), dtype=np.float32)
    return np.clip(blurred, 0, 255).astype(np.uint8)


def photo(scene: Scene, quality: int = 85) -> bytes:
    """Return the picture as a JPEG file."""
    done, data = cv2.imencode(".jpg", render(scene), [cv2.IMWRITE_JPEG_QUALITY, quality])
    assert done
    return bytes(data)


@dataclass(frozen=True, slots=True, kw_only=True)
class Against:
    """A reading held against the truth.

    Attributes:
        area: Read over true, less 1.
        apart_mm: Symmetric Hausdorff distance of the two outer edges, after the rigid motion that
            brings the frames together.
        truth_mm2: True area.
        holes: How many were read.
    """

    area: float
    apart_mm: float
    truth_mm2: float
    holes: int


def against(scene: Scene, reading: PhotoReading) -> Against:
    """Compare a reading of a scene's photo with the scene."""
    true = Polygon(scene.outline, scene.holes)
    got = Polygon(reading.hide.outline, reading.hide.holes)
    assert true.is_valid
    assert got.is_valid
    ring = np.array(scene.outline)
    # the rigid motion that takes the truth nearest to where the reading puts the same pixels
    seen = reading.view.to_floor(Camera(scene).to_photo(ring))
    u, _, vt = np.linalg.svd((ring - ring.mean(0)).T @ (seen - seen.mean(0)))
    placed = LinearRing((ring - ring.mean(0)) @ (u @ vt) + seen.mean(0))
    edge = got.exterior
    far = max(
        float(shapely.distance(one, shapely.points(np.array(two.segmentize(1.0).coords))).max())
        for one, two in ((placed, edge), (edge, placed))
    )
    return Against(
        area=got.area / true.area - 1,
        apart_mm=far,
        truth_mm2=true.area,
        holes=len(reading.hide.holes),
    )


def _turn(axis: int, angle: float) -> Array:
    vector = np.zeros(3)
    vector[axis] = angle
    turn: Array = cv2.Rodrigues(vector)[0]
    return turn


def _seen(camera: Camera, w: int, h: int, step: int = 24) -> tuple[Array, Array]:
    """Return x and y on the floor of every pixel, between those reckoned at every 24th."""
    gx, gy = np.meshgrid(np.arange(0, w + step, step), np.arange(0, h + step, step))
    at = camera.to_floor(np.column_stack([gx.ravel(), gy.ravel()]))
    grid = at.reshape(*gx.shape, 2).astype(np.float32)
    to = np.array([[step, 0, 0], [0, step, 0]], dtype=float)
    full = cv2.warpAffine(grid, to, (w, h), flags=cv2.INTER_LINEAR)
    return np.ascontiguousarray(full[..., 0]), np.ascontiguousarray(full[..., 1])


def leather_mask(camera: Camera, scene: Scene, w: int, h: int) -> Array:
    """Return how much of each pixel is leather, 0 to 1."""
    rings = [np.round(camera.to_photo(np.array(scene.outline)) * 256).astype(np.int32)]
    rings += [np.round(camera.to_photo(np.array(r)) * 256).astype(np.int32) for r in scene.holes]
    # what is filled takes in its border line: leather and floor are filled alike, each half a line
    frame = 256 * np.array([(-9, -9), (w + 9, -9), (w + 9, h + 9), (-9, h + 9)], np.int32)
    leather, floor = np.zeros((h, w), np.uint8), np.zeros((h, w), np.uint8)
    cv2.fillPoly(leather, rings, 255, lineType=cv2.LINE_AA, shift=8)
    cv2.fillPoly(floor, [frame, *rings], 255, lineType=cv2.LINE_AA, shift=8)
    return (leather.astype(np.float32) + 255 - floor) / 510


def _noise(draw: np.random.Generator, xs: Array, ys: Array, mm: float, stretch: float = 1) -> Array:
    """Return smooth noise about 0 with a grain of so many mm, stretched along x."""
    tile = draw.standard_normal((256, 256), dtype=np.float32)
    u = (xs / (mm * stretch)).astype(np.float32)
    v = (ys / mm).astype(np.float32)
    return cv2.remap(tile, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP)


def _floor(kind: Floor, xs: Array, ys: Array, draw: np.random.Generator) -> Array:
    def coloured(red: float, green: float, blue: float, shade: Array) -> Array:
        colour = np.array([blue, green, red], dtype=np.float32)
        return np.asarray(colour * shade[..., None], dtype=np.float32)

    if kind == "boards":
        row = np.floor(ys / 140).astype(int) % 64
        tone = draw.uniform(0.8, 1.15, 64).astype(np.float32)[row]
        grain = 0.05 * _noise(draw, xs, ys, 4, 25) + 0.03 * _noise(draw, xs, ys, 30, 8)
        gap = np.minimum(ys % 140, 140 - ys % 140) < 1.6
        joint = np.abs((xs + row * 533) % 1400) < 2.5
        shade = (tone + grain) * np.where(gap | joint, 0.4, 1.0).astype(np.float32)
        return coloured(112, 74, 48, shade)
    if kind == "tiles":
        i, j = np.floor(xs / 300).astype(int) % 32, np.floor(ys / 300).astype(int) % 32
        tone = draw.uniform(0.9, 1.08, (32, 32)).astype(np.float32)[i, j]
        grout = (xs % 300 < 5) | (ys % 300 < 5)
        shade = (tone + 0.04 * _noise(draw, xs, ys, 15)) * np.where(grout, 0.62, 1.0)
        return coloured(172, 176, 178, shade.astype(np.float32))
    motif = np.sin(xs / 38) * np.sin(ys / 38) + 0.3 * _noise(draw, xs, ys, 8)
    shade = 1 + 0.16 * _noise(draw, xs, ys, 2.5)
    first = coloured(70, 84, 118, shade)
    picture: Array = np.where((motif > 0.35)[..., None], coloured(128, 116, 120, shade), first)
    return picture


def _leather(
    colour: tuple[int, int, int], xs: Array, ys: Array, draw: np.random.Generator
) -> Array:
    shade = 1 + 0.03 * _noise(draw, xs, ys, 90) + 0.03 * _noise(draw, xs, ys, 14)
    shade += 0.02 * _noise(draw, xs, ys, 2)
    scar = np.abs(ys - 420 - 40 * np.sin(xs / 140)) < 1.5
    shade[scar & (xs > 600) & (xs < 900)] *= 0.7
    return np.asarray(np.array(colour[::-1], dtype=np.float32) * shade[..., None], np.float32)


def _lay_card(
    picture: Array, camera: Camera, number: int, card: tuple[float, float, float]
) -> None:
    """Lay a card down, each pixel the mean of 3 x 3 looks at it."""
    x, y, turn = card
    half = SIDE_MM / 2 + MARGIN_MM
    c, s = np.cos(turn), np.sin(turn)
    corners = np.array([(-half, -half), (half, -half), (half, half), (-half, half)])
    px = camera.to_photo(corners @ np.array([[c, s], [-s, c]]) + (x, y))
    (left, top), (right, low) = np.floor(px.min(0)).astype(int), np.ceil(px.max(0)).astype(int)
    n = 3
    fx = left - 0.5 + (np.arange((right - left + 1) * n) + 0.5) / n
    fy = top - 0.5 + (np.arange((low - top + 1) * n) + 0.5) / n
    gx, gy = np.meshgrid(fx, fy)
    at = camera.to_floor(np.column_stack([gx.ravel(), gy.ravel()])) - (x, y)
    u, v = (at @ np.array([[c, -s], [s, c]])).T
    cells = np.array(cells_of(number))
    k = len(cells)
    col = np.floor((u + SIDE_MM / 2) / SIDE_MM * k).astype(int)
    row = np.floor((SIDE_MM / 2 - v) / SIDE_MM * k).astype(int)
    inside = (col >= 0) & (col < k) & (row >= 0) & (row < k)
    black = np.zeros(len(u), bool)
    black[inside] = cells[row[inside], col[inside]]
    on = (np.abs(u) < half) & (np.abs(v) < half)
    value = np.where(black, 24.0, 236.0)

    def mean(a: Array) -> Array:
        block = a.reshape(low - top + 1, n, right - left + 1, n)
        return np.asarray(block.mean(axis=(1, 3)))

    share, ink = mean(on.astype(float))[..., None], mean(np.where(on, value, 0.0))[..., None]
    part = picture[top : low + 1, left : right + 1]
    part *= (1 - share).astype(np.float32)
    part += ink.astype(np.float32)


def _light(xs: Array, ys: Array, draw: np.random.Generator, scene: Scene) -> Array:
    """Return light that falls off from a lamp or window, with the taker's soft shadow in it."""
    xy = np.array(scene.outline)
    (left, low), (right, high) = xy.min(0), xy.max(0)
    lamp = (left + draw.uniform(-0.2, 1.2) * (right - left), high + 300.0)
    far = np.hypot(xs - lamp[0], ys - lamp[1]) / (right - left)
    light = 1.18 / (1 + 0.45 * far * far)
    blob = ((xs - (left + right) / 2) / 420) ** 2 + ((ys - low + 120) / 300) ** 2
    light *= 1 - 0.22 * np.exp(-blob * blob)
    return np.asarray(light * scene.brightness, np.float32)
