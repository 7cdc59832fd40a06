"""Glue jigs hold both pieces edge to edge in the closed pose; magnet jigs hold the poles."""

import math
from dataclasses import replace

import numpy as np
import pytest

from hidewright.catalogue.magnets import Magnet
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.choices import ToolingChoice
from hidewright.design.design import Design
from hidewright.design.fitting import MagnetPlace
from hidewright.design.kinds.arches import flanged_arch, notched
from hidewright.design.part import Part
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.pose import Assembly, Panel, Pose, turned_about
from hidewright.design.seam import Seam, SeamEdge
from hidewright.design.states import DryOutline
from hidewright.errors import Remark
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.outline import Chain, Outline
from hidewright.geometry.segment import Point, line
from hidewright.geometry.shapes import arch
from hidewright.tooling.acceptance.cut import accept_cut
from hidewright.tooling.acceptance.sheet_part import accept_part
from hidewright.tooling.jigs import glue_jig, magnet_jig
from hidewright.tooling.kerf import cut_outlines

SHELF = built_in_catalogue()
LEATHER = find(SHELF.leathers, "vegetable-tanned shoulder 3-4 oz")
CHOICE = ToolingChoice(
    mould_board=find(SHELF.boards, "MDF 6 mm"),
    template_board=find(SHELF.boards, "clear acrylic 5 mm"),
)
WALL_MM = 3.5 * 25.4 / 64
TURNED_OVER = Pose(rotation=((-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0)))
SEAM = Seam(
    name="rim",
    edges=(
        SeamEdge(piece="front", span="rim"),
        SeamEdge(piece="back", span="rim", runs_backwards=True),
    ),
    inset_mm=4.0,
    pitch_mm=4.0,
)
ZONE = MouldedZone(
    name="hollow",
    outline=DryOutline(arch(62.0, 101.0, 12.0).moved(3.0, 0.0)),
    depth_mm=12.0,
    crown_radius_mm=3.0,
    lip_radius_mm=2.0,
    edges=(("mouth", "mouth"), ("rim", "flange")),
)
#: Lopsided: the hollow sits 3 mm to the right in it.
FRONT = Piece(
    name="front",
    role="body",
    outline=DryOutline(arch(96.0, 114.0, 25.0).moved(3.0, 0.0)),
    zones=(ZONE,),
)


def back_with_flap() -> Piece:
    """The mirror of the front with a flap 50 mm long beyond the mouth."""
    rim = [s for s in FRONT.outline.mirrored().segments if s.span == "rim"]
    (left, _), (right, _) = rim[0].start, rim[-1].end
    left, right = min(left, right), max(left, right)
    flap = (
        line((right, 0.0), (right, 50.0), "flap"),
        line((right, 50.0), (left, 50.0), "flap"),
        line((left, 50.0), (left, 0.0), "flap"),
    )
    return Piece(name="back", role="body", outline=DryOutline(Outline((*rim, *flap))))


def article(
    back: Piece, back_pose: Pose = TURNED_OVER, magnets: tuple[MagnetPlace, ...] = ()
) -> Design:
    front_pose = turned_about((10.0, 0.0, 5.0), (1.0, 2.0, 0.5), 0.7)  # lies anywhere in space
    return Design(
        name="pouch",
        kind="flat-back pouch",
        carried=(),
        leathers=(("body", LEATHER),),
        pieces=(FRONT, back),
        seams=(SEAM,),
        blanks=(),
        hollows=(),
        assembly=Assembly(
            panels=(
                Panel(name="front", piece="front", pose=front_pose),
                Panel(name="back", piece="back", pose=back_pose.then(front_pose)),
            )
        ),
        thread=SHELF.threads[0],
        magnets=magnets,
    )


def points_along(chain: Chain, count: int = 150) -> list[Point]:
    return [chain.point_at(chain.length * i / count) for i in range(count)]


def part_named(parts: tuple[Part, ...], end: str) -> Part:
    return next(p for p in parts if p.name.endswith(end))


