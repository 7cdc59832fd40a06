"""Parts on sheets: all of them, apart, inside the sheet, or named as too large."""

import math
from dataclasses import replace
from itertools import combinations
from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.part import Easing, Label, Part
from hidewright.geometry.segment import turn
from hidewright.geometry.shapes import rectangle
from hidewright.tooling.marks import LETTER_DROP, LETTER_RISE
from hidewright.tooling.sheets import EDGE_MM, SPACING_MM, Placed, lay_on_sheets
from hidewright.workshop.cut_files import sheet_drawings

BOARD = replace(
    find(built_in_catalogue().boards, "MDF 6 mm"), sheet_width_mm=600.0, sheet_height_mm=400.0
)


def _part(name: str, width: float, height: float, count: int = 1) -> Part:
    return Part(
        name=name, role="plug", board=BOARD, outline=rectangle(width, height, 1.0), count=count
    )


def _box(placed: Placed) -> tuple[float, float, float, float]:
    return placed.cut.outer.rotated(placed.turn).moved(*placed.shift).bounds


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(5, 580), st.floats(5, 380), st.integers(1, 3)), min_size=1, max_size=12
    )
)
def test_every_copy_lies_on_a_sheet_apart_from_the_others(
    sizes: list[tuple[float, float, int]],
) -> None:
    parts = tuple(_part(f"part {i}", w, h, n) for i, (w, h, n) in enumerate(sizes))
    sheets, remarks = lay_on_sheets(parts)
    assert not remarks
    placed = [one.cut.part for sheet in sheets for one in sheet.placed]
    assert sorted(placed) == sorted(p.name for p in parts for _ in range(p.count))
    for sheet in sheets:
        boxes = [_box(one) for one in sheet.placed]
        for left, bottom, right, top in boxes:
            assert left >= EDGE_MM - 1e-6
            assert bottom >= EDGE_MM - 1e-6
            assert right <= 600 - EDGE_MM + 1e-6
            assert top <= 400 - EDGE_MM + 1e-6
        for a, b in combinations(boxes, 2):
            across = max(a[0], b[0]) - min(a[2], b[2])
            along = max(a[1], b[1]) - min(a[3], b[3])
            assert max(across, along) >= SPACING_MM - 1e-6


def test_a_part_that_only_fits_turned_is_turned() -> None:
    ((sheet,), remarks) = lay_on_sheets((_part("tall", 100.0, 500.0),))
    assert not remarks
    left, bottom, right, top = _box(sheet.placed[0])
    assert (round(right - left), round(top - bottom)) == (500, 100)


def test_a_part_larger_than_its_sheet_is_named_and_forbidden() -> None:
    sheets, remarks = lay_on_sheets((_part("huge", 700.0, 50.0), _part("small", 50.0, 50.0)))
    assert [(r.code, r.severity, r.place) for r in remarks] == [
        ("part-larger-than-sheet", "forbids", "huge")
    ]
    assert [one.cut.part for sheet in sheets for one in sheet.placed] == ["small"]


def test_boards_are_not_mixed_on_a_sheet() -> None:
    other = replace(
        _part("clear", 50, 50), board=find(built_in_catalogue().boards, "clear acrylic 5 mm")
    )
    sheets, _ = lay_on_sheets((_part("a", 50, 50), other, _part("b", 50, 50)))
    assert [[one.cut.part for one in sheet.placed] for sheet in sheets] == [["a", "b"], ["clear"]]


@settings(max_examples=40, deadline=None)
@given(
    angle=st.sampled_from((0.0, math.pi / 2, -math.pi / 2, math.pi, 0.7, 3.0)),
    size=st.sampled_from(((100.0, 60.0), (60.0, 100.0))),
    face=st.sampled_from(("top", "bottom")),
)
def test_words_read_from_below_or_from_the_right_and_keep_their_room(
    angle: float, size: tuple[float, float], face: Literal["top", "bottom"]
) -> None:
    label = Label(words="this side up", at=(7.0, 3.0), angle=angle)
    easing = Easing(radius_mm=2.0, face=face, edge="outline", how="file")
    part = replace(_part("marked", *size), labels=(label,), easings=(easing,))
    ((sheet,), _) = lay_on_sheets((part,))
    (placed,) = sheet.placed
    sheet_drawing = sheet_drawings((sheet,))[0]
    (text,) = sheet_drawing.texts
    heading = math.remainder(text.angle, math.tau)
    assert -math.pi / 2 + 1e-6 < heading <= math.pi / 2 + 1e-6
    # along the same line as before, up to half a turn
    mirrored = -1.0 if face == "bottom" else 1.0
    off = math.remainder(heading - placed.turn - mirrored * angle, math.pi)
    assert off == pytest.approx(0.0, abs=1e-9)
    # the room that its letters take, the p below the line too, is where it was on the part
    off = (LETTER_RISE - LETTER_DROP) / 2 * label.height_mm
    x, y = turn((0.0, off), angle)
    middle = turn((mirrored * (7.0 + x), 3.0 + y), placed.turn)
    up = turn((0.0, label.height_mm / 2 + off), text.angle)
    assert text.at[0] + up[0] - placed.shift[0] == pytest.approx(middle[0], abs=1e-9)
    assert text.at[1] + up[1] - placed.shift[1] == pytest.approx(middle[1], abs=1e-9)
