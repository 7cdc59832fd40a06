"""Test pieces as the laser gets them: read back, slots and holes are where they measure from."""

import io
import math

import ezdxf
import numpy as np
import pikepdf
import pytest

from hidewright.catalogue.boards import Board
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.catalogue.step_rows import built_in_times
from hidewright.design.bench_reading import KINDS
from hidewright.drawing.read_outlines import read_outlines
from hidewright.drawing.tiles import Paper
from hidewright.errors import RequestError
from hidewright.forming.drying_time import DryingStage, TimeLaw, time_factor
from hidewright.tooling.bench_pieces import (
    CRACKS_FROM_MM,
    CRACKS_TO_MM,
    DISC_RADIUS_MM,
    FIELDS,
    HOLES,
    PITCHES_MM,
    PLUG_RADIUS_MM,
    SLOTS,
    STEP_MM,
    TONGUE_MM,
    WEDGE_LONG_MM,
    card_rings,
    kerf_comb,
    plug_counts,
    plug_depths,
    wedge_place,
)
from hidewright.workshop.bench_pieces import bench_files, pieces_for
from pdf_read import pages_of

SHELF = built_in_catalogue()
LEATHER = find(SHELF.leathers, "vegetable-tanned shoulder 1.4-1.6 mm")
BOARDS = [
    find(SHELF.boards, name)
    for name in ("MDF 6 mm", "MDF 3 mm", "birch plywood 1/8 in", "clear acrylic 5 mm")
]
CUT, INSIDE = "cut outside", "cut inside"
Loop = list[tuple[float, float]]


def loops(data: bytes, layer: str) -> list[Loop]:
    """Corners of the closed polylines of a layer, by a reader that is not ours."""
    document = ezdxf.read(io.StringIO(data.decode()))
    return [
        [(p[0], p[1]) for p in one.get_points("xy")]
        for one in document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
    ]


def circles(data: bytes, layer: str) -> list[tuple[float, float, float]]:
    document = ezdxf.read(io.StringIO(data.decode()))
    return [
        (one.dxf.center.x, one.dxf.center.y, one.dxf.radius)
        for one in document.modelspace().query(f'CIRCLE[layer=="{layer}"]')
    ]


@pytest.fixture(scope="module", params=BOARDS, ids=lambda b: b.name)
def cut(request: pytest.FixtureRequest) -> tuple[Board, dict[str, bytes]]:
    return request.param, dict(bench_files(request.param, LEATHER))


def test_the_combs_slots_are_a_twentieth_of_a_mm_apart_and_the_tongues_fill_the_first(
    cut: tuple[Board, dict[str, bytes]],
) -> None:
    _, files = cut
    comb, *tongues = sorted(loops(files["kerf comb.dxf"], CUT), key=len, reverse=True)
    bottoms = sorted({round(y, 6) for _, y in comb})
    assert len(bottoms) == 3  # foot, bottoms of the slots, top
    xs = sorted(x for x, y in comb if round(y, 6) == bottoms[1])
    widths = [b - a for a, b in zip(xs[::2], xs[1::2], strict=True)]
    assert widths == pytest.approx([TONGUE_MM - STEP_MM * k for k in range(SLOTS)], abs=1e-6)
    assert bottoms[2] - bottoms[1] == pytest.approx(12.0)
    for tongue in tongues:
        assert max(x for x, _ in tongue) - min(x for x, _ in tongue) == pytest.approx(
            TONGUE_MM
        ) or (max(y for _, y in tongue) - min(y for _, y in tongue) == pytest.approx(TONGUE_MM))


@pytest.mark.parametrize("kerf", [0.05, 0.11, 0.152, 0.203, 0.3])
def test_the_number_beside_the_tightest_slot_is_the_kerf_to_a_hundredth(kerf: float) -> None:
    comb = kerf_comb(BOARDS[0])
    # a cut slot is a kerf wider than its lines, a cut tongue a kerf narrower
    fits = [slot + kerf >= TONGUE_MM - kerf - 1e-9 for slot in comb.slots_mm]
    tightest = max(k for k, goes in enumerate(fits) if goes)
    assert fits == [True] * (tightest + 1) + [False] * (SLOTS - tightest - 1)
    assert comb.told_mm[tightest] == pytest.approx(kerf, abs=STEP_MM / 4 + 1e-9)


def test_the_words_on_the_comb_are_the_kerfs_that_it_tells() -> None:
    comb = kerf_comb(BOARDS[0])
    told = [float(f"0{label.words}") for label in comb.labels]
    assert told == pytest.approx(comb.told_mm, abs=6e-4)


