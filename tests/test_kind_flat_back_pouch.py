"""A lined flap: shorter inside the fold, its holes met in the closed pose, stacks and block."""

import math
import re
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.choices import SewingChoice
from hidewright.design.design import Design
from hidewright.design.fitting import fitting_remarks
from hidewright.design.kinds.flat_back_pouch import FlatBackPouchMeasures, construct
from hidewright.design.part import Part
from hidewright.design.piece import Piece
from hidewright.design.seam import SewnSeam
from hidewright.design.specification import Brief, Specification
from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats, Point
from hidewright.stitching.acceptance import accept_assembled, accept_seam
from hidewright.stitching.lay_seam import lay_seam
from hidewright.tooling.jigs import glue_jig
from hidewright.workshop.article import judge, pack
from hidewright.workshop.begin import begin
from hidewright.workshop.graph import Cache
from hidewright.workshop.patterns import FREE, piece_drawing

ROOM_MM = 0.5


@cache
def _usual() -> Specification[FlatBackPouchMeasures]:
    return begin("flat-back pouch", built_in_catalogue())


def _brief(body_mm: float, lining_mm: float, **changes: Any) -> Brief[FlatBackPouchMeasures]:
    brief = _usual().brief
    leathers = tuple(
        (role, replace(leather, thickness_min_mm=t, thickness_max_mm=t))
        for (role, leather), t in zip(brief.leathers, (body_mm, lining_mm), strict=True)
    )
    measures = replace(brief.measures, **{"lined": True, **changes})
    return replace(brief, leathers=leathers, measures=measures)


def _article(body_mm: float = 1.5, lining_mm: float = 0.7, **changes: Any) -> Design:
    return construct(_brief(body_mm, lining_mm, **changes))


def _thick(design: Design) -> dict[str, float]:
    return {p.name: design.leather(p.role).thickness_mm for p in design.pieces}


def _sewn(design: Design) -> tuple[SewnSeam, ...]:
    return tuple(
        lay_seam(seam, design.pieces, _thick(design), SewingChoice())[0] for seam in design.seams
    )


def _closed(design: Design, piece: str, at: tuple[Point, ...], high_mm: float = 0.0) -> Floats:
    """Points of a piece, so far above its flesh face, in the closed article."""
    rows = [
        design.assembly.pose_of(design.assembly.panel_at(piece, p), 1.0).of_points(
            np.array([[*p, high_mm]])
        )[0]
        for p in at
    ]
    return np.array(rows)


SHAPES = st.fixed_dictionaries(
    {
        "body_mm": st.floats(1.0, 2.4),
        "lining_mm": st.floats(0.4, 1.4),
        "depth_mm": st.floats(8.0, 25.0),
        "fold_radius_mm": st.floats(0.5, 3.5),
        "flap_length_mm": st.floats(25.0, 60.0),
        "pitch_mm": st.floats(3.0, 5.0),
        "closing": st.sampled_from(("strap and stud", "none")),
    }
)


@settings(max_examples=12, deadline=None)
@given(SHAPES)
def test_back_and_lining_have_as_many_holes_and_they_are_one_in_the_closed_article(
    shape: dict[str, Any],
) -> None:
    design = _article(**shape)
    rim, flap = _sewn(design)
    assert [layer.piece for layer in rim.layers] == ["front", "lining", "back"]
    assert [layer.piece for layer in flap.layers] == ["back", "lining"]
    for seam, sewn in zip(design.seams, (rim, flap), strict=True):
        assert accept_seam(seam, design.pieces, sewn) == ()
        assert accept_assembled(design.assembly, sewn, design.pieces, _thick(design)) == ()
        by_piece = {layer.piece: tuple(h.at for h in layer.holes) for layer in sewn.layers}
        # back and lining lie flesh to flesh, the front's flesh side on the lining's grain
        back = _closed(design, "back", by_piece["back"])
        assert _closed(design, "lining", by_piece["lining"]) == pytest.approx(back, abs=1e-6)
    front = _closed(design, "front", tuple(h.at for h in rim.layers[0].holes))
    lining = tuple(h.at for h in rim.layers[1].holes)
    assert _closed(design, "lining", lining, shape["lining_mm"]) == pytest.approx(front, abs=1e-6)


