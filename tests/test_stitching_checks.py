import math
from dataclasses import replace

import pytest

from hidewright.design.choices import SewingChoice
from hidewright.design.piece import Fold, MouldedZone, Piece, PunchedHole
from hidewright.design.seam import Hole, Seam, SeamEdge, SewnEdge, SewnSeam
from hidewright.design.states import DryOutline
from hidewright.errors import Remark
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point, line
from hidewright.geometry.shapes import arch, circle, polygon, rectangle
from hidewright.stitching.between_seams import check_between_seams
from hidewright.stitching.lay_seam import lay_seam
from hidewright.stitching.seam_checks import web_between

CHOICE = SewingChoice()
THICK = 1.5
LIP = 2.0
INSET = 4.0


def _seam(span: str, inset: float = INSET, pitch: float = 4.0) -> Seam:
    return Seam(
        name="rim",
        edges=(
            SeamEdge(piece="front", span=span),
            SeamEdge(piece="back", span=span, runs_backwards=True),
        ),
        inset_mm=inset,
        pitch_mm=pitch,
    )


def _piece(name: str, outline: Outline) -> Piece:
    return Piece(name=name, role="body", outline=DryOutline(outline))


def _remarks(
    front: Piece, seam: Seam, choice: SewingChoice = CHOICE, back: Outline | None = None
) -> dict[str, Remark]:
    other = _piece("back", back or front.outline.mirrored())
    _, remarks = lay_seam(seam, (front, other), {"front": THICK, "back": THICK}, choice)
    assert len({(r.code, r.place) for r in remarks}) == len(remarks)
    return {r.code: r for r in remarks}


def _pouch_front(flange: float, mouth: bool = True) -> Piece:
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(arch(60.0, 90.0, 12.0)),
        depth_mm=12.0,
        crown_radius_mm=3.0,
        lip_radius_mm=LIP,
        edges=(("mouth", "mouth" if mouth else "flange"),),
    )
    trimmed = arch(60.0 + 2 * flange, 90.0 + flange, 12.0 + flange)
    return Piece(name="front", role="body", outline=DryOutline(trimmed), zones=(zone,))


BOX = _piece("front", rectangle(80.0, 60.0))


def test_a_plain_seam_has_nothing_said_about_it() -> None:
    assert _remarks(BOX, _seam("bottom")) == {}
    assert _remarks(_pouch_front(13.0), _seam("rim")) == {}


ROOM = INSET + THICK + LIP + CHOICE.tool_clearance_mm


@pytest.mark.parametrize(
    ("flange", "code", "severity"),
    [
        (ROOM, None, None),
        (ROOM - 0.05, "no-room-for-tool", "warning"),
        (ROOM - CHOICE.tool_clearance_mm, "no-room-for-tool", "warning"),
        (ROOM - CHOICE.tool_clearance_mm - 0.05, "hole-in-wall", "forbids"),
        (INSET - 0.5, "hole-in-wall", "forbids"),
    ],
)
def test_holes_keep_leather_lip_and_tool_away_from_the_wall_and_the_flange_that_does_is_named(
    flange: float, code: str | None, severity: str | None
) -> None:
    found = _remarks(_pouch_front(flange), _seam("rim"))
    walls = {c: r for c, r in found.items() if c in ("hole-in-wall", "no-room-for-tool")}
    if code is None:
        assert walls == {}
        return
    remark = walls.pop(code)
    assert walls == {}
    assert remark.severity == severity
    assert remark.place == "front/hollow"
    assert remark.amount == pytest.approx(flange - INSET, abs=1e-6)
    (remedy,) = remark.remedies
    assert (remedy.field, remedy.value) == ("measures.flange", f"{ROOM:g} mm")
    mended = _pouch_front(float(remedy.value.removesuffix(" mm")))
    assert _remarks(mended, _seam("rim")) == {}


