"""The printed scale cards read back from their PDF, and found again in pictures."""

import io
import math
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
import pikepdf
import pytest

from hidewright.drawing.scale_cards import MARGIN_MM, scale_cards_pdf
from hidewright.drawing.tiles import EDGE_MM, PAPERS_MM, Paper
from hidewright.errors import RequestError
from hidewright.photo.cards import NUMBERS, SIDE_MM, cells_of, find_cards

CARDS = {number + 1: cells_of(number) for number in NUMBERS}
POINTS_PER_MM = 72 / 25.4
Line = tuple[float, float, float, float, float]


def lines_of(page: pikepdf.Page) -> list[Line]:
    """Return (width, x0, y0, x1, y1) of every straight line on a page, mm."""
    found, width, start = [], 0.0, (0.0, 0.0)
    for told in pikepdf.parse_content_stream(page):
        operands: Any = told.operands
        match str(told.operator):
            case "w":
                width = float(operands[0])
            case "m":
                start = (float(operands[0]), float(operands[1]))
            case "l":
                end = (float(operands[0]), float(operands[1]))
                found.append((width, *start, *end))
            case "cm":
                assert [float(v) for v in operands] == [1, 0, 0, 1, 0, 0]
            case "J":
                assert int(operands[0]) == 0  # ends cut square
    return [
        tuple(value / POINTS_PER_MM for value in line)  # type: ignore[misc]
        for line in found
    ]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_black_square_is_full_size_and_on_paper_that_can_be_printed(paper: Paper) -> None:
    width, height = PAPERS_MM[paper]
    cell = SIDE_MM / 7
    with pikepdf.open(io.BytesIO(scale_cards_pdf(CARDS, SIDE_MM, paper))) as pdf:
        assert len(pdf.pages) == 2
        assert pdf.Root.ViewerPreferences.PrintScaling == "/None"
        for which, page in enumerate(pdf.pages):
            black = [line for line in lines_of(page) if line[0] > 5]
            assert all(line[0] == pytest.approx(cell, abs=1e-4) for line in black)
            ink = sum((x1 - x0) * w for w, x0, _, x1, _ in black)
            numbers = NUMBERS[4 * which : 4 * which + 4]
            cells = sum(sum(map(sum, cells_of(number))) for number in numbers)
            assert ink == pytest.approx(cells * cell**2, rel=1e-5)
            left, right = min(line[1] for line in black), max(line[3] for line in black)
            low = min(line[2] for line in black) - cell / 2
            high = max(line[2] for line in black) + cell / 2
            assert right - left == pytest.approx(2 * SIDE_MM + 2 * MARGIN_MM, abs=1e-3)
            assert high - low == pytest.approx(2 * SIDE_MM + 2 * MARGIN_MM, abs=1e-3)
            for near in (left, low, width - right, height - high):
                assert near - MARGIN_MM >= EDGE_MM - 1e-3


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_ruler_is_100_mm_with_a_tick_at_every_millimetre(paper: Paper) -> None:
    with pikepdf.open(io.BytesIO(scale_cards_pdf(CARDS, SIDE_MM, paper))) as pdf:
        for page in pdf.pages:
            thin = [line for line in lines_of(page) if line[0] < 1]
            bars = [line[3] - line[1] for line in thin if line[2] == line[4]]
            assert bars == [pytest.approx(100.0, abs=1e-3)]
            ticks = sorted(line[1] for line in thin if line[1] == line[3])
            assert len(ticks) == 101
            assert np.diff(ticks) == pytest.approx(np.ones(100), abs=1e-3)


def test_equal_cards_give_equal_bytes_and_unknown_paper_is_refused() -> None:
    assert scale_cards_pdf(CARDS, SIDE_MM, "A4") == scale_cards_pdf(CARDS, SIDE_MM, "A4")
    with pytest.raises(RequestError):
        scale_cards_pdf(CARDS, SIDE_MM, "A3")  # type: ignore[arg-type]


def test_any_two_cards_differ_in_at_least_four_cells_however_they_are_turned() -> None:
    turned = [
        (number, np.rot90(np.array(cells_of(number)), quarter))
        for number in NUMBERS
        for quarter in range(4)
    ]
    for k, (_, one) in enumerate(turned):
        for _, two in turned[k + 1 :]:
            assert np.sum(one != two) >= 4


def drawn(places: dict[int, tuple[float, float, float, float]]) -> npt.NDArray[np.uint8]:
    """Return a grey picture with cards at (x, y, turn, side) px, each pixel the mean of 64."""
    w, h, n = 900, 700, 8
    picture = np.full((h, w), 128.0)
    for number, (x, y, turn, side) in places.items():
        far = int(side)
        left, top = int(x) - far, int(y) - far
        step = (np.arange(2 * far * n) + 0.5) / n - 0.5
        gx, gy = np.meshgrid(left + step, top + step)
        c, s = math.cos(turn), math.sin(turn)
        u = (c * (gx - x) + s * (gy - y)) / side + 0.5
        v = (-s * (gx - x) + c * (gy - y)) / side + 0.5
        cells = np.array(cells_of(number))
        paper = (np.abs(u - 0.5) < 0.6) & (np.abs(v - 0.5) < 0.6)
        col, row = np.floor(7 * u).astype(int), np.floor(7 * v).astype(int)
        within = (col >= 0) & (col < 7) & (row >= 0) & (row < 7)
        look = np.where(paper, 230.0, 128.0)
        look[within] = np.where(cells[row[within], col[within]], 25.0, 230.0)
        mean = look.reshape(2 * far, n, 2 * far, n).mean(axis=(1, 3))
        picture[top : top + 2 * far, left : left + 2 * far] = mean
    noise = np.random.default_rng(3).normal(0, 3, picture.shape)
    blurred = np.asarray(cv2.GaussianBlur(picture, (0, 0), 0.8))
    return np.clip(blurred + noise, 0, 255).astype(np.uint8)


def test_corners_are_found_to_a_tenth_of_a_pixel_in_the_order_of_the_print() -> None:
    places = {
        0: (200.3, 180.6, 0.3, 90.0),
        3: (600.7, 200.2, 2.2, 70.0),
        5: (250.1, 520.9, -1.9, 110.0),
        7: (660.4, 500.5, math.pi / 4, 60.0),
    }
    found = find_cards(drawn(places))
    assert set(found) == set(places)
    for number, (x, y, turn, side) in places.items():
        c, s = math.cos(turn), math.sin(turn)
        corners = side / 2 * np.array([(-1.0, -1), (1, -1), (1, 1), (-1, 1)])
        true = corners @ np.array([[c, s], [-s, c]]) + (x, y)
        assert found[number] == pytest.approx(true, abs=0.1)


def test_half_a_card_and_strangers_are_no_cards() -> None:
    picture = drawn({0: (200.0, 200.0, 0.2, 90.0), 4: (600.0, 400.0, 1.0, 90.0)})
    picture[:, :205] = 128
    assert set(find_cards(picture)) == {4}
    stranger = drawn({20: (450.0, 350.0, 0.5, 120.0)})
    assert find_cards(stranger) == {}


def test_a_card_that_lies_there_twice_is_left_out() -> None:
    picture = drawn({2: (200.0, 200.0, 0.2, 90.0), 6: (620.0, 480.0, 1.0, 90.0)})
    picture[420:640, 90:310] = picture[90:310, 90:310]
    assert set(find_cards(picture)) == {6}
