import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.choices import SewingChoice
from hidewright.design.design import Design
from hidewright.design.kinds.flat_back_pouch import (
    FLAT_BACK_POUCH,
    FlatBackPouchMeasures,
    construct,
)
from hidewright.design.piece import Piece, Skive
from hidewright.design.seam import Hole, Seam, SeamEdge, SewnEdge, SewnSeam
from hidewright.design.specification import Brief
from hidewright.design.states import DryOutline
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats
from hidewright.geometry.shapes import arch, circle, polygon, rectangle
from hidewright.stitching.lay_seam import lay_seam
from hidewright.stitching.stitch_line import stitch_line
from hidewright.stitching.thread_use import sewing_order, thread_length

CHOICE = SewingChoice()


def _piece(name: str, outline: Outline) -> Piece:
    return Piece(name=name, role="body", outline=DryOutline(outline))


def _laid(front: Outline, back: Outline, seam: Seam, choice: SewingChoice = CHOICE) -> SewnSeam:
    pieces = (_piece("front", front), _piece("back", back))
    return lay_seam(seam, pieces, {"front": 1.6, "back": 1.2}, choice)[0]


def _seam(
    span: str = "rim", *, turned: bool = True, inset: float = 4.0, pitch: float = 4.0
) -> Seam:
    return Seam(
        name="rim",
        edges=(
            SeamEdge(piece="front", span=span),
            SeamEdge(piece="back", span=span, runs_backwards=turned),
        ),
        inset_mm=inset,
        pitch_mm=pitch,
    )


def _points(layer: SewnEdge) -> Floats:
    return np.array([h.at for h in layer.holes])


def _slit_ends(hole: Hole, slit_mm: float) -> Floats:
    assert hole.slant is not None
    step = np.array([math.cos(hole.slant), math.sin(hole.slant)]) * slit_mm / 2
    return np.array([np.array(hole.at) - step, np.array(hole.at) + step])


def _pouch(measures: FlatBackPouchMeasures) -> Design:
    catalogue = built_in_catalogue()
    return construct(
        Brief(
            kind=FLAT_BACK_POUCH.name,
            name="pouch",
            carried=(),
            measures=measures,
            leathers=tuple((r, find(catalogue.leathers, n)) for r, n in FLAT_BACK_POUCH.leathers),
            thread=catalogue.threads[0],
            fittings=tuple((r, find(catalogue.fittings, n)) for r, n in FLAT_BACK_POUCH.fittings),
        )
    )


@pytest.mark.parametrize("flap", [True, False])
@pytest.mark.parametrize("width", [62.0, 75.3])
def test_holes_and_slits_of_front_and_back_are_one_when_the_pouch_is_put_together(
    flap: bool, width: float
) -> None:
    design = _pouch(FlatBackPouchMeasures(flap=flap, width_mm=width))
    sewn, _ = lay_seam(design.seams[0], design.pieces, {"front": 1.5, "back": 1.5}, CHOICE)
    placed: list[Floats] = []
    for layer in sewn.layers:
        slits = np.concatenate([_slit_ends(h, CHOICE.slit_mm) for h in layer.holes])
        panel = design.assembly.panel_at(layer.piece, layer.holes[0].at)
        pose = design.assembly.pose_of(panel, 1.0)
        on_flesh = np.column_stack([slits, np.zeros(len(slits))])
        placed.append(pose.of_points(on_flesh).reshape(-1, 2, 3))
    front, back = placed
    # the same slit, from either of its ends
    same = np.abs(front - back).max(axis=(1, 2))
    swapped = np.abs(front - back[:, ::-1]).max(axis=(1, 2))
    assert np.minimum(same, swapped).max() < 1e-9
    assert sewn.count > 50


