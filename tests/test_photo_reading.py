"""Hides read from rendered photos, against the hides that were rendered."""

from dataclasses import replace
from functools import cache

import cv2
import numpy as np
import pytest
import shapely

from hidewright.errors import RequestError
from hidewright.photo.cards import SIDE_MM, find_cards
from hidewright.photo.picture import Picture
from hidewright.photo.reading import PhotoReading, read_hide
from hidewright.photo.rectified import laid_flat
from photo_scene import Camera, Scene, against, cards_round, leather_mask, photo, round_hole, side

#: Smaller photos for what does not ask for pixels.
SMALL = (2016, 1512)


def scene(seed: int, cards: int) -> Scene:
    outline = side(seed)
    return Scene(
        seed=seed, floor="boards", outline=outline, cards=cards_round(outline, cards, seed)
    )


#: (x, y, radius) of holes from a fist's to a finger's width, mm.
HOLES = ((1200.0, 500.0, 25.0), (700.0, 600.0, 12.5), (400.0, 500.0, 8.0), (1500.0, 600.0, 6.0))
BOARDS = replace(scene(1, 4), k1=0.03, holes=tuple(round_hole(*one) for one in HOLES))
#: Dark leather on dark boards: in its shadow a board looks like it.
DIM = replace(scene(21, 4), k1=-0.03, leather=(92, 58, 40))
#: Leather of the colour of the boards it lies on: its grain alone tells it.
DARK = replace(scene(7, 4), size=SMALL, leather=(112, 74, 48))
TILES = replace(
    scene(2, 6), floor="tiles", k1=-0.03, tilt=(-22.0, 10.0, -5.0), leather=(222, 186, 148)
)
CARPET = replace(
    scene(3, 4), floor="carpet", k1=-0.03, tilt=(20.0, -12.0, 8.0), brightness=0.7,
    leather=(150, 95, 60), outline=side(3, length_mm=1000.0, height_mm=620.0),
    cards=cards_round(side(3, length_mm=1000.0, height_mm=620.0), 4, 3),
)  # fmt: skip
ONE_CARD = replace(scene(4, 1), size=SMALL, k1=0.0, floor="tiles", tilt=(8.0, 5.0, 0.0))


@cache
def read(scene: Scene) -> tuple[PhotoReading, Picture]:
    return read_hide(photo(scene), "my hide.jpg")


@pytest.mark.parametrize(
    "scene",
    [
        pytest.param(BOARDS, id="boards", marks=pytest.mark.slow),
        pytest.param(TILES, id="tiles", marks=pytest.mark.sweep),
        pytest.param(CARPET, id="carpet", marks=pytest.mark.sweep),
    ],
)
def test_area_within_1_percent_and_outline_within_4_mm(scene: Scene) -> None:
    reading, _ = read(scene)
    found = against(scene, reading)
    assert abs(found.area) < 0.01
    assert found.apart_mm < 4.0
    assert found.holes == len(scene.holes)
    low, high = reading.area_range_mm2
    assert low < found.truth_mm2 < high
    assert high / low < 1.03
    assert not reading.rough
    assert reading.cards == tuple(range(1, len(scene.cards) + 1))
    assert reading.hide.name == "my hide"
    assert min(x for x, _ in reading.hide.outline) == pytest.approx(0, abs=0.01)
    assert min(y for _, y in reading.hide.outline) == pytest.approx(0, abs=0.01)


@pytest.mark.slow
def test_holes_down_to_a_finger_wide_are_as_wide_as_they_were_cut_and_a_scar_is_none() -> None:
    reading, _ = read(BOARDS)
    found = []
    for hole in reading.hide.holes:
        xs, ys = np.array(hole).T
        area = abs(float(xs @ np.roll(ys, -1) - ys @ np.roll(xs, -1))) / 2
        found.append(2 * float(np.sqrt(area / np.pi)))
    true = [2 * radius for _, _, radius in HOLES]
    assert sorted(found, reverse=True) == pytest.approx(true, abs=1.6)


def test_the_rendered_leather_is_as_large_as_it_is_said_to_be() -> None:
    camera, (w, h) = Camera(BOARDS), BOARDS.size
    ring = camera.to_photo(np.array(BOARDS.outline))
    holes = [camera.to_photo(np.array(hole)) for hole in BOARDS.holes]
    true = shapely.Polygon(ring, holes)
    drawn = float(leather_mask(camera, BOARDS, w, h).sum())
    assert abs(drawn - true.area) < 0.02 * true.length  # px


@pytest.mark.sweep
def test_the_shadow_of_dark_leather_on_dark_boards_is_not_taken_for_leather() -> None:
    reading, _ = read(DIM)
    found = against(DIM, reading)
    low, high = reading.area_range_mm2
    assert abs(found.area) < 0.01
    assert found.apart_mm < 10.0
    assert reading.rough
    assert low < found.truth_mm2 < high


