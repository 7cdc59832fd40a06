"""Trim and pricking templates: edge, window, holes, fence and clamp, over random pouches."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.choices import ToolingChoice
from hidewright.design.part import Part
from hidewright.design.piece import Fold, MouldedZone, Piece, PunchedHole
from hidewright.design.seam import Hole, Seam, SeamEdge, SewnEdge, SewnSeam
from hidewright.design.states import DryOutline
from hidewright.errors import RequestError
from hidewright.geometry.offset import offset_path
from hidewright.geometry.outline import Chain, Outline, Path
from hidewright.geometry.segment import Floats, Point, arc, line
from hidewright.geometry.shapes import arch, circle, polygon, rectangle
from hidewright.tooling.acceptance.cut import accept_cut
from hidewright.tooling.acceptance.sheet_part import accept_part
from hidewright.tooling.kerf import cut_outlines
from hidewright.tooling.marks import LETTER_WIDTH
from hidewright.tooling.pricking_template import pricking_template, pricking_templates
from hidewright.tooling.take_away import take_away
from hidewright.tooling.trim_template import trim_template
from hidewright.tooling.turned_over import turned_over
from hidewright.tooling.wall_window import wall_window
from hidewright.workshop.acceptance import untold

SHELF = built_in_catalogue()
LEATHER = find(SHELF.leathers, "vegetable-tanned shoulder 3-4 oz")
CHOICE = ToolingChoice(
    mould_board=find(SHELF.boards, "MDF 6 mm"),
    template_board=find(SHELF.boards, "clear acrylic 5 mm"),
)
CLEAR = CHOICE.template_board
#: Middle of 3-4 oz by the definition of the ounce, 1/64 in.
WALL_MM = 3.5 * 25.4 / 64
FIT_MM = 0.3
SEAM = Seam(
    name="rim",
    edges=(
        SeamEdge(piece="front", span="rim"),
        SeamEdge(piece="back", span="rim", runs_backwards=True),
    ),
    inset_mm=4.0,
    pitch_mm=4.0,
)


@st.composite
def fronts(draw: st.DrawFn) -> Piece:
    width = draw(st.floats(40, 120))
    height = draw(st.floats(40, 140))
    corner = draw(st.floats(4, 0.45 * min(width, height)))
    depth = draw(st.floats(8, 25))
    return front(
        width=width,
        height=height,
        depth=depth,
        corner=corner,
        crown=draw(st.floats(1, 0.4 * depth)),
        lip=draw(st.floats(0.8, 2.5)),
        flange=draw(st.floats(12.0, 25.0)),
        notch=draw(st.sampled_from([0.0, 5.0, 0.3 * width])),
    )


def front(
    *,
    width: float = 62.0,
    height: float = 101.0,
    depth: float = 12.0,
    corner: float = 12.0,
    crown: float = 3.0,
    lip: float = 2.0,
    flange: float = 13.0,
    notch: float = 0.0,
) -> Piece:
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(arch(width, height, corner)),
        depth_mm=depth,
        crown_radius_mm=crown,
        lip_radius_mm=lip,
        edges=(("mouth", "mouth"), ("rim", "flange")),
    )
    trimmed = arch(width + 2 * flange, height + flange, corner + flange)
    if notch:
        (right, _), (left, _) = trimmed.segments[0].start, trimmed.segments[0].end
        cut = (
            line((right, 0.0), (notch, 0.0), "mouth right"),
            arc((0.0, 0.0), (notch, 0.0), -math.pi, "notch"),
            line((-notch, 0.0), (left, 0.0), "mouth left"),
        )
        trimmed = Outline((*cut, *trimmed.segments[1:]))
    return Piece(name="front", role="body", outline=DryOutline(trimmed), zones=(zone,))


def back_of(piece: Piece) -> Piece:
    rim = [s for s in piece.outline.mirrored().segments if s.span == "rim"]
    mouth = line(rim[-1].end, rim[0].start, "mouth")
    return Piece(name="back", role="body", outline=DryOutline(Outline((*rim, mouth))))


def sewn(piece: Piece, inset: float = 4.0, pitch: float = 4.0) -> SewnSeam:
    path = offset_path(piece.outline.span_path("rim"), -inset)
    n = round(path.length / pitch)
    points = [path.point_at(path.length * (i + 0.5) / n) for i in range(n)]
    return SewnSeam(
        name="rim",
        layers=(
            SewnEdge(piece="front", span="rim", holes=holes_at(points)),
            SewnEdge(piece="back", span="rim", holes=holes_at([(-x, y) for x, y in points])),
        ),
        pitch_mm=(pitch, pitch),
        anchors=(),
        reverse_stitches=3,
        stack_mm=2.8,
        thread_mm=1000.0,
    )


def holes_at(points: list[Point]) -> tuple[Hole, ...]:
    return tuple(Hole(at=at, slant=None) for at in points)


def points_along(chain: Chain, count: int = 200) -> list[Point]:
    return [chain.point_at(chain.length * i / count) for i in range(count)]


def part_named(parts: tuple[Part, ...], name: str) -> Part:
    return next(p for p in parts if p.name == name)


def wall_path(zone: MouldedZone) -> Path:
    """The walls run on straight upwards beyond the mouth, as an arch's do."""
    rim = zone.outline.span_path("rim")
    (x0, y0), (x1, y1) = rim.start, rim.end
    return Path((line((x0, y0 + 50), (x0, y0)), *rim.segments, line((x1, y1), (x1, y1 + 50))))