def in_jig(design: Design, piece: str, points: list[Point]) -> list[Point]:
    """Points of a piece, closed, as seen from the flesh side of the front."""
    panels = {p.name: p for p in design.assembly.panels}
    world = design.assembly.pose_of(panels[piece], 1.0).of_points(
        np.array([(x, y, 0.0) for x, y in points])
    )
    front = panels["front"].pose
    local = (world - np.array(front.shift)) @ np.linalg.inv(np.array(front.rotation)).T
    assert np.abs(local[:, 2]).max() < 1e-9
    return [(-float(x), float(y)) for x, y, _ in local]


def glued(design: Design) -> tuple[tuple[Part, ...], tuple[Remark, ...]]:
    """The glue jig of a design's one seam."""
    pieces = [(piece, design.leather(piece.role)) for piece in design.pieces]
    return glue_jig(SEAM, pieces, design.assembly, CHOICE)


def test_the_fence_lies_a_fifth_of_a_mm_from_both_pieces_along_the_seam() -> None:
    design = article(back_with_flap())
    parts, remarks = glued(design)
    assert not remarks
    (opening,) = part_named(parts, "fence").holes_for("window")
    for edge in SEAM.edges:
        rim = points_along(design.piece(edge.piece).outline.span_path(edge.span))
        for p in in_jig(design, edge.piece, rim)[2:-2]:
            assert opening.contains(p)
            assert opening.nearest(p)[1] == pytest.approx(0.2, abs=1e-6)
    whole = in_jig(design, "back", points_along(design.piece("back").outline))
    assert all(opening.contains(p, 0.1) for p in whole)


def test_the_crown_hangs_free_in_the_base_which_holds_the_front_by_its_wall() -> None:
    parts, _ = glued(article(back_with_flap()))
    bases = [p for p in parts if " base " in p.name]
    assert len(bases) * CHOICE.mould_board.thickness_mm >= ZONE.depth_mm + 1.0
    wall = ZONE.outline.mirrored().span_path("rim")
    for base in bases:
        (window,) = base.holes_for("window")
        for p in points_along(wall):
            assert window.nearest(p)[1] == pytest.approx(WALL_MM + 0.3, abs=1e-6)
    assert [p.name for p in bases if p.easings] == [bases[-1].name]
    easing = bases[-1].easings[0]
    assert (easing.radius_mm, easing.face, easing.edge) == (2.0, "top", "window")


def test_the_press_plate_goes_into_the_fence_and_stands_out_of_it() -> None:
    parts, _ = glued(article(back_with_flap()))
    press, fence = part_named(parts, "press"), part_named(parts, "fence")
    (opening,) = fence.holes_for("window")
    for p in points_along(press.outline):
        assert opening.contains(p, 0.5 + 0.2 - 1e-6)
    assert press.bottom_mm is not None
    assert fence.bottom_mm is not None
    assert press.bottom_mm - fence.bottom_mm == pytest.approx(2 * WALL_MM)


def test_a_moulded_back_gets_its_own_window_in_the_press_plate() -> None:
    mirrored_zone = replace(ZONE, outline=DryOutline(ZONE.outline.mirrored()))
    back = replace(
        FRONT, name="back", outline=DryOutline(FRONT.outline.mirrored()), zones=(mirrored_zone,)
    )
    parts, _ = glued(article(back))
    press = part_named(parts, "press")
    design = article(back)
    wall = in_jig(design, "back", points_along(mirrored_zone.outline.span_path("rim")))
    for p in [p for p in wall if p[1] < -1.0]:
        assert press.outline.nearest(p)[1] == pytest.approx(WALL_MM + 0.3, abs=1e-6)
        assert not press.outline.contains(p)
    assert press.easings[0].face == "bottom"


@pytest.mark.parametrize(
    "pose",
    [
        TURNED_OVER.then(turned_about((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), 0.02)),
        TURNED_OVER.then(Pose(shift=(0.0, 0.0, 0.6))),
        Pose(),
    ],
    ids=["leaning", "apart", "grain to flesh"],
)
def test_layers_that_do_not_lie_flat_flesh_to_flesh_get_no_jig(pose: Pose) -> None:
    parts, remarks = glued(article(back_with_flap(), pose))
    assert parts == ()
    assert [r.code for r in remarks] == ["no-glue-jig"]