def test_the_wedges_slot_once_cut_is_as_wide_as_its_marks_say(
    cut: tuple[Board, dict[str, bytes]],
) -> None:
    board, files = cut
    (loop,) = loops(files["thickness gauge.dxf"], CUT)
    wide, narrow = board.thickness_mm + 0.6, max(board.thickness_mm - 0.6, 0.2)
    # the beam's path: half a kerf inside the slot, so the slot comes out a kerf wider
    flat = _along_the_long_side(loop)
    inner = sorted(flat, key=lambda p: (abs(p[1]), p[0]))[:4]
    lean = math.atan((wide - narrow) / 2.0 / WEDGE_LONG_MM)
    mouth = 2.0 * max(abs(y) for _, y in inner)
    assert mouth + board.kerf_mm / math.cos(lean) == pytest.approx(wide, abs=0.01)
    assert wedge_place(wide, wide, narrow) == 0.0
    assert wedge_place(narrow, wide, narrow) == WEDGE_LONG_MM
    assert wedge_place(board.thickness_mm, wide, narrow) == pytest.approx(
        WEDGE_LONG_MM * (wide - board.thickness_mm) / (wide - narrow)
    )


def _along_the_long_side(loop: Loop) -> Loop:
    """The gauge lying on its sheet, back in its own frame: long side along x, slot on the axis."""
    x0, x1 = min(x for x, _ in loop), max(x for x, _ in loop)
    y0, y1 = min(y for _, y in loop), max(y for _, y in loop)
    if x1 - x0 >= y1 - y0:
        return [(x - x0, y - (y0 + y1) / 2.0) for x, y in loop]
    return [(y - y0, x - (x0 + x1) / 2.0) for x, y in loop]


def test_the_squares_holes_are_a_hundred_mm_apart(cut: tuple[Board, dict[str, bytes]]) -> None:
    _, files = cut
    holes = circles(files["scribed square.dxf"], INSIDE)
    assert len(holes) == 4
    sides = sorted(math.dist(a[:2], b[:2]) for k, a in enumerate(holes) for b in holes[k + 1 :])
    assert sides == pytest.approx([100.0] * 4 + [100.0 * math.sqrt(2.0)] * 2, abs=1e-6)


def test_plug_and_frame_leave_the_gap_of_every_mould_and_stack_to_three_depths(
    cut: tuple[Board, dict[str, bytes]],
) -> None:
    board, files = cut
    names = [n for n in files if n.startswith("test plug") and n.endswith(".dxf")]
    outside = [c for n in names for c in circles(files[n], CUT)]
    inside = [c for n in names for c in circles(files[n], INSIDE)]
    half = board.kerf_mm / 2.0
    discs = [r for _, _, r in outside]
    assert discs == pytest.approx([PLUG_RADIUS_MM + half] * max(plug_counts(board)))
    gap = 1.1 * 1.6 * 1.05  # gap factor, thickest leather, what soaking adds
    windows = [r for _, _, r in inside if r > 10.0]
    assert windows == pytest.approx([PLUG_RADIUS_MM + gap - half] * len(windows))
    assert len(windows) * board.thickness_mm >= plug_depths(board)[-1] + gap
    depths = plug_depths(board)
    assert len(set(depths)) == 3
    assert depths == pytest.approx((6.0, 12.0, 18.0), abs=board.thickness_mm / 2)
    assert DISC_RADIUS_MM < 130.0 / 2 - 9.0 - 3.0  # no dowel goes through the leather


def test_rings_and_cards_set_every_depth_of_the_crack_test_by_the_millimetre(
    cut: tuple[Board, dict[str, bytes]],
) -> None:
    """Loose rings and cards of 1 mm leave the plug 2 to 18 mm above them, half a mm either way."""
    board, files = cut
    names = [n for n in files if n.startswith("crack test") and n.endswith(".dxf")]
    half = board.kerf_mm / 2.0
    tops = [r for n in names for _, _, r in circles(files[n], CUT)]
    assert tops == pytest.approx([PLUG_RADIUS_MM + half])
    windows = [r for n in names for _, _, r in circles(files[n], INSIDE) if r > 10.0]
    assert windows == pytest.approx([PLUG_RADIUS_MM + 1.1 * 1.6 * 1.05 - half] * len(windows))
    stacks = [
        rings * board.thickness_mm + cards
        for rings in range(len(windows) + 1)
        for cards in range(card_rings(board) + 1)
    ]
    deepest = plug_depths(board)[-1]
    for depth in np.arange(CRACKS_FROM_MM, CRACKS_TO_MM + 0.5):
        assert min(abs(deepest - stack - depth) for stack in stacks) <= 0.5 + 1e-9, depth