@st.composite
def odd_outlines(draw: st.DrawFn) -> Outline:
    """A five-cornered outline without symmetry, some corners sharp; spans mouth and rim."""
    xs = [draw(st.floats(-6.0, 6.0)) for _ in range(10)]
    points = (
        (60.0 + xs[0], xs[1]),
        (-60.0 + xs[2], xs[3]),
        (-50.0 + xs[4], -80.0 + xs[5]),
        (5.0 + xs[6], -110.0 + xs[7]),
        (45.0 + xs[8], -70.0 + xs[9]),
    )
    radii = (0.0, 0.0, *(draw(st.sampled_from((0.0, 5.0, 12.0))) for _ in range(3)))
    return polygon(points, radii, ("mouth", "rim", "rim", "rim", "rim"))


@settings(max_examples=30, deadline=None)
@given(outline=odd_outlines(), inset=st.floats(3.0, 8.0), pitch=st.floats(2.5, 7.0))
def test_mirror_image_layers_get_mirror_image_holes(
    outline: Outline, inset: float, pitch: float
) -> None:
    sewn = _laid(outline, outline.mirrored(), _seam(inset=inset, pitch=pitch))
    front, back = sewn.layers
    assert _points(back) * [-1.0, 1.0] == pytest.approx(_points(front), abs=1e-9)
    for ours, theirs in zip(front.holes, back.holes, strict=True):
        a, b = _slit_ends(ours, 2.0), _slit_ends(theirs, 2.0) * [-1.0, 1.0]
        assert min(np.abs(a - b).max(), np.abs(a - b[::-1]).max()) < 1e-8


@settings(max_examples=30, deadline=None)
@given(outline=odd_outlines(), inset=st.floats(3.0, 8.0), pitch=st.floats(2.5, 7.0))
def test_every_hole_keeps_the_inset_from_its_own_edge_and_from_the_mouth(
    outline: Outline, inset: float, pitch: float
) -> None:
    sewn = _laid(outline, outline.mirrored(), _seam(inset=inset, pitch=pitch))
    # of an arc of 5 mm an inset of nearly that leaves less than 0.01 mm, which becomes a corner
    within = 0.005 if 0.0 < 5.0 - inset < 0.05 else 1e-6
    for hole in sewn.layers[0].holes:
        assert outline.contains(hole.at)
        assert outline.nearest(hole.at)[1] == pytest.approx(inset, abs=within)
    for end in (sewn.layers[0].holes[0], sewn.layers[0].holes[-1]):
        to_mouth = outline.span_path("mouth").nearest(end.at)[1]
        assert to_mouth == pytest.approx(inset, abs=1e-6)


def test_slits_stand_at_the_slant_to_the_stitch_line_on_the_front_and_mirrored_on_the_back() -> (
    None
):
    box = rectangle(80.0, 60.0)
    sewn = _laid(box, box.mirrored(), _seam("bottom"), replace(CHOICE, slant=math.radians(30)))
    front, back = sewn.layers
    assert {round(math.degrees(h.slant or 0), 9) for h in front.holes} == {30.0}
    assert {round(math.degrees(h.slant or 0), 9) for h in back.holes} == {150.0}


def test_a_layer_that_lies_the_same_way_up_has_the_same_slits() -> None:
    box = rectangle(80.0, 60.0)
    sewn = _laid(box, box, _seam("bottom", turned=False))
    assert sewn.layers[0].holes == sewn.layers[1].holes


def test_a_slit_on_a_corner_lies_half_way_between_those_beside_it() -> None:
    square = polygon(
        ((40, 0), (-40, 0), (-40, -60), (40, -60)), 0.0, ("mouth", "rim", "rim", "rim")
    )
    sewn = _laid(square, square.mirrored(), _seam())
    corner = sewn.layers[0].holes[sewn.anchors[1]]
    assert corner.at == pytest.approx((-36.0, -56.0), abs=1e-9)
    # down, then right: half-way is 45 degrees down to the right, and the slant on top
    assert corner.slant == pytest.approx((-math.pi / 4 + CHOICE.slant) % math.pi, abs=1e-9)


