"""The pieces of an article as solids: true size and thickness, trimmed, from unfolded to closed."""

import dataclasses
import math
import random
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from coarse_cache import CACHE
from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.design import Design
from hidewright.design.kinds.registry import kind_named
from hidewright.design.piece import Piece
from hidewright.design.seam import SeamEdge
from hidewright.design.specification import Kind, Specification
from hidewright.forming.answers import stretch_in_triangles
from hidewright.geometry.boolean import clip_half_plane
from hidewright.geometry.distance import nearest_on_ring, signed_distances
from hidewright.geometry.outline import Outline, turn_between
from hidewright.geometry.segment import Floats
from hidewright.store.design_file import read_design
from hidewright.workshop.article import NODES
from hidewright.workshop.begin import begin
from hidewright.workshop.forming_chain import PressedBlank, press_blank
from hidewright.workshop.forming_line import shares_used
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.views.solid_view import (
    STEPS,
    SolidGroup,
    SolidView,
    blank_solid,
    pieces_solid,
)

EXAMPLES = tuple(sorted(p.stem for p in Path("examples").glob("*.yaml")))
#: A trimmed edge is cut within this of its outline, mm, and a plan area is true to this share.
TRIMMED_MM, AREA_SHARE = 0.05, 0.001


@dataclasses.dataclass(frozen=True)
class Shown:
    design: Design
    blanks: tuple[PressedBlank, ...]
    view: SolidView

    def groups(self, piece: str) -> list[SolidGroup]:
        own = {panel.name for panel in self.design.assembly.panels if panel.piece == piece}
        return [g for g in self.view.groups if g.name.removesuffix("'s fold") in own]

    def thickness(self, piece: str) -> float:
        return self.design.leather(self.design.piece(piece).role).thickness_mm


def shown_of(spec: Specification[Any]) -> Shown:
    design = evaluate(NODES, inputs_of(spec, "A4"), ("design",), CACHE).values["design"][0]
    moulded = tuple(piece for piece in design.pieces if piece.zones)
    blanks = tuple(
        press_blank(b, moulded, design.leathers, spec.tooling.gap_factor)[0] for b in design.blanks
    )
    return Shown(design, blanks, pieces_solid(design, blanks, design.leathers))


@cache
def shown(name: str) -> Shown:
    file = Path("examples", f"{name}.yaml")
    return shown_of(read_design(file.read_bytes(), name=file.name).specification)


@cache
def lined_tray() -> Shown:
    """A tray with a lining moulded the other way, its grain inside."""
    spec = begin("open tray", built_in_catalogue())
    measures = dataclasses.replace(spec.brief.measures, lining="moulded")
    return shown_of(
        dataclasses.replace(spec, brief=dataclasses.replace(spec.brief, measures=measures))
    )


def mesh(group: SolidGroup, step: int = 0) -> trimesh.Trimesh:
    return trimesh.Trimesh(group.placed(step), group.triangles)