@pytest.mark.slow
def test_leather_like_its_floor_is_found_by_its_grain_and_called_rough() -> None:
    reading, _ = read(DARK)
    found = against(DARK, reading)
    low, high = reading.area_range_mm2
    assert reading.found
    assert reading.rough
    assert abs(found.area) < 0.05
    assert low < found.truth_mm2 < high
    assert any("look alike" in words for words in reading.said)


@pytest.mark.slow
def test_the_photo_laid_flat_shows_every_card_at_its_size_and_place() -> None:
    reading, picture = read(TILES)
    xs, ys = zip(*reading.hide.outline, strict=True)
    box = (min(xs) - 200, min(ys) - 200, max(xs) + 200, max(ys) + 200)
    flat = laid_flat(picture, reading.view, box, 1.5)
    grey = np.asarray(cv2.cvtColor(flat, cv2.COLOR_BGR2GRAY), np.uint8)
    before = find_cards(np.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), np.uint8))
    after = find_cards(grey)
    assert len(after) >= 4
    for number, corners in after.items():
        floor = (corners + 0.5) / 1.5 * (1, -1) + (box[0], box[3])
        sides = np.hypot(*(np.roll(floor, -1, axis=0) - floor).T)
        assert sides == pytest.approx(np.full(4, SIDE_MM), abs=0.25)
        assert floor == pytest.approx(reading.view.to_floor(before[number]), abs=0.25)


@pytest.mark.slow
def test_one_card_makes_a_rough_outline_whose_interval_holds_the_truth() -> None:
    reading, _ = read(ONE_CARD)
    found = against(ONE_CARD, reading)
    low, high = reading.area_range_mm2
    assert reading.rough
    assert low < found.truth_mm2 < high
    assert high / low > 1.05
    assert any("fewer than 4 cards" in words for words in reading.said)


def as_jpeg(picture: Picture) -> bytes:
    done, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 92])
    assert done
    return bytes(data)


@pytest.mark.slow
def test_a_hide_that_runs_out_of_the_photo_is_rough() -> None:
    reading, picture = read(ONE_CARD)
    lower = int(reading.view.to_photo(np.array([[900.0, 60.0]]))[0, 1])  # through the shanks
    cut, _ = read_hide(as_jpeg(picture[:lower]), "cut.jpg")
    assert cut.rough
    assert any("runs out of the photo" in words for words in cut.said)


def without_cards(picture: Picture, half: bool) -> Picture:
    grey = np.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), np.uint8)
    (corners,) = find_cards(grey).values()
    left, top = np.floor(corners.min(axis=0)).astype(int) - 12
    right, low = np.ceil(corners.max(axis=0)).astype(int) + 12
    bare = picture.copy()
    bare[top : (top + low) // 2 if half else low, left:right] = 150
    return bare


@pytest.mark.slow
@pytest.mark.parametrize("half", [False, True], ids=["no card", "half a card"])
def test_without_a_whole_card_there_is_no_scale(half: bool) -> None:
    _, picture = read(ONE_CARD)
    with pytest.raises(RequestError, match="no scale card is seen whole in") as refused:
        read_hide(as_jpeg(without_cards(picture, half)), "it.jpg")
    assert "four" in refused.value.mend


@pytest.mark.slow
def test_where_no_hide_is_told_from_the_floor_a_box_is_left_to_draw_over() -> None:
    _, picture = read(ONE_CARD)
    grey = np.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), np.uint8)
    (corners,) = find_cards(grey).values()
    left, top = np.floor(corners.min(axis=0)).astype(int) - 10
    right, low = np.ceil(corners.max(axis=0)).astype(int) + 10
    draw = np.random.default_rng(1)
    bare = np.clip(draw.normal(150, 12, picture.shape), 0, 255).astype(np.uint8)
    bare[500 : 500 + low - top, 900 : 900 + right - left] = picture[top:low, left:right]
    reading, _ = read_hide(as_jpeg(bare), "bare.jpg")
    assert not reading.found
    assert reading.rough
    assert reading.area_range_mm2[0] == 0.0
    assert any("Tap round the hide" in words for words in reading.said)
    # the box is the middle half of the photo each way
    h, w = bare.shape[:2]
    across, up = np.array(reading.view.to_photo(np.array(reading.hide.outline))).T
    assert np.ptp(across) == pytest.approx(w / 2, abs=1.0)
    assert np.ptp(up) == pytest.approx(h / 2, abs=1.0)


@pytest.mark.parametrize("ruler_mm", [0.0, 80.0, 120.0, float("nan")])
def test_a_ruler_that_cannot_be_is_refused_before_anything_is_read(ruler_mm: float) -> None:
    with pytest.raises(RequestError, match="printed ruler"):
        read_hide(b"", "it.jpg", ruler_mm=ruler_mm)


@pytest.mark.sweep
def test_the_same_photo_reads_the_same_twice() -> None:
    data = photo(replace(ONE_CARD, size=(1344, 1008)))
    assert read_hide(data, "it.jpg")[0] == read_hide(data, "it.jpg")[0]