@settings(max_examples=8, deadline=None)
@given(piece=fronts())
def test_every_edge_of_a_trim_template_is_the_trim_line_or_the_fit_away_from_the_wall(
    piece: Piece,
) -> None:
    parts, _ = trim_template(piece, LEATHER, CHOICE)
    template = part_named(parts, "front trim template")
    zone = piece.zones[0]
    inside = wall_path(zone)
    on_trim_line = 0
    for p in points_along(template.outline, 300):
        trim, wall = piece.outline.nearest(p)[1], inside.nearest(p)[1]
        assert trim < 1e-6 or abs(wall - (WALL_MM + FIT_MM)) < 1e-6
        on_trim_line += trim < 1e-6
    assert on_trim_line > 100
    for p in points_along(piece.outline.span_path("rim")):
        assert template.outline.nearest(p)[1] < 1e-6


@settings(max_examples=6, deadline=None)
@given(piece=fronts())
def test_a_trim_template_has_its_least_web_everywhere_or_a_remark(piece: Piece) -> None:
    parts, remarks = trim_template(piece, LEATHER, CHOICE, margin_mm=20.0)
    template = part_named(parts, "front trim template")
    narrowest = piece.outline.bounds[2] - piece.zones[0].outline.bounds[2] - WALL_MM - FIT_MM
    assert narrowest >= CLEAR.min_web_mm
    assert not [r for r in remarks if r.code == "template-leg-narrow"]
    for part in (template, *(p for p in parts if p.name == "front finger fence")):
        core = part.outline.polygon.buffer(-CLEAR.min_web_mm / 2 + 0.05)
        assert core.geom_type == "Polygon"
        assert not core.is_empty
    clamp = part_named(parts, "front waste clamp")
    core = clamp.outline.polygon.buffer(-CHOICE.mould_board.min_web_mm / 2 + 0.05)
    assert core.geom_type == "Polygon"


@settings(max_examples=6, deadline=None)
@given(piece=fronts())
def test_the_fence_leaves_the_knife_its_way_and_stands_on_the_template_only(piece: Piece) -> None:
    parts, remarks = trim_template(piece, LEATHER, CHOICE)
    fences = [p for p in parts if p.name == "front finger fence"]
    template = part_named(parts, "front trim template")
    assert len(fences) + len([r for r in remarks if r.code == "no-finger-fence"]) == 1
    for fence in fences:
        on = template.outline.polygon.buffer(0.05)
        assert on.contains(fence.outline.polygon)
        assert min(piece.outline.nearest(p)[1] for p in points_along(fence.outline)) >= 4.0 - 1e-6
        assert fence.count * fence.board.thickness_mm >= 10.0