def test_each_row_of_the_stitch_strip_has_its_pitch(cut: tuple[Board, dict[str, bytes]]) -> None:
    _, files = cut
    holes = circles(files["stitch strip.dxf"], INSIDE)
    assert len(holes) == HOLES * len(PITCHES_MM)
    by_row: dict[float, list[float]] = {}
    turned = len({round(y, 3) for _, y, _ in holes}) > len(PITCHES_MM)
    for x, y, _ in holes:
        row, place = (x, y) if turned else (y, x)
        by_row.setdefault(round(row, 3), []).append(place)
    pitches = sorted((max(places) - min(places)) / (HOLES - 1) for places in by_row.values())
    assert pitches == pytest.approx(sorted(PITCHES_MM), abs=1e-6)


def test_every_piece_has_cut_files_for_both_readers_and_one_page_to_do_it_by(
    cut: tuple[Board, dict[str, bytes]],
) -> None:
    board, files = cut
    stems = {"kerf comb", "thickness gauge", "scribed square", "test plug", "crack test"}
    for stem in (*stems, "stitch strip", "colour strip"):
        with pikepdf.open(io.BytesIO(files[f"{stem}.pdf"])) as paper:
            assert len(paper.pages) == 1
        drawn = [n for n in files if n.startswith(stem) and n.endswith(".svg")]
        assert drawn
        for name in drawn:
            assert read_outlines(files[name], name=name).outlines
    assert files == bench_files(board, LEATHER), "the same pieces, the same bytes"


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_no_sheet_runs_off_its_page(paper: Paper) -> None:
    files = bench_files(find(SHELF.boards, "MDF 6 mm"), LEATHER, paper)
    for name, data in files.items():
        if name.endswith(".pdf"):
            ((_, words),) = pages_of(data)
            assert min(y for _, _, y in words) > 8.0, name
            assert "can be withdrawn" in " ".join(said for said, _, _ in words)


def test_each_sheet_reads_what_is_learned_from_and_the_plug_at_each_of_its_depths() -> None:
    board = find(SHELF.boards, "MDF 6 mm")
    pieces = {one.name: one for one in pieces_for(board, LEATHER)}
    read = {
        kind
        for one in pieces.values()
        for reading in one.readings
        for kind in KINDS
        if reading.into.partition(",")[0] == kind
    }
    assert read == {kind for kind, one in KINDS.items() if one.offered}, (
        "every kind of reading is asked for on a sheet"
    )
    deep = tuple(f"{depth:g} mm deep" for depth in plug_depths(board))
    each = {reading.into: reading.each for reading in pieces["test plug"].readings}
    for way in ("along", "across"):
        assert each[f"pull-in {way}"] == each[f"dry size {way}"] == deep
    cracks = {one.into: one.each for one in pieces["crack test"].readings}
    assert set(cracks.values()) == {("disc 1", "disc 2", "disc 3")}


def test_the_sheets_tell_the_catalogues_times_to_compare_with() -> None:
    """Hours: slab diffusion to 98 %, as 1 - d = 8/pi^2 exp(-t / tau) gives far out."""
    pieces = {one.name: one for one in pieces_for(find(SHELF.boards, "MDF 6 mm"), LEATHER)}
    (hours,) = [r.of for r in pieces["test plug"].readings if r.into == "drying hours"]
    on_plug = DryingStage(name="on the plug", hours=0.0, faces="one")
    factor = time_factor(on_plug, 1.5 * 1.05, TimeLaw(tau_hours=3.2).thickness_slope)
    far_out = 3.2 * factor * math.log(8.0 / math.pi**2 / 0.02)
    assert float(hours.split()[0]) == pytest.approx(far_out, abs=0.06)
    (minutes,) = [r.of for r in pieces["stitch strip"].readings]
    (sew,) = [row for row in built_in_times() if row.name == "sew"]
    assert float(minutes.split()[0]) == pytest.approx(
        sew.thing_minutes + 10 * sew.unit_minutes, abs=0.06
    )


def test_the_colour_strip_names_its_fields(cut: tuple[Board, dict[str, bytes]]) -> None:
    _, files = cut
    svg = files["colour strip.svg"].decode()
    for words in FIELDS:
        assert words in svg


def test_a_board_that_is_cut_with_a_knife_has_no_comb() -> None:
    with pytest.raises(RequestError, match="cut with a knife"):
        bench_files(find(SHELF.boards, "card 1 mm"), LEATHER)
