"""Kerf of the catalogue's boards against published averages.

Sources: a laser shop's page on kerf and thickness (averages in inches); pages of two cutting
services and a makerspace (whole range 0.08 to 0.45 mm; features under 1 mm are fragile; a web at
least as wide as the sheet is thick). Kerf is the full width of the cut: some guides give the half.
"""

import pytest

from hidewright.catalogue.boards import Board
from hidewright.catalogue.shelf import built_in_catalogue, find

LASERED = [board for board in built_in_catalogue().boards if board.material != "card"]


@pytest.mark.parametrize(
    ("name", "kerf_in"),
    [
        ("clear acrylic 1/16 in", 0.007),
        ("clear acrylic 1/8 in", 0.009),
        ("clear acrylic 1/4 in", 0.010),
        ("birch plywood 1/8 in", 0.008),
        ("birch plywood 1/4 in", 0.010),
        ("MDF 1/8 in", 0.006),
        ("MDF 1/4 in", 0.008),
        ("MDF 12 mm", 0.010),
    ],
)
def test_the_kerf_of_a_board_is_the_published_average(name: str, kerf_in: float) -> None:
    board = find(built_in_catalogue().boards, name)
    assert board.kerf_mm == pytest.approx(kerf_in * 25.4, abs=0.0006)


@pytest.mark.parametrize("board", LASERED, ids=lambda b: b.name)
def test_every_board_lies_in_the_published_ranges(board: Board) -> None:
    assert 0.08 <= board.kerf_mm <= 0.45
    assert board.min_feature_mm >= 1.0
    assert board.min_web_mm >= board.thickness_mm


def test_thicker_board_of_a_material_never_has_a_narrower_kerf() -> None:
    for material in ("mdf", "plywood", "acrylic"):
        rows = sorted((b for b in LASERED if b.material == material), key=lambda b: b.thickness_mm)
        kerfs = [b.kerf_mm for b in rows]
        assert kerfs == sorted(kerfs)