@settings(max_examples=6, deadline=None)
@given(piece=fronts(), margin=st.floats(17.0, 40))
def test_bolts_go_through_the_waste_only(piece: Piece, margin: float) -> None:
    parts, _ = trim_template(piece, LEATHER, CHOICE, margin_mm=margin)
    clamp = part_named(parts, "front waste clamp")
    bolts = clamp.holes_for("bolt")
    assert len(bolts) >= 3
    for bolt in bolts:
        for p in points_along(bolt, 24):
            assert not piece.outline.contains(p)
            assert 8.0 - 1e-6 <= piece.outline.nearest(p)[1] <= margin + 1e-6
            assert p[1] < 0.0
            assert clamp.outline.contains(p)
    assert not clamp.outline.polygon.buffer(-0.02).intersects(piece.outline.polygon)


def test_without_waste_beside_the_knife_there_is_no_clamp_but_a_note() -> None:
    parts, remarks = trim_template(front(), LEATHER, CHOICE, margin_mm=16.9)
    assert [p.name for p in parts] == ["front trim template", "front finger fence"]
    (note,) = [r for r in remarks if r.code == "no-waste-to-clamp"]
    assert note.limit == 17.0
    assert trim_template(front(), LEATHER, CHOICE, margin_mm=17.0)[0][-1].name.endswith("clamp")


@pytest.mark.parametrize("lean_degrees", [0.0, 4.0, 10.0])
def test_the_window_of_a_round_leaning_wall_is_a_circle_at_the_foot_of_the_wall(
    lean_degrees: float,
) -> None:
    lean = math.radians(lean_degrees)
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(circle(30.0)),
        depth_mm=15.0,
        crown_radius_mm=3.0,
        lip_radius_mm=2.0,
        wall_angle=lean,
    )
    window = wall_window(zone, LEATHER, CLEAR)
    foot = WALL_MM + 2.0
    radius = 30.0 + WALL_MM / math.cos(lean) - foot * math.tan(lean) + FIT_MM
    assert window.outline.area == pytest.approx(math.pi * radius**2, rel=1e-9)


def test_a_wide_range_of_thickness_still_lets_the_thickest_leather_in() -> None:
    wide = replace(LEATHER, thickness_min_mm=1.0, thickness_max_mm=2.0)
    zone = front().zones[0]
    assert wall_window(zone, wide, CLEAR).from_hollow_mm == pytest.approx(2.0 + 0.1)


@pytest.mark.parametrize("lip", [0.8, 2.0, 4.0])
@pytest.mark.parametrize("larger", [0.0, 0.15, 0.3, 0.5, 1.0])
def test_the_eased_edge_clears_a_lip_larger_by_the_fit_and_no_larger(
    lip: float, larger: float
) -> None:
    zone = replace(front(depth=20).zones[0], lip_radius_mm=lip)
    window = wall_window(zone, LEATHER, CLEAR)
    t, r = WALL_MM, lip + larger
    turns = np.linspace(0.0, math.pi / 2, 20001)
    x = window.from_hollow_mm + window.easing_mm * (1.0 - np.cos(turns)) - t
    z = window.easing_mm * (1.0 - np.sin(turns))
    # leather fills the corner between flange and wall outside a circle of radius r
    depth_in_leather = np.where((x < r) & (z < r), np.hypot(x - r, z - r) - r, -1.0).max()
    if larger <= FIT_MM:
        assert depth_in_leather < 1e-9
    else:
        pressed = math.hypot(larger - FIT_MM, larger) - larger
        assert depth_in_leather == pytest.approx(pressed, abs=1e-6)


def test_thin_sheet_is_doubled_until_it_reaches_the_upright_wall() -> None:
    eighth = find(SHELF.boards, "clear acrylic 1/8 in")
    zone = front(lip=2.5).zones[0]
    assert wall_window(zone, LEATHER, eighth).plates == 2
    assert wall_window(zone, LEATHER, CLEAR).plates == 1
    parts, _ = trim_template(front(lip=2.5), LEATHER, replace(CHOICE, template_board=eighth))
    assert parts[0].count == 2


