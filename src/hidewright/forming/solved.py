"""What a solve is asked and what it returns: the solved sheet and where the next may begin."""

import math
from dataclasses import dataclass, replace
from typing import Literal

from hidewright.errors import RequestError
from hidewright.forming.energy import Sheet, State
from hidewright.forming.law import Law
from hidewright.forming.mesh import Layout, Shape
from hidewright.forming.pressing import GivenSurface, Pressing
from hidewright.forming.profile import OnArcs
from hidewright.geometry.segment import Floats

#: 0 plain membrane on the nominal surface; 1 formed thickness on the arcs; 2 and pressure through
#: the thickness softening the arcs, and stiffness in the force; 3 and the energy of bending round
#: them.
Level = Literal[0, 1, 2, 3]


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """How the sheet is pressed, besides its form.

    Attributes:
        law: Material, soaked.
        friction: Coefficient between wet leather and tool, 0 to 1.
        plate_pressure_MPa: Pressure of the plate or ring on the flange, MPa.
        arc_friction: Coefficient on the crown and lip arcs where it differs from ``friction``.
        level: Corrections for a sheet as thick as the radii are tight.
        pull_in_factor: How far this leather's edge is drawn in, over what is solved.
    """

    law: Law
    friction: float = 0.0
    plate_pressure_MPa: float = 0.0
    arc_friction: float | None = None
    level: Level = 2
    pull_in_factor: float = 1.0

    def __post_init__(self) -> None:
        for friction in (self.friction, self.friction_on_arcs):
            if not (math.isfinite(friction) and 0.0 <= friction <= 1.0):
                raise RequestError(
                    f"friction of {friction:g}",
                    because="between wet leather and a tool it lies between 0 and 1",
                )
        if not (math.isfinite(self.plate_pressure_MPa) and self.plate_pressure_MPa >= 0):
            raise RequestError(f"plate pressure of {self.plate_pressure_MPa:g} MPa")
        if self.level not in (0, 1, 2, 3):
            raise RequestError(f"correction level {self.level}", mend="Give 0, 1, 2 or 3")

    @property
    def friction_on_arcs(self) -> float:
        """Coefficient of friction on the crown and lip arcs."""
        return self.friction if self.arc_friction is None else self.arc_friction


@dataclass(frozen=True, kw_only=True, eq=False)
class Warm:
    """Where a solve ended, for the next one to begin.

    Attributes:
        layout: Points and triangles.
        size_mm: Mesh size it was made for.
        plan: (n, 2) the mesh's plan then, mm.
        flat: (n, 2) flat places, mm.
        edge: (k, 2) formed places of the leather's edge, mm.
        arcs: The sheet on the arcs of each hollow.
        from_tools: (n, 2) friction and pressure of the tools, brought back to the flat, N.
    """

    layout: Layout
    size_mm: float
    plan: Floats
    flat: Floats
    edge: Floats
    arcs: tuple[OnArcs, ...]
    from_tools: Floats

    def opposite(self, end: "Warm") -> "Warm":
        """Return where a solve may begin that is as far from this one as an end, the other way.

        An end that had to be meshed anew tells no way: then it may begin here.
        """
        if end.layout is not self.layout:
            return self
        return replace(
            self,
            plan=2.0 * self.plan - end.plan,
            flat=2.0 * self.flat - end.flat,
            edge=2.0 * self.edge - end.edge,
            arcs=tuple(one.opposite(other) for one, other in zip(self.arcs, end.arcs, strict=True)),
            from_tools=2.0 * self.from_tools - end.from_tools,
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Pressed:
    """The solved sheet. Places are in the pressing's frame, strains in the leather's axes.

    Attributes:
        pressing: What was pressed; its edge is the edge asked for, see ``shape`` for a given blank.
        conditions: How.
        layout: Points and triangles.
        shape: Formed places.
        flat: (n, 2) where each point lay flat, mm.
        sheet: Metric and material.
        state: Strain and energy in triangles.
        thickness: (m,) of the formed sheet in triangles, mm.
        curvature: (m,) across the edge, of the arcs, 1/mm; 0 elsewhere.
        residual: Forces out of balance, as a share.
        rounds: Newton steps taken.
        warm: Where the next solve may begin.
    """

    pressing: Pressing | GivenSurface
    conditions: Conditions
    layout: Layout
    shape: Shape
    flat: Floats
    sheet: Sheet
    state: State
    thickness: Floats
    curvature: Floats
    residual: float
    rounds: int
    warm: Warm