def test_round_holes_have_no_direction() -> None:
    box = rectangle(80.0, 60.0)
    sewn = _laid(box, box.mirrored(), _seam("bottom"), replace(CHOICE, mark="round"))
    assert {h.slant for layer in sewn.layers for h in layer.holes} == {None}


@pytest.mark.parametrize("apart", [-1.5, 2.0])
def test_parallel_layers_of_unequal_length_meet_square_to_the_edge(apart: float) -> None:
    front = arch(80.0, 100.0, 20.0)
    other = arch(80.0 + 2 * apart, 100.0 + apart, 20.0 + apart).mirrored()
    sewn = _laid(front, other, _seam())
    ours, theirs = (_points(layer) for layer in sewn.layers)
    away = np.hypot(*(ours - theirs * [-1.0, 1.0]).T)
    assert away == pytest.approx(abs(apart), abs=1e-9)


def test_a_strip_round_sharp_corners_has_as_many_holes_and_its_corners_at_the_same_share() -> None:
    front = polygon(((40, 0), (-40, 0), (-40, -60), (40, -60)), 0.0, ("mouth", "rim", "rim", "rim"))
    strip = rectangle(192.0, 30.0)
    seam = Seam(
        name="gusset",
        edges=(
            SeamEdge(piece="front", span="rim"),
            SeamEdge(piece="back", span="top", runs_backwards=True),
        ),
        inset_mm=4.0,
        pitch_mm=4.0,
    )
    sewn = _laid(front, strip, seam)
    ours, theirs = (_points(layer) for layer in sewn.layers)
    # 52 + 72 + 52 mm on the front, 192 - 8 mm on the strip
    assert len(ours) == len(theirs) == 13 + 18 + 13 + 1
    along = theirs[:, 0] - theirs[0, 0]
    assert along[[0, 13, 31, 44]] == pytest.approx(np.array([0, 52, 124, 176]) / 176 * 184)
    for i, j in ((0, 13), (13, 31), (31, 44)):
        assert np.diff(along[i : j + 1]) == pytest.approx((along[j] - along[i]) / (j - i))


@pytest.mark.parametrize("turned", [False, True])
def test_what_is_left_unsewn_is_left_at_the_right_end_of_every_layer(turned: bool) -> None:
    box = rectangle(100.0, 60.0)
    seam = _seam("bottom")
    first, last = (25.0, 0.0), (0.0, 12.0)
    skip = (first[0], last[1])
    edges = tuple(
        replace(e, skip_mm=skip, runs_backwards=e.runs_backwards != turned) for e in seam.edges
    )
    sewn = _laid(box, box.mirrored(), replace(seam, edges=edges))
    xs = [_points(layer)[[0, -1], 0] for layer in sewn.layers]
    ends = np.array([-50.0 + 25.0, 50.0 - 12.0])
    expected = [-ends, ends] if turned else [ends, -ends]
    assert np.array(xs) == pytest.approx(np.array(expected), abs=1e-9)


def test_the_layer_that_runs_on_beyond_the_mouth_begins_where_the_other_one_must() -> None:
    # the back's outline goes straight on above y = 0, the front ends there
    front = arch(80.0, 100.0, 20.0)
    above = polygon(((40, 0), (40, 50), (-40, 50), (-40, 0)), 0.0, ("flap", "flap", "flap", "x"))
    back = Outline((*(s for s in above.segments if s.span == "flap"), *front.segments[1:]))
    sewn = _laid(front, back.mirrored(), _seam())
    for layer in sewn.layers:
        assert _points(layer)[[0, -1], 1] == pytest.approx([-4.0, -4.0], abs=1e-9)
    alone = stitch_line(_piece("back", back), SeamEdge(piece="back", span="rim"), 4.0)
    assert alone.start == pytest.approx((-36.0, 0.0), abs=1e-9)


