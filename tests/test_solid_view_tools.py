"""A mould as solids, closed and drawn apart, and the bytes that a picture travels in."""

import json
import struct
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
import trimesh

from coarse_cache import CACHE
from hidewright.design.part import Part
from hidewright.geometry.distance import signed_distances
from hidewright.store.design_file import read_design
from hidewright.workshop.article import NODES
from hidewright.workshop.forming_chain import Leathers, PressedBlank
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.tooling_chain import Moulding
from hidewright.workshop.views.solid_view import (
    QUANTITIES,
    STEPS,
    SolidGroup,
    SolidView,
    blank_solid,
    encode,
    pieces_solid,
    tools_solid,
)

NAMES = ("compass-pouch", "label-box")
Arrays = dict[str, npt.NDArray[Any]]


@cache
def made(name: str) -> tuple[tuple[Moulding, ...], tuple[PressedBlank, ...], Leathers, SolidView]:
    file = Path("examples", f"{name}.yaml")
    spec = read_design(file.read_bytes(), name=file.name).specification
    wanted = ("mouldings", "pressed blanks", "design")
    values = evaluate(NODES, inputs_of(spec, "A4"), wanted, CACHE).values
    design = values["design"][0]
    blanks = values["pressed blanks"][0]
    return (
        values["mouldings"][0],
        blanks,
        design.leathers,
        pieces_solid(design, blanks, design.leathers),
    )


def tools(name: str) -> SolidView:
    mouldings, blanks, leathers, _ = made(name)
    return tools_solid(mouldings, blanks, leathers)


def sharp_volume(part: Part) -> float:
    holes = sum(hole.outline.area for hole in part.holes)
    return (part.outline.area - holes) * part.board.thickness_mm


@pytest.mark.parametrize("name", NAMES)
def test_plates_are_closed_and_have_the_volume_of_board_less_holes_and_easings(name: str) -> None:
    view = tools(name)
    by_name = {group.name: group for group in view.groups}
    for moulding in made(name)[0]:
        for part in moulding.tool.parts:
            if part.bottom_mm is None:
                assert part.name not in by_name
                continue
            solid = trimesh.Trimesh(by_name[part.name].points, by_name[part.name].triangles)
            assert solid.is_watertight, part.name
            assert solid.is_winding_consistent, part.name
            # a rounding of radius r takes (1 - pi/4) r^2 from each mm of a straight edge
            radius = max((easing.radius_mm for easing in part.easings), default=0.0)
            edge = part.outline if part.role == "plug" else part.holes[0].outline
            off = (1.0 - np.pi / 4.0) * radius**2 * edge.length
            expected = sharp_volume(part) - off
            assert solid.volume == pytest.approx(expected, rel=4e-3), part.name


@pytest.mark.parametrize("name", NAMES)
def test_leather_lies_between_plug_and_frame(name: str) -> None:
    view = tools(name)
    for moulding in made(name)[0]:
        (leather,) = (
            g
            for g in view.groups
            if g.material == "leather" and g.name.startswith(f"{moulding.blank.name}, ")
        )
        points = leather.points
        height = moulding.tool.plug_height_mm
        assert points[:, 2].min() > -0.3
        assert points[:, 2].max() > height + 0.8
        for zone in moulding.zones:
            half_up = np.abs(points[:, 2] - height / 2) < height / 5
            inside = signed_distances(zone.plug, points[half_up, :2])
            assert inside.max() < 0.05
            assert inside.min() > -moulding.tool.gap_mm - 0.05


@pytest.mark.parametrize("name", NAMES)
def test_drawn_apart_plug_leather_and_frame_stand_clear_of_one_another(name: str) -> None:
    view = tools(name)
    for moulding in made(name)[0]:
        own = {p.name: p.role for p in moulding.tool.parts}
        stacks: dict[str, list[tuple[float, float]]] = {"plug": [], "leather": [], "frame": []}
        for group in view.groups:
            low, high = (float(f(group.points[:, 2])) + group.apart_mm for f in (np.min, np.max))
            role = own.get(
                group.name, "leather" if group.name.startswith(moulding.blank.name + ",") else ""
            )
            if role in ("plug", "shim"):
                stacks["plug"].append((low, high))
            elif role in stacks:
                stacks[role].append((low, high))
        base = (-moulding.tool.parts[0].board.thickness_mm, 0.0)
        levels = [base, *sorted(stacks["plug"]), *stacks["leather"], *sorted(stacks["frame"])]
        assert all(stacks.values())
        for (_, below), (above, _) in pairwise(levels):
            assert above - below > 5.0, (moulding.blank.name, levels)