def area(piece: Piece) -> float:
    holes = sum(math.pi * hole.diameter_mm**2 / 4.0 for hole in piece.holes)
    return piece.outline.area - holes - sum(window.area for window in piece.cut_outs)


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_group_is_closed_and_faces_outward_at_every_step(name: str) -> None:
    for group in shown(name).view.groups:
        for step in (0, STEPS // 2, STEPS - 1):
            solid = mesh(group, step)
            assert solid.is_watertight, (group.name, step)
            assert solid.is_winding_consistent, (group.name, step)
            assert solid.volume > 0.0, (group.name, step)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_flat_piece_has_its_area_times_its_thickness(name: str) -> None:
    one = shown(name)
    flat = [piece for piece in one.design.pieces if not piece.zones]
    for piece in flat:
        volume = sum(mesh(g).volume for g in one.groups(piece.name))
        expected = area(piece) * one.thickness(piece.name)
        assert volume == pytest.approx(expected, rel=1e-3), piece.name


def test_each_panel_of_a_flat_piece_has_its_own_area_times_its_thickness() -> None:
    one = shown("compass-pouch")
    back, thickness = one.design.piece("back"), one.thickness("back")
    by_name = {group.name: group for group in one.view.groups}
    for panel in one.design.assembly.panels:
        if panel.piece != "back" or panel.name == "flap":  # the flap has a hole
            continue
        outlines: tuple[Outline, ...] = (back.outline,)
        if math.isfinite(panel.low_y):
            outlines = clip_half_plane(outlines[0], (0.0, panel.low_y), (1.0, 0.0))
        if math.isfinite(panel.high_y):
            outlines = clip_half_plane(outlines[0], (0.0, panel.high_y), (-1.0, 0.0))
        volume = mesh(by_name[panel.name]).volume
        assert volume == pytest.approx(outlines[0].area * thickness, rel=1e-3), panel.name


def test_a_moulded_piece_that_was_not_solved_lies_flat() -> None:
    one = shown("tube-sleeve")
    blanks = tuple(dataclasses.replace(b, layers=()) for b in one.blanks)
    view = pieces_solid(one.design, blanks, one.design.leathers)
    front = next(g for g in view.groups if g.name == "front")
    expected = area(one.design.piece("front")) * one.thickness("front")
    assert mesh(front).volume == pytest.approx(expected, rel=1e-3)
    assert np.isnan(front.scalars).all()


def moulded_on_flange(one: Shown) -> list[Piece]:
    return [
        piece
        for piece in one.design.pieces
        if piece.zones and all(zone.cut_height_mm is None for zone in piece.zones)
    ]


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_point_of_a_trimmed_piece_lies_inside_its_outline(name: str) -> None:
    one = shown(name)
    for piece in moulded_on_flange(one):
        for group in one.groups(piece.name):
            inside = signed_distances(piece.outline, group.points[:, :2])
            assert inside.min() > -TRIMMED_MM, (piece.name, group.name)
            for hole in piece.holes:
                away = np.linalg.norm(group.points[:, :2] - hole.at, axis=1)
                assert away.min() > hole.diameter_mm / 2.0 - TRIMMED_MM, hole.name


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_drawn_edge_follows_the_outline_and_its_holes(name: str) -> None:
    """Chords of the edge stay near: 3 mm long on an arc of 12 mm radius they are 0.1 mm off."""
    one = shown(name)
    for piece in moulded_on_flange(one):
        for group in one.groups(piece.name):
            middle = group.points[group.lines].mean(axis=1)[:, :2]
            off = np.abs(signed_distances(piece.outline, middle))
            for hole in piece.holes:
                away = np.linalg.norm(middle - hole.at, axis=1) - hole.diameter_mm / 2.0
                off = np.minimum(off, np.abs(away))
            assert off.max() < 0.12, (piece.name, group.name, off.max())


@pytest.mark.parametrize("name", EXAMPLES)
def test_sharp_corners_of_the_outline_are_kept(name: str) -> None:
    one = shown(name)
    for piece in moulded_on_flange(one):
        points = np.concatenate([group.points[:, :2] for group in one.groups(piece.name)])
        segments = piece.outline.segments
        for before, after in zip(segments, segments[1:] + segments[:1], strict=True):
            if turn_between(before, after) > math.radians(30.0):
                away = np.linalg.norm(points - after.start, axis=1).min()
                assert away < TRIMMED_MM, (piece.name, after.start, away)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_trimmed_piece_covers_its_outline_but_for_the_holes(name: str) -> None:
    _covers(shown(name))


@pytest.mark.parametrize(("name", "seed"), [("two-shell case", 0), ("flat-back pouch", 4)])
def test_triangles_wider_than_a_corner_still_cover_it(
    name: str, seed: int, drawn: Callable[[Kind[Any], random.Random], Specification[Any]]
) -> None:
    _covers(shown_of(drawn(kind_named(name), random.Random(seed))))


def _covers(one: Shown) -> None:
    """The grain face's shadow in plan has the outline's area: no corner is cut off."""
    for piece in moulded_on_flange(one):
        shadow = 0.0
        for group in one.groups(piece.name):
            grain = group.triangles[(group.triangles < group.sides[0]).all(axis=1)]
            a, b, c = np.moveaxis(group.points[grain][:, :, :2], 1, 0)
            u, v = b - a, c - a
            shadow += float((u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).sum()) / 2.0
        assert shadow == pytest.approx(area(piece), rel=AREA_SHARE), piece.name


@pytest.mark.parametrize("name", [*EXAMPLES, "lined tray"])
def test_the_inside_of_a_hollow_is_the_dry_hollow_asked_for(name: str) -> None:
    """The wall stands on the zone's outline or, thinner than the gap, a little out from it.

    Its upper end touches the plug, its lower end the frame. A stiff sheet runs wider round the
    crown, and its bottom stands off the plug there: the hollow may be deeper than asked, by less
    than the leather is thick.
    """
    one = lined_tray() if name == "lined tray" else shown(name)
    for piece in one.design.pieces:
        for zone in piece.zones:
            groups = one.groups(piece.name)
            points = np.concatenate([_plug_side(g, zone.grain_out) for g in groups])
            up = points[:, 2] if zone.grain_out else one.thickness(piece.name) - points[:, 2]
            near = np.abs(signed_distances(zone.outline, points[:, :2])) < 0.6
            for mouth in zone.mouths:
                corners = zone.outline.span_path(mouth).flat_points()
                away = nearest_on_ring(np.concatenate([corners, corners[::-1]]), points[:, :2])
                near &= np.linalg.norm(points[:, :2] - away, axis=1) > 1.0
            low, high = zone.lip_radius_mm + 1.0, zone.depth_mm - zone.crown_radius_mm - 1.5
            wall = points[near & (up > min(low, zone.depth_mm / 2)) & (up < high)]
            if len(wall):
                out = -signed_distances(zone.outline, wall[:, :2])
                assert -0.06 < out.min() < 0.25, (piece.name, zone.name, out.min())
                assert out.max() < _room_mm(one), (piece.name, zone.name, out.max())
            within = signed_distances(zone.outline, points[:, :2]) > zone.crown_radius_mm
            deep = up[within].max() - zone.depth_mm
            assert -0.1 < deep < one.thickness(piece.name), (piece.name, deep)


def _room_mm(one: Shown) -> float:
    """The gap less the thinnest leather in it."""
    return max(
        hollow.tools.gap_mm - float(layer.sheet.thickness.min())
        for blank in one.blanks
        for layer in blank.layers
        for hollow in layer.sheet.pressing.hollows
    )


def _plug_side(group: SolidGroup, grain_out: bool) -> Floats:
    grain, flesh = group.sides
    return group.points[grain:flesh] if grain_out else group.points[:grain]


@pytest.mark.parametrize("name", ["label-box", "specimen-tray"])
def test_a_wall_cut_at_a_height_ends_there(name: str) -> None:
    one = shown(name)
    for piece in one.design.pieces:
        for group in one.groups(piece.name):
            height = piece.zones[0].cut_height_mm
            assert height is not None
            edge = group.points[group.sides[1] :]
            assert np.abs(edge[:, 2] - height).max() < 0.1, piece.name
            assert group.points[:, 2].min() > height - 0.1, piece.name


def test_a_lining_moulded_the_other_way_lies_inside_its_tray() -> None:
    one = lined_tray()
    tray, lining = (one.groups(name)[0].placed(STEPS - 1) for name in ("tray", "lining"))
    outer = one.thickness("tray")
    assert (lining[:, :2].max(axis=0) < tray[:, :2].max(axis=0) - 0.9 * outer).all()
    assert (lining[:, :2].min(axis=0) > tray[:, :2].min(axis=0) + 0.9 * outer).all()
    assert lining[:, 2].max() == pytest.approx(0.0, abs=0.1)  # both rims are level
    assert tray[:, 2].max() == pytest.approx(0.0, abs=0.1)
    assert lining[:, 2].min() > tray[:, 2].min() + 0.9 * outer
    # its grain looks up out of the tray: over its bottom the grain face is the upper one
    group = one.groups("lining")[0]
    grain, flesh = group.sides
    middle = np.linalg.norm(lining[:grain, :2], axis=1).argmin()
    assert lining[middle, 2] > lining[grain + middle, 2]
    assert flesh == 2 * grain


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_panel_is_placed_as_the_assembly_says(name: str) -> None:
    one = shown(name)
    by_name = {group.name: group for group in one.view.groups}
    for panel in one.design.assembly.panels:
        if panel.name not in by_name:  # a strip of no width
            continue
        for step in range(STEPS):
            pose = one.design.assembly.pose_of(panel, step / (STEPS - 1))
            expected = np.column_stack([pose.rotation, pose.shift])
            assert np.allclose(by_name[panel.name].poses[0, step], expected, atol=1e-9), panel.name


def _strips(one: Shown) -> list[SolidGroup]:
    return [group for group in one.view.groups if group.name.endswith("'s fold")]


@pytest.mark.parametrize("name", ["compass-pouch", "lens-case", "trowel-cover", "forceps-pocket"])
def test_a_closed_fold_is_round_with_its_inside_radius(name: str) -> None:
    one = shown(name)
    for group in _strips(one):
        piece = next(p for p in one.design.pieces if group in one.groups(p.name))
        flesh = slice(group.sides[0], group.sides[1])
        rows = group.rows[flesh]
        closed = group.placed(STEPS - 1)[flesh]
        level = np.abs(group.points[flesh, 2]) < 0.02  # where it is not swollen by pressing
        whole = (rows == np.round(rows)) & level
        rows, closed = rows[whole], closed[whole]
        # the fold runs along x: rows are points of one curve across it
        curve = [closed[rows == k][:, 1:].mean(axis=0) for k in range(int(rows.max()) + 1)]
        centre = _centre(curve[0], curve[len(curve) // 2], curve[-1])
        radius = np.linalg.norm(np.array(curve) - centre, axis=1)
        expected = piece.folds[0].inside_radius_mm
        assert np.allclose(radius, expected, atol=0.03), (group.name, radius, expected)


def _centre(a: Floats, b: Floats, c: Floats) -> Floats:
    """Middle of the circle through three points: equally far from all of them."""
    left = 2.0 * np.array([b - a, c - a])
    right = np.array([b @ b - a @ a, c @ c - a @ a])
    return np.linalg.solve(left, right)


@pytest.mark.parametrize("name", ["compass-pouch", "lens-case", "trowel-cover", "forceps-pocket"])
@pytest.mark.parametrize("step", [0, 7, STEPS - 1])
def test_a_strip_meets_the_panels_on_either_side(name: str, step: int) -> None:
    one = shown(name)
    by_name = {group.name: group for group in one.view.groups}
    for strip in _strips(one):
        panel = by_name.get(strip.name.removesuffix("'s fold"))
        if panel is None:
            continue
        end = strip.placed(step)[strip.rows == strip.rows.max()]
        ring = panel.placed(step)
        # the ends of the straight joint are points of both
        across = np.array([end[end[:, 0].argmin()], end[end[:, 0].argmax()]])
        away = np.linalg.norm(ring[:, None, :] - across[None], axis=2).min(axis=0)
        assert away.max() < 0.06, (strip.name, away)


@pytest.mark.parametrize("name", ["compass-pouch", "lens-case", "tube-sleeve", "trowel-cover"])
def test_closing_brings_the_edges_of_a_seam_together(name: str) -> None:
    """Edges are compared as the outlines they are trimmed to, flesh to flesh."""
    one = shown(name)
    assert one.design.seams
    for seam in one.design.seams:
        front, back = (_closed_edge(one, edge) for edge in seam.edges)
        assert np.linalg.norm(front - back, axis=1).max() < 0.05, seam.name


def _closed_edge(one: Shown, edge: SeamEdge) -> Floats:
    """Points at even shares of a seam's edge, where the picture puts them when closed."""
    path = one.design.piece(edge.piece).outline.span_path(edge.span)
    if edge.runs_backwards:
        path = path.backwards()
    by_name = {group.name: group for group in one.view.groups}
    placed = []
    for share in np.linspace(0.0, 1.0, 50):
        x, y = path.point_at(share * path.length)
        panel = one.design.assembly.panel_at(edge.piece, (x, y))
        pose = by_name[panel.name].poses[0, -1]
        placed.append(pose @ np.array([x, y, 0.0, 1.0]))
    return np.array(placed)


@pytest.mark.parametrize("name", EXAMPLES)
def test_scalars_lie_within_those_of_the_solved_sheet(name: str) -> None:
    one = shown(name)
    leathers = dict(one.design.leathers)
    for blank in one.blanks:
        for layer in blank.layers:
            view = blank_solid(blank, layer, leathers[layer.role])
            (group,) = view.groups
            stretch = 100.0 * np.maximum(stretch_in_triangles(layer.sheet).largest - 1.0, 0.0)
            used = 100.0 * shares_used(layer, leathers[layer.role])
            for k, values in enumerate((stretch, layer.sheet.thickness, used)):
                assert group.scalars[:, k].min() >= values.min() - 1e-9
                assert group.scalars[:, k].max() <= values.max() + 1e-9
            # the worst of the leather's use is never smoothed away
            assert group.scalars[:, 2].max() == pytest.approx(used.max(), abs=1e-12)
            pieces = [p for p in one.design.pieces if p.zones and p.role == layer.role]
            for piece in pieces:
                for part in one.groups(piece.name):
                    assert np.isfinite(part.scalars).all()
    for piece in one.design.pieces:
        if not piece.zones:
            assert all(np.isnan(g.scalars).all() for g in one.groups(piece.name))