def test_a_wall_too_low_to_locate_by_is_remarked_and_the_remedy_mends_it() -> None:
    low = front(depth=7.0, crown=3.0, lip=2.0)
    _, remarks = trim_template(low, LEATHER, CHOICE)
    (remark,) = [r for r in remarks if r.code == "wall-too-low-for-template"]
    assert remark.amount == pytest.approx(7.0 - 3.0 - WALL_MM - 2.0)
    crown = float(remark.remedies[0].value.split()[0])
    _, remarks = trim_template(front(depth=7.0, crown=crown - 0.05, lip=2.0), LEATHER, CHOICE)
    assert not [r for r in remarks if r.code == "wall-too-low-for-template"]


def test_a_narrow_flange_is_remarked_by_what_it_lacks() -> None:
    _, remarks = trim_template(front(flange=6.0), LEATHER, CHOICE)
    (remark,) = [r for r in remarks if r.code == "template-leg-narrow"]
    assert remark.amount == pytest.approx(6.0 - WALL_MM - FIT_MM)
    wide_enough = 6.0 + CLEAR.min_web_mm - (remark.amount or 0.0)
    _, remarks = trim_template(front(flange=wide_enough + 0.001), LEATHER, CHOICE)
    assert not [r for r in remarks if r.code == "template-leg-narrow"]


def test_a_closed_zone_leaves_a_window_and_an_open_one_a_u() -> None:
    (template, *_), _ = trim_template(front(), LEATHER, CHOICE)
    assert template.holes_for("window") == ()
    closed = replace(front().zones[0], edges=())
    tray = Piece(
        name="tray", role="body", outline=DryOutline(rectangle(100, 160)), zones=(_moved(closed),)
    )
    (template, *_), _ = trim_template(tray, LEATHER, CHOICE)
    (window,) = template.holes_for("window")
    assert template.outline.area == pytest.approx(100 * 160)
    for p in points_along(window):
        away = tray.zones[0].outline.nearest(p)[1]
        assert away == pytest.approx(WALL_MM + FIT_MM, abs=1e-6)


def _moved(zone: MouldedZone) -> MouldedZone:
    return replace(zone, outline=DryOutline(zone.outline.moved(0.0, 50.0)))


def test_walls_all_cut_at_a_height_get_no_flat_template() -> None:
    zone = replace(
        front().zones[0],
        edges=(("mouth", "cut at height"), ("rim", "cut at height")),
        cut_height_mm=6.0,
    )
    piece = replace(front(), zones=(zone,))
    assert trim_template(piece, LEATHER, CHOICE) == ((), ())
    assert pricking_template(piece, (sewn(front()),), LEATHER, CHOICE) == ((), ())


SLIT = ["slit-narrower-than-beam"]


@pytest.mark.parametrize(
    ("corners", "codes"),
    [
        (((0, 0), (90, 0), (90, 60), (0, 60)), []),
        (((0, 0), (90, 0), (90, 0.8), (0, 0.8)), ["piece-too-thin-for-template"]),
        (((0, 0), (90, 0), (90, 60), (45.5, 60), (45, 9), (44.5, 60), (0, 60)), SLIT),
        (((0, 0), (90, 0), (90, 60), (55, 60), (45, 9), (35, 60), (0, 60)), []),
    ],
)
def test_what_is_too_fine_for_beam_or_sheet_is_remarked_and_then_no_fault(
    corners: tuple[Point, ...], codes: list[str]
) -> None:
    piece = Piece(name="flat", role="body", outline=DryOutline(polygon(corners)))
    parts, remarks = trim_template(piece, LEATHER, CHOICE)
    found = [r for r in remarks if r.code not in ("no-finger-fence",)]
    assert [r.code for r in found] == codes
    faults = [*accept_part(parts[0]), *accept_cut(parts[0], cut_outlines(parts[0]).cuts)]
    assert untold(faults, remarks) == ()
    assert bool(faults) == bool(codes)


def test_zones_on_both_sides_are_refused() -> None:
    one = replace(front().zones[0], name="out")
    two = replace(front().zones[0], name="in", grain_out=False)
    with pytest.raises(RequestError, match="both of its sides"):
        trim_template(replace(front(), zones=(one, two)), LEATHER, CHOICE)


