"""The beam's path leaves every part at its true size."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.boards import Board
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.part import Easing, Label, Part, PartHole
from hidewright.errors import RequestError
from hidewright.geometry.boolean import difference
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import line
from hidewright.geometry.shapes import arch, circle, polygon, rectangle
from hidewright.tooling.acceptance.cut import accept_cut
from hidewright.tooling.kerf import cut_outlines


def board(kerf: float) -> Board:
    return replace(find(built_in_catalogue().boards, "MDF 6 mm"), kerf_mm=kerf)


def plate(kerf: float, *holes: Outline) -> Part:
    return Part(
        name="plate",
        role="frame",
        board=board(kerf),
        outline=arch(80.0, 90.0, 20.0),
        holes=tuple(PartHole(outline=hole, purpose="dowel") for hole in holes),
    )


@given(
    kerf=st.floats(0.05, 0.5),
    radius=st.floats(0.5, 10.0),
    at=st.tuples(st.floats(-25, 25), st.floats(-60, -15)),
)
@settings(max_examples=40, deadline=None)
def test_a_beam_of_the_kerfs_width_touches_the_true_edge_everywhere(
    kerf: float, radius: float, at: tuple[float, float]
) -> None:
    part = plate(kerf, circle(radius, at))
    cut = cut_outlines(part)
    for path, edge in ((cut.outer, part.outline), (cut.inner[0], part.holes[0].outline)):
        away = [edge.nearest((x, y))[1] for x, y in path.flat_points(0.001)[:-1].tolist()]
        assert max(abs(np.array(away) - kerf / 2)) < 1e-6
    half = kerf / 2
    # Steiner's formula, the beam going round the arch's two sharp corners; inside the hole
    outline = part.outline
    assert cut.outer.area == pytest.approx(
        outline.area + outline.length * half + math.pi * half**2, rel=1e-9
    )
    assert cut.inner[0].area == pytest.approx(math.pi * (radius - half) ** 2, rel=1e-9)


@pytest.mark.parametrize(("wider", "beside"), [(0.0, 0.0), (0.02, 0.0), (0.0, 0.02)])
@pytest.mark.parametrize("which", [0, 3])
def test_each_of_many_like_holes_is_looked_at(which: int, wider: float, beside: float) -> None:
    places = [(-20.0, -20.0), (20.0, -20.0), (20.0, -50.0), (-20.0, -50.0)]
    part = plate(0.2, *(circle(4.0, place) for place in places))
    x, y = places[which]
    radii = [3.9 + (wider if k == which else 0.0) for k in range(4)]
    at = [(x + beside, y) if k == which else place for k, place in enumerate(places)]
    holes = [circle(radius, place) for radius, place in zip(radii, at, strict=True)]
    codes = [f.code for f in accept_cut(part, [*holes, cut_outlines(part).outer])]
    assert codes == (["cut-not-at-true-size"] if wider or beside else [])


@pytest.mark.parametrize(
    ("wedge", "codes"), [(90.0, []), (15.0, []), (5.0, ["cut-not-at-true-size"])]
)
def test_what_a_round_beam_cannot_reach_in_a_narrow_notch_is_no_fault_to_a_mm(
    wedge: float, codes: list[str]
) -> None:
    """Of a notch of angle w it leaves what lies within half / sin(w / 2) of the corner."""
    half = 10.0 * math.tan(math.radians(wedge / 2))
    corners = [(-40, 0), (40, 0), (40, 30), (half, 30), (0, 20), (-half, 30), (-40, 30)]
    part = replace(plate(0.2), outline=polygon(corners))
    assert [f.code for f in accept_cut(part, [cut_outlines(part).outer])] == codes


def test_a_plate_round_a_notch_that_closes_to_a_cusp_is_cut_as_asked() -> None:
    notched = difference(rectangle(60, 40), circle(3.0, (0.0, 20.0)))[0].outer
    part = replace(plate(0.2), outline=offset(notched, 3.0))
    assert accept_cut(part, [cut_outlines(part).outer]) == ()


def test_inside_cuts_come_before_the_outside_cut_and_small_ones_first() -> None:
    cut = cut_outlines(plate(0.2, circle(9.0, (0.0, -60.0)), circle(2.0, (0.0, -20.0))))
    assert cut.cuts[-1] is cut.outer
    areas = [outline.area for outline in cut.cuts]
    assert areas == sorted(areas)


def test_a_hole_no_wider_than_the_beam_is_refused() -> None:
    with pytest.raises(RequestError, match=r"0\.20 mm wide: the beam itself cuts 0\.3 mm"):
        cut_outlines(plate(0.3, circle(0.1, (0.0, -40.0))))


def test_a_hole_with_a_neck_narrower_than_the_beam_is_refused() -> None:
    neck = (
        (-10.0, -50.0), (-1.0, -50.0), (-1.0, -45.1), (1.0, -45.1), (1.0, -50.0), (10.0, -50.0),
        (10.0, -40.0), (1.0, -40.0), (1.0, -44.9), (-1.0, -44.9), (-1.0, -40.0), (-10.0, -40.0),
    )  # fmt: skip
    hole = Outline(tuple(line(a, b) for a, b in zip(neck, neck[1:] + neck[:1], strict=True)))
    with pytest.raises(RequestError, match=r"neck under 0\.3 mm"):
        cut_outlines(plate(0.3, hole))
    assert len(cut_outlines(plate(0.1, hole)).inner) == 1


def test_a_part_eased_below_only_is_cut_with_that_face_up_so_the_line_is_scored_there() -> None:
    score = Path((line((10.0, -50.0), (10.0, -20.0)),))
    part = replace(
        plate(0.2, circle(3.0, (20.0, -20.0))),
        scores=(score,),
        labels=(Label(words="this side down", at=(15.0, -70.0), angle=0.3),),
        easings=(Easing(radius_mm=2.0, face="bottom", edge="window", how="file"),),
    )
    cut = cut_outlines(part)
    assert cut.face_up == "bottom"
    assert cut.inner[0].centroid == pytest.approx((-20.0, -20.0), abs=1e-3)
    assert {cut.scores[0].start, cut.scores[0].end} == {(-10.0, -50.0), (-10.0, -20.0)}
    assert (cut.labels[0].words, cut.labels[0].at) == ("this side down", (-15.0, -70.0))
    assert cut.labels[0].angle == -0.3
    above = replace(part.easings[0], face="top")
    assert cut_outlines(replace(part, easings=(above,))).face_up == "top"


def test_a_board_without_kerf_is_cut_on_the_line() -> None:
    part = replace(plate(0.0, circle(3.0, (0.0, -30.0))), outline=rectangle(200.0, 200.0))
    cut = cut_outlines(part)
    assert cut.outer == part.outline
    assert cut.inner[0] == part.holes[0].outline
