"""A single pressing, fully defined, and its answer as plain numbers: for checking by others."""

from dataclasses import dataclass

import numpy as np

from hidewright.forming.answers import (
    press_force_N,
    pull_in,
    stretch_at_points,
    thickness_at_points,
)
from hidewright.forming.pressing import GivenSurface, Pressing
from hidewright.forming.solve import pressed
from hidewright.forming.solved import Conditions, Pressed
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats


@dataclass(frozen=True, kw_only=True)
class Case:
    """What is to be solved.

    Attributes:
        title: For people.
        pressing: The form, and how the edge is held.
        conditions: Material, friction, level of correction.
        size_mm: Side of a triangle.
        blank: The flat blank, when it is given instead of the formed edge.
    """

    title: str
    pressing: Pressing | GivenSurface
    conditions: Conditions
    size_mm: float
    blank: Outline | None = None


@dataclass(frozen=True, kw_only=True)
class PointAnswer:
    """One point of the sheet.

    Attributes:
        flat_mm: Where it lay flat: origin at the centroid of the first plug's outline, x along the
            backbone.
        formed_mm: Where it came to lie, in the same axes, z from the flange's middle.
        thickness_ratio: Formed over laid in.
        stretch_1: Largest stretch.
        stretch_2: Stretch at a right angle to it.
        angle_deg: Direction of the largest stretch on the flat sheet, from x, 0 to 180.
    """

    flat_mm: tuple[float, float]
    formed_mm: tuple[float, float, float]
    thickness_ratio: float
    stretch_1: float
    stretch_2: float
    angle_deg: float


@dataclass(frozen=True, kw_only=True)
class RimAnswer:
    """One point of the leather's edge.

    Attributes:
        angle_deg: Where it is, seen from the origin on the flat sheet, from x, 0 to 360.
        pull_in_mm: How far it was drawn inward.
    """

    angle_deg: float
    pull_in_mm: float


@dataclass(frozen=True, kw_only=True)
class CaseAnswer:
    """What a case comes to; only a balanced sheet has one.

    Attributes:
        title: The case's.
        force_N: What presses on the plugs together.
        points: Every point of the mesh.
        rim: Every point of the leather's edge.
        triangles: How many there are.
        level: Corrections used.
        converged: Always true: without balance there is no answer.
        residual: Forces out of balance, as a share.
    """

    title: str
    force_N: float
    points: tuple[PointAnswer, ...]
    rim: tuple[RimAnswer, ...]
    triangles: int
    level: int
    converged: bool
    residual: float


def solved(case: Case) -> Pressed:
    """Return the solved sheet of a case.

    Raises:
        RequestError: As ``pressed``.
    """
    return pressed(case.pressing, case.conditions, case.size_mm, blank=case.blank)


def answer(case: Case) -> CaseAnswer:
    """Return the answer of a case.

    Raises:
        RequestError: As ``pressed``.
    """
    sheet = solved(case)
    origin, turn = _frame(sheet)
    flat = (sheet.flat - origin) @ turn
    formed = (sheet.shape.points[:, :2] - origin) @ turn
    stretch = stretch_at_points(sheet)
    ratio = thickness_at_points(sheet) / sheet.pressing.thickness_mm
    angle = np.degrees(np.remainder(stretch.angle - sheet.pressing.backbone, np.pi))
    points = tuple(
        PointAnswer(
            flat_mm=(x, y),
            formed_mm=(u, v, z),
            thickness_ratio=h,
            stretch_1=s1,
            stretch_2=s2,
            angle_deg=a,
        )
        for (x, y), (u, v), z, h, s1, s2, a in zip(
            flat.tolist(),
            formed.tolist(),
            sheet.shape.points[:, 2].tolist(),
            ratio.tolist(),
            stretch.largest.tolist(),
            stretch.least.tolist(),
            angle.tolist(),
            strict=True,
        )
    )
    at, drawn = pull_in(sheet)
    seen = (at - origin) @ turn
    where = np.degrees(np.remainder(np.arctan2(seen[:, 1], seen[:, 0]), 2.0 * np.pi))
    order = np.argsort(where)
    return CaseAnswer(
        title=case.title,
        force_N=float(sum(press_force_N(sheet))),
        points=points,
        rim=tuple(RimAnswer(angle_deg=float(where[i]), pull_in_mm=float(drawn[i])) for i in order),
        triangles=len(sheet.layout.triangles),
        level=sheet.conditions.level,
        converged=True,
        residual=sheet.residual,
    )


def _frame(sheet: Pressed) -> tuple[Floats, Floats]:
    """Origin, and what turns row vectors into axes with x along the backbone."""
    pressing = sheet.pressing
    if isinstance(pressing, GivenSurface):
        origin = np.average(sheet.shape.plan, axis=0, weights=_shares(sheet))
    else:
        origin = np.array(pressing.hollows[0].outline.centroid)
    c, s = np.cos(pressing.backbone), np.sin(pressing.backbone)
    return origin, np.array([[c, -s], [s, c]])


def _shares(sheet: Pressed) -> Floats:
    tri = sheet.layout.triangles
    corner = sheet.shape.plan[tri]
    u, v = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = 0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    shares: Floats = np.bincount(
        tri.ravel(), weights=np.repeat(area, 3), minlength=len(sheet.flat)
    ).astype(np.float64)
    return shares