def test_a_piece_pressed_the_other_way_gets_mirrored_parts_for_its_flesh_side() -> None:
    def lopsided(piece: Piece) -> Piece:
        def moved(o: DryOutline) -> DryOutline:
            return DryOutline(o.moved(5.0, 0.0))

        zones = tuple(replace(z, outline=moved(z.outline)) for z in piece.zones)
        return replace(piece, outline=moved(piece.outline), zones=zones)

    outwards = lopsided(front())
    inwards = replace(outwards, zones=(replace(outwards.zones[0], grain_out=False),))
    (flesh, *_), _ = trim_template(inwards, LEATHER, CHOICE)
    (grain, *_), _ = trim_template(outwards, LEATHER, CHOICE)
    assert {"flesh side up"} < {label.words for label in flesh.labels}
    assert {"grain side up"} < {label.words for label in grain.labels}
    for p in points_along(flesh.outline):
        assert grain.outline.nearest((-p[0], p[1]))[1] < 1e-6
    seam = replace(sewn(front()), layers=(_shifted(sewn(front()).layers[0], 5.0),))
    (pricked, *_), _ = pricking_template(inwards, (seam,), LEATHER, CHOICE)
    wanted = in_order([(-h.at[0], h.at[1]) for h in seam.layers[0].holes])
    assert centres(pricked) == pytest.approx(wanted)


def _shifted(layer: SewnEdge, dx: float) -> SewnEdge:
    return replace(layer, holes=holes_at([(h.at[0] + dx, h.at[1]) for h in layer.holes]))


def centres(part: Part) -> Floats:
    return in_order(
        [h.segments[0].centre for h in (*part.holes_for("stitch hole"), *part.holes_for("mark"))]
    )


def in_order(points: list[Point]) -> Floats:
    return np.array(sorted((round(x, 6), round(y, 6)) for x, y in points))


def test_turning_over_twice_changes_nothing() -> None:
    fold = Fold(
        name="fold",
        line=Path((line((20.0, -50.0), (-30.0, -45.0)),)),
        angle=1.5,
        inside_radius_mm=2.0,
        k_factor=0.5,
        strip_mm=5.0,
        glue_free_mm=(4.0, 6.0),
    )
    hole = PunchedHole(name="stud", at=(3.0, -19.0), diameter_mm=4.0, slit=(4.0, -25.0))
    piece = replace(front(notch=8.0), folds=(fold,), holes=(hole,), stretch_angle=0.3)
    once = turned_over(piece)
    assert once.holes[0].at == (-3.0, -19.0)
    assert once.holes[0].slit == (-4.0, -25.0)
    assert once.stretch_angle == -0.3
    assert once.folds[0].line.start == (-20.0, -50.0)
    # what lay to the left of the line lies to its right in the mirror
    assert once.folds[0].glue_free_mm == (6.0, 4.0)
    again = turned_over(once)
    assert again.holes == piece.holes
    assert again.folds == piece.folds
    for p in points_along(piece.outline):
        assert again.outline.nearest(p)[1] < 1e-9


@settings(max_examples=6, deadline=None)
@given(piece=fronts(), pitch=st.floats(3.0, 6.0))
def test_a_pricking_template_has_one_hole_for_each_stitch_hole_and_no_other(
    piece: Piece, pitch: float
) -> None:
    seam = sewn(piece, pitch=pitch)
    (template,), remarks = pricking_template(piece, (seam,), LEATHER, CHOICE)
    assert centres(template) == pytest.approx(in_order([h.at for h in seam.layers[0].holes]))
    for hole in template.holes_for("stitch hole"):
        assert hole.area == pytest.approx(math.pi * CHOICE.prick_hole_mm**2 / 4)
    assert not [r for r in remarks if r.severity == "forbids"]
    for p in points_along(piece.outline.span_path("rim")):
        assert template.outline.nearest(p)[1] < 1e-6


def test_one_template_turned_over_serves_the_flat_mirror_piece() -> None:
    piece = front()
    back = back_of(piece)
    parts, remarks = pricking_templates(
        [(piece, LEATHER), (back, LEATHER)], [(SEAM, sewn(piece))], CHOICE
    )
    assert [p.name for p in parts] == ["front pricking template"]
    assert "turn over for back" in {label.words for label in parts[0].labels}
    assert "turned over it lies on the grain side of back" in parts[0].note
    assert not remarks