@pytest.mark.parametrize("pitch", [4.0, 7.5, 9.0])
def test_a_stretch_too_short_for_one_stitch_of_the_pitch_has_one_and_is_accepted(
    pitch: float,
) -> None:
    """Beside the strap of a lined flap 4.2 mm are sewn: from 8.5 mm that is half a pitch."""
    article = _article(pitch_mm=pitch, inset_mm=5.0)
    for seam, sewn in zip(article.seams, _sewn(article), strict=True):
        assert accept_seam(seam, article.pieces, sewn) == ()
    _rim, flap = _sewn(article)
    assert (min(flap.pitch_mm) < pitch / 2) == (pitch > 8.5)
    gone = replace(article.seams[1], pitch_mm=pitch / 2)
    assert "pitch-not-as-asked" in {f.code for f in accept_seam(gone, article.pieces, flap)}


@settings(max_examples=12, deadline=None)
@given(SHAPES)
def test_the_lining_is_shorter_by_the_half_turn_of_both_middles_and_ends_flush(
    shape: dict[str, Any],
) -> None:
    design = _article(**shape)
    back, lining = design.piece("back").outline, design.piece("lining").outline
    shorter = math.pi * (shape["body_mm"] + shape["lining_mm"]) / 2
    assert back.bounds[3] - lining.bounds[3] == pytest.approx(shorter, abs=1e-9)
    assert back.bounds[1] == lining.bounds[1]
    ends = [((0.0, piece.bounds[3]),) for piece in (back, lining)]
    (tip,), (lined,) = _closed(design, "back", ends[0]), _closed(design, "lining", ends[1])
    assert lined == pytest.approx(tip, abs=1e-9)
    # the lining's grain comes down over the front's crown with the usual room
    (over,) = _closed(design, "lining", ends[1], shape["lining_mm"])
    assert over[2] == pytest.approx(shape["depth_mm"] + shape["body_mm"] + ROOM_MM, abs=1e-9)
    (note,) = design.notes
    assert (note.code, note.severity) == ("lining-across-fold", "note")
    assert note.amount == pytest.approx(shorter, abs=1e-12)


def test_the_innermost_layer_has_the_fold_radius_and_the_back_lies_round_it() -> None:
    design = _article(1.5, 0.7, fold_radius_mm=2.0)
    back, lining = design.piece("back"), design.piece("lining")
    assert [f.inside_radius_mm for f in lining.folds] == [2.0, 2.0]
    assert [f.inside_radius_mm for f in back.folds] == pytest.approx([2.7, 2.7])
    assert [f.angle for f in lining.folds] == [-f.angle for f in back.folds]
    # pi/2 times the radius of each middle
    assert lining.folds[0].strip_mm == pytest.approx(math.pi / 2 * (2.0 + 0.35))
    assert back.folds[0].strip_mm == pytest.approx(math.pi / 2 * (2.7 + 0.75))


def _free_lines(piece: Piece) -> list[float]:
    drawing = piece_drawing(piece, (), "x")
    return sorted(s.curve.bounds[1] for s in drawing.strokes if s.layer is FREE)


@pytest.mark.parametrize("depth", [3.0, 12.0])
def test_the_whole_strip_and_3_mm_beside_it_stay_free_of_glue_and_stitches(depth: float) -> None:
    design = _article(depth_mm=depth, fold_radius_mm=1.0)
    for name in ("back", "lining"):
        piece = design.piece(name)
        low, high = (f.line.start[1] for f in piece.folds)
        strip = high - low + piece.folds[0].strip_mm
        assert _free_lines(piece) == pytest.approx([ROOM_MM - 3.0, ROOM_MM + strip + 3.0])
        (_, flap) = _sewn(design)
        (holes,) = (layer.holes for layer in flap.layers if layer.piece == name)
        least = min(hole.at[1] for hole in holes)
        assert least == pytest.approx(ROOM_MM + strip + 3.0, abs=1e-9)