def test_a_seam_all_the_way_round_repeats_no_hole_and_has_equal_stitches() -> None:
    disc = circle(30.0)
    sewn = _laid(disc, disc.mirrored(), _seam())
    points = _points(sewn.layers[0])
    chord = np.hypot(*(points - np.roll(points, -1, axis=0)).T)
    assert sewn.count == round(2 * math.pi * 26 / 4.0)
    assert chord == pytest.approx(2 * 26 * math.sin(math.pi / sewn.count), abs=1e-9)
    order = sewing_order(sewn.count, 3, closed=True)
    assert len(order) == sewn.count + 3 + 1
    assert sewn.thread_mm == pytest.approx(
        2 * (sewn.count + 3) * (chord[0] + 2.8) + 2 * CHOICE.tail_mm, abs=1e-6
    )


def test_a_round_edge_cannot_be_sewn_to_an_open_one() -> None:
    with pytest.raises(RequestError, match="all the way round"):
        _laid(circle(30.0), arch(60.0, 60.0, 10.0), _seam())


def test_thread_follows_the_stack_the_chords_and_the_order_of_sewing() -> None:
    sewn = _laid(arch(80, 100, 20), arch(80, 100, 20).mirrored(), _seam())
    assert sewn.stack_mm == pytest.approx(1.6 + 1.2, abs=1e-12)
    holes = [h.at for h in sewn.layers[0].holes]
    order = sewing_order(sewn.count, 3)
    assert sewn.thread_mm == thread_length(holes, order, 2.8, 150.0)
    plain = sum(math.dist(a, b) + 2.8 for a, b in pairwise(holes))
    assert sewn.thread_mm == pytest.approx(
        2 * plain + 2 * 6 * (sewn.pitch_mm[0] + 2.8) + 300, rel=1e-3
    )


@pytest.mark.parametrize(("width", "stack"), [(8.0, 1.6 + 0.6 + 0.5 * 0.6), (3.0, 1.6 + 1.2)])
def test_a_skive_thins_the_stack_as_far_in_as_it_reaches(width: float, stack: float) -> None:
    box = rectangle(80.0, 60.0)
    back = replace(
        _piece("back", box.mirrored()),
        skives=(Skive(span="bottom", width_mm=width, left_mm=0.6),),
    )
    pieces = (_piece("front", box), back)
    sewn, _ = lay_seam(_seam("bottom"), pieces, {"front": 1.6, "back": 1.2}, CHOICE)
    assert sewn.stack_mm == pytest.approx(stack, abs=1e-12)


def test_reverse_stitches_are_cut_to_what_the_seam_has() -> None:
    box = rectangle(18.0, 60.0)
    seam = replace(_seam("bottom"), reverse_stitches=5)
    pieces = (_piece("front", box), _piece("back", box.mirrored()))
    sewn, remarks = lay_seam(seam, pieces, {"front": 1.6, "back": 1.2}, CHOICE)
    assert (sewn.count, sewn.reverse_stitches) == (4, 3)
    assert "seam-short-for-reverse-stitches" in {r.code for r in remarks}


@pytest.mark.parametrize(
    ("seam", "words"),
    [
        (_seam("bottom", inset=40.0), "inset"),
        (_seam("bottom", pitch=70.0), "finer pitch"),
        (
            replace(_seam("bottom"), edges=(*_seam("bottom").edges, SeamEdge(piece="x", span="y"))),
            "x",
        ),
        (
            replace(
                _seam("bottom"),
                edges=tuple(replace(e, skip_mm=(50.0, 50.0)) for e in _seam("bottom").edges),
            ),
            "nothing is left to sew",
        ),
    ],
)
def test_a_seam_that_cannot_be_drawn_is_refused_in_words(seam: Seam, words: str) -> None:
    box = rectangle(80.0, 60.0, 5.0)
    with pytest.raises(RequestError, match=words):
        _laid(box, box.mirrored(), seam)