def test_jig_plates_are_pinned_together_and_marked_with_side_and_piece() -> None:
    parts, _ = glued(article(back_with_flap()))
    pinned = [p for p in parts if not p.name.endswith("press")]
    assert len({p.holes_for("dowel") for p in pinned}) == 1
    assert len(pinned[0].holes_for("dowel")) == 4
    words = {label.words for p in parts for label in p.labels}
    assert {"front: grain side down", "back: grain side up"} <= words
    assert len({p.name for p in parts}) == len(parts)


def magnets(flap_at: Point, front_at: Point) -> tuple[MagnetPlace, ...]:
    disc = Magnet(
        name="disc",
        shape="disc",
        diameter_mm=10.0,
        thickness_mm=2.0,
        remanence_T=1.2,
        grade="N35",
        source="maker's own",
    )
    place = MagnetPlace(
        name="back magnet",
        magnet=disc,
        piece="back",
        at=flap_at,
        partner="front magnet",
        pole_out="N",
        leather_between_mm=1.4,
    )
    other = replace(
        place,
        name="front magnet",
        piece="front",
        at=front_at,
        partner="back magnet",
        pole_out="S",
    )
    return (place, other)


@pytest.mark.parametrize(
    ("lift", "up"),
    [(-20.0, "S"), (20.0, "N")],
    ids=["partner on the grain", "partner on the flesh"],
)
def test_a_magnet_is_held_with_the_pole_for_its_partner_towards_it(lift: float, up: str) -> None:
    # the back's grain looks along -z of the front: lifting it by +z puts the front on its grain
    pose = TURNED_OVER.then(Pose(shift=(0.0, 0.0, -lift)))
    design = article(back_with_flap(), pose, magnets((5.0, 30.0), (-5.0, -8.0)))
    (keepers, seats), _ = magnet_jig(design.piece("back"), design.magnets, design.assembly, CHOICE)
    for plate in (keepers, seats):
        assert f"back magnet: {up} up" in {label.words for label in plate.labels}
        (hole,) = plate.holes_for("magnet")
        assert hole.segments[0].centre == pytest.approx((-5.0, 30.0))
    sizes = [2 * math.sqrt(p.holes_for("magnet")[0].area / math.pi) for p in (keepers, seats)]
    assert 10.0 < sizes[0] < sizes[1] - 0.2


@pytest.mark.parametrize("beyond", [-20.0, -8.0, 0.0, 4.0])
def test_the_plates_of_a_magnet_jig_hold_each_hole_however_near_the_edge(beyond: float) -> None:
    at = (back_with_flap().outline.bounds[2] + beyond, 30.0)
    design = article(back_with_flap(), magnets=magnets(at, (-5.0, -8.0)))
    plates, _ = magnet_jig(design.piece("back"), design.magnets, design.assembly, CHOICE)
    assert len(plates) == 2
    assert [fault for plate in plates for fault in accept_part(plate)] == []


@pytest.mark.parametrize("wider", [-0.5, -1e-3, 0.0, 1e-9, 0.05, 0.5, 4.0])
def test_the_beam_follows_a_magnet_jig_round_a_notch_about_as_wide_as_its_web(wider: float) -> None:
    """A border of the web alone would run round such a notch in a cusp that no beam cuts."""
    bare = flanged_arch(40.0, 60.0, 10.0, 12.0)
    notch = CHOICE.mould_board.min_web_mm + wider
    piece = Piece(name="back", role="body", outline=DryOutline(notched(bare, notch, 20.0)))
    design = article(piece, magnets=magnets((5.0, -30.0), (-5.0, -8.0)))
    plates, _ = magnet_jig(piece, design.magnets, design.assembly, CHOICE)
    assert len(plates) == 2
    for plate in plates:
        assert list(accept_part(plate)) == []
        assert list(accept_cut(plate, cut_outlines(plate).cuts)) == []
        edge = plate.outline.flat_points(0.05)
        beyond = -signed_distances(piece.outline.mirrored(), edge)
        assert beyond.min() >= CHOICE.mould_board.min_web_mm - 0.02


def test_a_magnet_in_a_moulded_zone_gets_no_flat_jig() -> None:
    design = article(back_with_flap(), magnets=magnets((5.0, 30.0), (-5.0, -40.0)))
    assert magnet_jig(design.piece("front"), design.magnets, design.assembly, CHOICE) == ((), ())