def test_a_wall_that_is_cut_off_at_the_mouth_does_not_count() -> None:
    # a seam across above the mouth, 1 mm from the zone's mouth line
    zone = _pouch_front(10.0).zones[0]
    points = ((50.0, -100.0), (50.0, 5.0), (-50.0, 5.0), (-50.0, -100.0))
    tall = polygon(points, 0.0, ("side", "top", "side", "bottom"))
    front = Piece(name="front", role="body", outline=DryOutline(tall), zones=(zone,))
    plain = _seam("top")
    seam = replace(plain, edges=tuple(replace(e, skip_mm=(30.0, 30.0)) for e in plain.edges))
    codes = set(_remarks(front, seam))
    assert "hole-in-wall" not in codes
    assert "no-room-for-tool" not in codes
    walled = replace(front, zones=(replace(zone, edges=()),))
    assert "hole-in-wall" in _remarks(walled, seam)


@pytest.mark.parametrize(
    ("inset", "pitch", "code"),
    [
        (2.9, 2.5, "holes-near-edge"),
        (3.0, 3.0, None),
        (3.4, 4.0, "inset-under-pitch"),
        (4.0, 4.0, None),
    ],
)
def test_an_inset_under_3_mm_or_under_the_pitch_is_said(
    inset: float, pitch: float, code: str | None
) -> None:
    assert set(_remarks(BOX, _seam("bottom", inset=inset, pitch=pitch))) == (
        {code} if code else set()
    )


def test_a_hole_near_another_edge_is_found() -> None:
    # a notch from above ends 2 mm beside the stitch line
    points = ((40, -30), (40, 30), (5, 30), (0, -24), (-5, 30), (-40, 30), (-40, -30))
    spans = ("side", "side", "notch", "notch", "side", "side", "bottom")
    notched = _piece("front", polygon(points, 0.0, spans))
    found = _remarks(notched, _seam("bottom"))["hole-near-other-edge"]
    assert found.severity == "warning"
    assert found.amount == pytest.approx(2.0, abs=0.3)
    assert found.point is not None
    assert abs(found.point[0]) < 2.1


@pytest.mark.parametrize(
    ("height", "code", "severity"),
    [
        # slit end, punched hole: 4 mm up are the holes, 1 mm half a slit, 3 mm the radius
        (8.9, "hole-near-opening", "warning"),
        (9.1, None, None),
        (7.5, "hole-in-opening", "forbids"),
    ],
)
@pytest.mark.parametrize("as_cut_out", [False, True])
def test_holes_keep_a_millimetre_from_punched_holes_and_cut_outs(
    height: float, code: str | None, severity: str | None, as_cut_out: bool
) -> None:
    # the middle one of 19 holes lies at x = 0
    at = (0.0, -30.0 + height)
    if as_cut_out:
        front = replace(BOX, cut_outs=(DryOutline(circle(3.0, at)),))
    else:
        front = replace(BOX, holes=(PunchedHole(name="stud", at=at, diameter_mm=6.0),))
    found = _remarks(front, _seam("bottom"))
    assert set(found) == ({code} if code else set())
    if code:
        assert found[code].severity == severity


def test_holes_well_inside_a_cut_out_are_forbidden_too() -> None:
    # holes at x = 0, 4, 8 lie inside, that at 12 is 2 mm outside
    front = replace(BOX, cut_outs=(DryOutline(circle(10.0, (0.0, -26.0))),))
    found = _remarks(front, _seam("bottom"))
    assert found["hole-in-opening"].severity == "forbids"


def test_a_hole_in_a_notch_lies_outside_the_piece() -> None:
    points = ((40, -30), (40, 30), (5, 30), (0, -28), (-5, 30), (-40, 30), (-40, -30))
    spans = ("side", "side", "notch", "notch", "side", "side", "bottom")
    notched = _piece("front", polygon(points, 0.0, spans))
    found = _remarks(notched, _seam("bottom"))["hole-outside-piece"]
    assert found.severity == "forbids"
    assert found.point == pytest.approx((0.0, -26.0), abs=1e-6)


def test_the_slit_of_a_punched_hole_counts_too() -> None:
    hole = PunchedHole(name="strap", at=(0.0, 0.0), diameter_mm=4.0, slit=(0.0, -24.5))
    assert "hole-near-opening" in _remarks(replace(BOX, holes=(hole,)), _seam("bottom"))
    whole = replace(hole, slit=None)
    assert _remarks(replace(BOX, holes=(whole,)), _seam("bottom")) == {}