def test_a_hole_moved_by_two_hundredths_asks_for_a_template_of_its_own() -> None:
    piece = front()
    seam = sewn(piece)
    first, *others = seam.layers[1].holes
    for shift, wanted in ((0.005, 1), (0.02, 2)):
        moved = replace(first, at=(first.at[0] + shift, first.at[1]))
        off = replace(seam.layers[1], holes=(moved, *others))
        changed = replace(seam, layers=(seam.layers[0], off))
        parts, _ = pricking_templates(
            [(piece, LEATHER), (back_of(piece), LEATHER)], [(SEAM, changed)], CHOICE
        )
        assert len(parts) == wanted


def test_two_moulded_halves_get_a_template_each() -> None:
    piece = front()
    other = replace(turned_over(piece), name="back")
    parts, _ = pricking_templates(
        [(piece, LEATHER), (other, LEATHER)], [(SEAM, sewn(piece))], CHOICE
    )
    assert [p.name for p in parts] == ["front pricking template", "back pricking template"]


def test_two_flat_mirror_pieces_share_one_template() -> None:
    one = replace(back_of(front()), name="front")
    two = back_of(front())
    parts, _ = pricking_templates([(one, LEATHER), (two, LEATHER)], [(SEAM, sewn(front()))], CHOICE)
    assert len(parts) == 1


def test_a_seam_pricked_from_the_front_asks_for_no_template_on_the_back() -> None:
    piece = front()
    back = back_of(piece)
    way = replace(SEAM, way="glued, trimmed flush, pricked from the front")
    moved = _shifted(sewn(piece).layers[1], 0.5)
    seam = replace(sewn(piece), layers=(sewn(piece).layers[0], moved))
    parts, _ = pricking_templates([(piece, LEATHER), (back, LEATHER)], [(way, seam)], CHOICE)
    assert [p.name for p in parts] == ["front pricking template"]
    assert "turn over" not in " ".join(label.words for label in parts[0].labels)


@pytest.mark.parametrize(("pitch", "expected"), [(1.1, "forbids"), (2.0, "warning"), (2.3, None)])
def test_narrow_webs_between_holes_are_remarked(pitch: float, expected: str | None) -> None:
    points = [(-10.0 + pitch * i, -107.0) for i in range(5)]
    seam = replace(
        sewn(front()), layers=(SewnEdge(piece="front", span="rim", holes=holes_at(points)),)
    )
    _, remarks = pricking_template(front(), (seam,), LEATHER, CHOICE)
    found = [r for r in remarks if r.code == "stitch-holes-too-near"]
    assert [r.severity for r in found] == ([expected] if expected else [])
    if found:
        assert found[0].amount == pytest.approx(pitch - CHOICE.prick_hole_mm)


def test_a_hole_near_the_edge_and_one_on_the_wall_are_remarked() -> None:
    bottom = -114.0
    near = SewnEdge(piece="front", span="rim", holes=holes_at([(0.0, bottom + 1.5)]))
    seam = replace(sewn(front()), layers=(near,))
    _, remarks = pricking_template(front(), (seam,), LEATHER, CHOICE)
    (remark,) = [r for r in remarks if r.code == "stitch-hole-near-template-edge"]
    assert remark.amount == pytest.approx(1.5 - CHOICE.prick_hole_mm / 2, abs=0.02)
    on_wall = SewnEdge(piece="front", span="rim", holes=holes_at([(0.0, -102.0)]))
    _, remarks = pricking_template(front(), (replace(seam, layers=(on_wall,)),), LEATHER, CHOICE)
    assert [r.severity for r in remarks if r.code == "stitch-hole-off-the-template"] == ["forbids"]