def test_tools_of_several_blanks_stand_side_by_side() -> None:
    view = tools("label-box")
    bases = [g for g in view.groups if g.name.endswith("base")]
    assert len(bases) == 2
    left, right = sorted((g.placed(0)[:, 0].min(), g.placed(0)[:, 0].max()) for g in bases)
    assert right[0] - left[1] > 10.0


def test_normals_are_those_of_the_faces_and_smooth_over_roundings() -> None:
    for group in tools("compass-pouch").groups:
        assert np.allclose(np.linalg.norm(group.normals, axis=1), 1.0, atol=1e-6)
        a, b, c = np.moveaxis(group.points[group.triangles], 1, 0)
        face = np.cross(b - a, c - a)
        size = np.linalg.norm(face, axis=1)
        face = face[size > 1e-6] / size[size > 1e-6, None]
        corners = group.normals[group.triangles][size > 1e-6]
        assert np.einsum("mi,mci->mc", face, corners).min() > 0.7, group.name


def decoded(data: bytes) -> tuple[dict[str, Any], list[Arrays]]:
    """Read a picture as its words say, sharing nothing with the writer."""
    (long,) = struct.unpack_from("<I", data, 0)
    head = json.loads(data[4 : 4 + long])
    at = 4 + long
    groups: list[Arrays] = []
    for group in head["groups"]:
        n, r, s = group["points"], group["placements"], group["steps"]
        read: Arrays = {}
        shapes: list[tuple[str, str, tuple[int, ...]]] = [
            ("points", "<f4", (n, 3)),
            ("normals", "<f4", (n, 3)),
            ("scalars", "<f4", (n, len(head["quantities"]))),
            ("poses", "<f4", (r, s, 3, 4)),
            *([("rows", "<f4", (n,))] if r > 1 else []),
            ("triangles", "<u4", (group["triangles"], 3)),
            ("lines", "<u4", (group["lines"], 2)),
        ]
        for name, kind, shape in shapes:
            assert at % 4 == 0
            count = int(np.prod(shape))
            read[name] = np.frombuffer(data, kind, count, at).reshape(shape)
            at += 4 * count
        groups.append(read)
    assert at == len(data)
    return head, groups


def views() -> list[SolidView]:
    _, blanks, leathers, pieces = made("compass-pouch")
    layer = blanks[0].layers[0]
    blank = blank_solid(blanks[0], layer, dict(leathers)[layer.role])
    return [pieces, tools("compass-pouch"), blank, SolidView(groups=())]


@pytest.mark.parametrize("k", range(4))
def test_what_is_encoded_is_read_back(k: int) -> None:
    view = views()[k]
    head, groups = decoded(encode(view))
    assert [g["name"] for g in head["groups"]] == [g.name for g in view.groups]
    assert head["moves"] == (k == 0)
    for told, read, group in zip(head["groups"], groups, view.groups, strict=True):
        assert (told["material"], told["apart"]) == (group.material, group.apart_mm)
        assert tuple(told["sides"]) == group.sides
        for name, values in read.items():
            wanted = getattr(group, name)
            assert np.array_equal(
                values, wanted.astype(values.dtype), equal_nan=values.dtype.kind == "f"
            )
        assert read["triangles"].max() < told["points"]
    assert [q["key"] for q in head["quantities"]] == list(QUANTITIES)
    for quantity, limits in zip(head["quantities"], view.ranges, strict=True):
        assert quantity["range"] == (None if limits is None else list(limits))


def test_names_are_unique_and_a_strip_has_rows() -> None:
    view = views()[0]
    assert len({g.name for g in view.groups}) == len(view.groups)
    strips = [g for g in view.groups if len(g.poses) > 1]
    assert len(strips) == 2
    for strip in strips:
        assert strip.poses.shape[1] == STEPS
        assert strip.rows.min() == 0.0
        assert strip.rows.max() == len(strip.poses) - 1


def test_a_placement_between_two_rows_is_their_mix() -> None:
    poses = np.zeros((2, 1, 3, 4))
    poses[:, 0, :, :3] = np.eye(3)
    poses[1, 0, :, 3] = (0.0, 0.0, 8.0)
    group = SolidGroup(
        name="strip",
        material="leather",
        points=np.zeros((3, 3)),
        normals=np.tile([0.0, 0.0, 1.0], (3, 1)),
        scalars=np.full((3, 3), np.nan),
        triangles=np.array([[0, 1, 2]]),
        lines=np.zeros((0, 2), dtype=np.int64),
        sides=(3, 3),
        poses=poses,
        rows=np.array([0.0, 0.25, 1.0]),
    )
    assert np.allclose(group.placed(0)[:, 2], [0.0, 2.0, 8.0])