def _folded(strip: float) -> Piece:
    fold = Fold(
        name="spine",
        line=Path((line((0.0, -30.0), (0.0, 30.0)),)),
        angle=math.pi,
        inside_radius_mm=1.0,
        k_factor=0.5,
        strip_mm=strip,
        glue_free_mm=(strip / 2 + 3.0, strip / 2 + 3.0),
    )
    return replace(BOX, folds=(fold,))


def test_one_stitch_across_a_fold_leaves_its_strip_whole_and_two_do_not() -> None:
    assert "hole-in-fold" not in _remarks(_folded(4.0), _seam("bottom"))
    found = _remarks(_folded(8.0), _seam("bottom"))["hole-in-fold"]
    assert found.amount == pytest.approx(0.0, abs=1e-9)
    assert "1 hole lies" in found.sentence


def test_a_stretch_of_one_stitch_asks_for_a_pitch_that_gives_two() -> None:
    chamfered = polygon(
        ((40, 0), (-40, 0), (-40, -60), (-36, -66), (40, -66)),
        0.0,
        ("mouth", "rim", "rim", "rim", "rim"),
    )
    front = _piece("front", chamfered)
    found = _remarks(front, _seam("rim"))["stretch-of-one-stitch"]
    (remedy,) = found.remedies
    finer = float(remedy.value.removesuffix(" mm"))
    assert "stretch-of-one-stitch" not in _remarks(front, _seam("rim", pitch=finer))


def test_a_pitch_that_whole_stitches_miss_by_a_tenth_is_noted() -> None:
    short = _piece("front", rectangle(8.0 + 10.0, 60.0))
    found = _remarks(short, _seam("bottom"))
    assert found["pitch-missed"].amount == pytest.approx(4.0 - 10.0 / 3, abs=1e-9)


def test_stitches_short_for_a_thick_stack_are_noted() -> None:
    thick = {"front": 3.5, "back": 3.0}
    pieces = (BOX, _piece("back", BOX.outline.mirrored()))
    remarks = lay_seam(_seam("bottom"), pieces, thick, CHOICE)[1]
    (found,) = remarks
    assert found.code == "stitches-short-for-stack"
    assert found.limit == pytest.approx(0.8 * 6.5)


@pytest.mark.parametrize(("width", "eased"), [(82.9, False), (84.5, True)])
def test_easing_over_five_per_cent_is_said(width: float, eased: bool) -> None:
    # stitch lines of 72 mm and of the width less 8 mm
    found = _remarks(BOX, _seam("bottom"), back=rectangle(width, 60.0))
    if not eased:
        assert 74.9 / 72 < 1.05
        assert found == {}
    else:
        assert set(found) == {"layers-eased"}
        assert found["layers-eased"].amount == pytest.approx(76.5 / 72 - 1, abs=1e-9)


def test_a_corner_that_only_the_other_layer_has_is_said() -> None:
    # the back's rim has a shallow point in its middle, 25 degrees a side
    drop = 40 * math.tan(math.radians(12.6))
    front = _piece(
        "front", polygon(((40, 0), (-40, 0), (-40, -9), (40, -9)), 0.0, ("m", "s", "rim", "s"))
    )
    back = polygon(
        ((40, 30), (-40, 30), (-40, 0), (7, -drop), (40, 0)), 0.0, ("m", "s", "rim", "rim", "s")
    )
    found = _remarks(front, _seam("rim", pitch=4.2), back=back)
    assert found["corner-without-hole"].place == "back"


@pytest.mark.parametrize("degrees", [0.0, 30.0, 45.0, 90.0])
@pytest.mark.parametrize("slit", [1.0, 2.0, 3.5])
def test_the_leather_between_two_slits_of_a_straight_seam(degrees: float, slit: float) -> None:
    pitch, slant = 4.0, math.radians(degrees)
    one, two = Hole(at=(0.0, 0.0), slant=slant), Hole(at=(pitch, 0.0), slant=slant)
    # the second slit lies (p cos, p sin) from the first in its own direction and square to it
    gap = max(pitch * math.cos(slant) - slit, 0.0)
    expected = math.hypot(gap, pitch * math.sin(slant))
    assert web_between(one, two, slit) == pytest.approx(expected, abs=1e-12)