def test_a_flat_piece_is_marked_for_its_holes_slits_and_folds() -> None:
    fold = Fold(
        name="hinge",
        line=Path((line((40.0, -20.0), (-40.0, -20.0)),)),
        angle=1.5,
        inside_radius_mm=2.0,
        k_factor=0.5,
        strip_mm=5.0,
        glue_free_mm=(4.0, 4.0),
    )
    strap = PunchedHole(name="strap", at=(0.0, -60.0), diameter_mm=5.0, slit=(0.0, -66.0))
    flat = Piece(
        name="flap",
        role="body",
        outline=DryOutline(arch(80.0, 90.0, 15.0)),
        folds=(fold,),
        holes=(strap,),
    )
    parts, remarks = trim_template(flat, LEATHER, CHOICE, margin_mm=20.0)
    template, fence = parts
    wanted = in_order([(0.0, -60.0), (0.0, -66.0), (36.0, -20.0), (-36.0, -20.0)])
    assert centres(template) == pytest.approx(wanted)
    assert template.outline.area == pytest.approx(flat.outline.area)
    assert any(abs(s.start[1] + 20) < 1e-9 and s.length > 60 for s in template.scores)
    assert not remarks
    free = shapely.Polygon(
        fence.outline.flat_points(), [h.flat_points() for h in fence.holes_for("window")]
    )
    for x, y in wanted[1:3]:
        assert free.distance(shapely.Point(x, y)) > 4.5


def test_a_hole_on_the_crown_is_left_to_the_support_block() -> None:
    piece = replace(front(), holes=(PunchedHole(name="stud", at=(0, -50), diameter_mm=4.0),))
    (template, *_), remarks = trim_template(piece, LEATHER, CHOICE)
    assert template.holes_for("mark") == ()
    assert [r.point for r in remarks if r.code == "hole-on-the-crown"] == [(0, -50)]


def test_a_window_cut_out_of_a_flat_piece_is_a_window_of_its_template() -> None:
    card = DryOutline(rectangle(30.0, 20.0, 3.0).moved(0.0, -40.0))
    flat = replace(back_of(front()), cut_outs=(card,))
    (template, *_), _ = trim_template(flat, LEATHER, CHOICE)
    (window,) = template.holes_for("window")
    assert window.area == pytest.approx(card.area)


@settings(max_examples=6, deadline=None)
@given(piece=fronts())
@example(piece=front(width=85, height=40, depth=8, corner=4.75, crown=1, lip=1, flange=14.75))
def test_words_lie_on_the_board_clear_of_edges_holes_and_one_another(piece: Piece) -> None:
    parts, _ = trim_template(piece, LEATHER, CHOICE, margin_mm=20.0)
    pricked, _ = pricking_template(piece, (sewn(piece),), LEATHER, CHOICE, ["back"])
    for part in (*parts, *pricked):
        assert part.labels
        board = shapely.Polygon(
            part.outline.flat_points(), [h.outline.flat_points() for h in part.holes]
        )
        boxes = [_box(label.words, label.at, label.height_mm, label.angle) for label in part.labels]
        for i, box in enumerate(boxes):
            assert board.buffer(-0.5).contains(box)
            assert not any(box.intersects(other) for other in boxes[i + 1 :])


def _box(words: str, at: Point, height: float, angle: float) -> shapely.Polygon:
    half, up = LETTER_WIDTH * height * len(words) / 2, height / 2
    corners: Floats = np.array([[-half, -up], [half, -up], [half, up], [-half, up]])
    c, s = math.cos(angle), math.sin(angle)
    return shapely.Polygon(corners @ np.array([[c, s], [-s, c]]) + np.array(at))


def test_openings_taken_away_leave_the_area_of_the_rest() -> None:
    sheet = rectangle(100.0, 60.0)
    inside, over_edge = circle(10.0), rectangle(20.0, 20.0).moved(50.0, 0.0)
    overlapping = circle(10.0, (5.0, 0.0))
    (region,) = take_away(sheet, [inside, over_edge, overlapping])
    wanted = sheet.polygon - inside.polygon - over_edge.polygon - overlapping.polygon
    assert region.area == pytest.approx(wanted.area, rel=1e-3)
    assert len(region.holes) == 1
    parted = take_away(sheet, [inside, rectangle(4.0, 80.0).moved(20.0, 0.0)])
    assert sorted(len(r.holes) for r in parted) == [0, 1]