def test_without_a_lining_only_the_bends_are_kept_free_of_glue() -> None:
    design = _article(lined=False)
    lines = _free_lines(design.piece("back"))
    wide = design.piece("back").folds[0].strip_mm + 6.0
    assert len(lines) == 4
    assert [lines[1] - lines[0], lines[3] - lines[2]] == pytest.approx([wide, wide])


def test_rim_thread_and_post_take_the_lining_too() -> None:
    lined, plain = _article(), _article(lined=False)
    (rim, flap), (bare,) = _sewn(lined), _sewn(plain)
    assert rim.stack_mm == pytest.approx(1.5 + 0.7 + 1.5)
    assert flap.stack_mm == pytest.approx(1.5 + 0.7)
    assert bare.stack_mm == pytest.approx(3.0)
    sewn = rim.count - 1 + 2 * rim.reverse_stitches
    assert rim.thread_mm - bare.thread_mm == pytest.approx(2 * sewn * 0.7, abs=1e-6)
    # the stud holds the front and the strap that closes over it
    assert lined.fittings[0].stack_mm == pytest.approx(1.5 + 1.5 + 0.7)
    assert plain.fittings[0].stack_mm == pytest.approx(3.0)
    assert fitting_remarks(lined.fittings) == ()
    assert [r.code for r in fitting_remarks(_article(1.5, 1.2).fittings)] == ["post-too-short"]


def test_the_strap_hole_goes_through_both_layers_at_one_place() -> None:
    design = _article()
    (back,), (lining,) = design.piece("back").holes, design.piece("lining").holes
    assert back.diameter_mm == lining.diameter_mm
    for one, two in ((back.at, lining.at), (back.slit, lining.slit)):
        assert one is not None
        assert two is not None
        closed = _closed(design, "back", (one,))
        assert _closed(design, "lining", (two,)) == pytest.approx(closed, abs=1e-9)


def test_a_lined_back_without_a_flap_has_no_fold_and_one_seam() -> None:
    design = _article(flap=False)
    assert [p.name for p in design.pieces] == ["front", "back", "lining"]
    assert design.piece("lining").folds == ()
    assert design.notes == ()
    (rim,) = _sewn(design)
    assert accept_assembled(design.assembly, rim, design.pieces, _thick(design)) == ()


def test_a_design_that_is_not_lined_needs_no_lining_leather_and_has_none() -> None:
    brief = _brief(1.5, 0.7, lined=False)
    bare = replace(brief, leathers=brief.leathers[:1])
    assert construct(brief) == construct(bare)
    with pytest.raises(RequestError, match="no leather is given for 'lining'"):
        construct(replace(bare, measures=replace(bare.measures, lined=True)))


def test_a_strap_too_narrow_for_two_rows_of_stitches_is_refused_by_name() -> None:
    _article(strap_width_mm=10.0)
    with pytest.raises(RequestError, match=r"at least 10 mm") as refused:
        _article(strap_width_mm=9.9)
    assert refused.value.where == "measures.strap_width"
    _article(strap_width_mm=9.9, closing="none")
    _article(strap_width_mm=9.9, lined=False)


@pytest.mark.parametrize(
    ("field", "over", "head"),
    [
        ("corner_radius", {"corner_radius_mm": 40.0}, 6.0),
        ("flap_length", {"height_mm": 20.0}, 6.0),
        ("flap_length", {"flap_length_mm": 110.0}, 6.0),
        ("strap_width", {}, 31.0),
    ],
)
def test_measures_that_leave_no_leather_round_a_hole_are_refused_by_name_with_what_would_do(
    field: str, over: dict[str, float], head: float
) -> None:
    brief = _brief(1.5, 0.7, lined=False, **over)
    (role, stud), *rest = brief.fittings
    brief = replace(brief, fittings=((role, replace(stud, head_diameter_mm=head)), *rest))
    with pytest.raises(RequestError) as refused:
        construct(brief)
    assert refused.value.where == f"measures.{field}"
    found = re.search(r"Give at (most|least) ([\d.]+) mm", refused.value.mend)
    assert found
    mended: dict[str, Any] = {f"{field}_mm": float(found[2])}
    measures = replace(brief.measures, **mended)
    construct(replace(brief, measures=measures))