def test_round_holes_leave_the_pitch_less_their_diameter_and_crossing_slits_nothing() -> None:
    assert web_between(Hole(at=(0, 0), slant=None), Hole(at=(3, 0), slant=None), 1.2) == 1.8
    assert web_between(Hole(at=(0, 0), slant=0.7), Hole(at=(0.2, 0), slant=2.0), 2.0) == 0.0


def test_slits_that_nearly_meet_are_said_with_a_slit_that_does() -> None:
    along = replace(CHOICE, slant=0.0, slit_mm=3.4)
    found = _remarks(BOX, _seam("bottom"), along)["little-leather-between-holes"]
    assert found.severity == "warning"
    assert found.amount == pytest.approx(0.6, abs=1e-9)
    assert found.remedies[0].value == "3 mm"
    assert _remarks(BOX, _seam("bottom"), replace(along, slit_mm=3.0)) == {}
    touching = _remarks(BOX, _seam("bottom"), replace(along, slit_mm=4.0))
    assert touching["little-leather-between-holes"].severity == "forbids"


def _side(name: str, span: str, skip: tuple[float, float], inset: float = INSET) -> Seam:
    return Seam(
        name=name,
        edges=(
            SeamEdge(piece="front", span=span, skip_mm=skip),
            SeamEdge(piece=f"back of {name}", span=span, skip_mm=skip),
        ),
        inset_mm=inset,
        pitch_mm=4.0,
    )


def _between(*seams: Seam) -> dict[str, Remark]:
    laid = []
    for seam in seams:
        back = _piece(seam.edges[1].piece, BOX.outline)
        thick = {"front": THICK, back.name: THICK}
        laid.append(lay_seam(seam, (BOX, back), thick, CHOICE)[0])
    return {r.code: r for r in check_between_seams(laid)}


def test_seams_that_share_their_corner_hole_are_noted_and_nothing_else() -> None:
    found = _between(_side("one", "bottom", (0, 0)), _side("two", "right", (0, 0)))
    assert {c: r.severity for c, r in found.items()} == {"seams-share-a-hole": "note"}
    assert found["seams-share-a-hole"].point == pytest.approx((36.0, -26.0), abs=1e-6)


def test_seams_nearer_than_half_a_stitch_are_said() -> None:
    near = _between(_side("one", "bottom", (0, 0)), _side("two", "bottom", (0, 0), 5.0))
    # both have a hole at x = 0, and their lines are 1 mm apart
    assert near["seams-too-near"].amount == pytest.approx(1.0, abs=1e-9)
    assert _between(_side("one", "bottom", (0, 0)), _side("two", "bottom", (0, 0), 9.0)) == {}


def _straight(name: str, start: Point, step: Point, count: int) -> SewnSeam:
    holes = tuple(
        Hole(at=(start[0] + step[0] * i, start[1] + step[1] * i), slant=None) for i in range(count)
    )
    return SewnSeam(
        name=name,
        layers=(SewnEdge(piece="front", span="rim", holes=holes),),
        pitch_mm=(math.hypot(*step), math.hypot(*step)),
        anchors=(0, count - 1),
        reverse_stitches=0,
        stack_mm=3.0,
        thread_mm=0.0,
    )


def test_seams_that_cross_between_their_holes_are_said() -> None:
    level = _straight("level", (0.0, 0.0), (6.0, 0.0), 8)
    upright = _straight("upright", (9.0, -15.0), (0.0, 6.0), 6)
    found = {r.code: r for r in check_between_seams((level, upright))}
    assert set(found) == {"seams-cross"}
    assert found["seams-cross"].point == pytest.approx((9.0, 0.0), abs=1e-9)
    beside = _straight("upright", (9.0, 3.0), (0.0, 6.0), 6)
    assert check_between_seams((level, beside)) == ()