def test_a_chrome_tanned_lining_is_not_moulded_and_not_forbidden_a_chrome_tanned_front_is() -> None:
    usual = _usual()
    assert dict(usual.brief.leathers)["lining"].tannage == "chrome"
    lined = replace(usual, brief=replace(usual.brief, measures=_brief(1.5, 0.7).measures))
    assert "not-vegetable-tanned" not in [r.code for r in judge(lined, Cache()).remarks]
    lining = dict(usual.brief.leathers)["lining"]
    brief = replace(lined.brief, leathers=(("body", lining), ("lining", lining)))
    codes = [r.code for r in judge(replace(lined, brief=brief), Cache()).remarks]
    assert codes.count("not-vegetable-tanned") == 1


def _jig(design: Design, number: int) -> tuple[Part, ...]:
    usual = _usual()
    pieces = [(p, design.leather(p.role)) for p in design.pieces]
    parts, remarks = glue_jig(design.seams[number], pieces, design.assembly, usual.tooling)
    assert remarks == ()
    return parts


@settings(max_examples=10, deadline=None)
@given(SHAPES)
def test_the_fold_block_fills_the_closed_fold_and_reaches_under_all_of_the_flap(
    shape: dict[str, Any],
) -> None:
    design = _article(**shape)
    block = _jig(design, 1)
    high = math.fsum(p.board.thickness_mm for p in block)
    inside = shape["depth_mm"] + shape["body_mm"] + ROOM_MM
    assert inside - 0.05 <= high <= inside + 1e-9
    assert [(e.face, e.radius_mm) for p in block for e in p.easings] == [
        ("bottom", shape["fold_radius_mm"]),
        ("top", shape["fold_radius_mm"]),
    ]
    # its end touches the lining where that stands upright: a radius beyond the fold's beginning
    left, bottom, right, top = block[0].outline.bounds
    assert top == pytest.approx(ROOM_MM + shape["fold_radius_mm"], abs=1e-9)
    tip = (0.0, design.piece("lining").outline.bounds[3])
    (flap_end,) = _closed(design, "lining", (tip,))
    assert flap_end[1] - bottom == pytest.approx(10.0, abs=1e-9)
    edge = design.piece("lining").outline.bounds
    assert (left, right) == pytest.approx((edge[0] - 10.0, edge[2] + 10.0))


def test_the_rim_jig_presses_all_three_layers() -> None:
    parts = {p.name: p for p in _jig(_article(1.5, 0.9), 0)}
    press, fence = parts["rim glue jig press"], parts["rim glue jig fence"]
    assert press.bottom_mm is not None
    assert fence.bottom_mm is not None
    assert press.bottom_mm - fence.bottom_mm == pytest.approx(1.5 + 0.9 + 1.5)


def test_the_pack_of_a_lined_pouch_is_accepted_and_has_all_that_the_lining_needs() -> None:
    usual = _usual()
    brief = replace(usual.brief, measures=replace(usual.brief.measures, lined=True))
    files, _ = pack(replace(usual, brief=brief), Cache())
    assert {"patterns/lining.svg", "patterns/lining.dxf"} <= set(files)
    cut = "".join(
        data.decode()
        for name, data in files.items()
        if name.startswith("cut/") and name.endswith(".svg")
    )
    for words in ("lining trim", "lining prick", "flap fold block"):
        assert words in cut
    index = files["index.html"].decode()
    assert "chrome-tanned lining 0.6-0.8 mm: 0.6-0.8 mm; used dry" in index
    assert "in each of 3 layers" in index
