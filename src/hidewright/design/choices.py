"""What the workshop chooses for every design: how it makes tools and how it sews."""

import math
from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.boards import Board
from hidewright.design.measure import check_limits, choice, measure, switch
from hidewright.errors import RequestError


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolingChoice:
    """How moulds and templates are made.

    Attributes:
        mould_board: Sheet for plugs, frames, bases and blocks.
        template_board: Clear sheet for trim and pricking templates.
        gap_factor: Gap between plug and frame over the thickest soaked leather, per wall;
            1.10 by default, down to 0.95 for sharp detail, which irons the wall.
        cavity_floor: Whether the crown is pressed flat by a floor over an open frame's window.
        crown: Whether the edges of plugs are rounded by hand on the top plate, or cut in steps from
            plate to plate, which needs boards of at most a third of the crown radius.
        both_hands: Whether each mould is made to press the mirrored blank as well.
        dowel_mm: Diameter of the dowels that line the plates up.
        vise_force_N: What the vise or clamps can press with, to check against.
        plate_border_mm: Board beyond the blank on every side, for dowels and clamps.
        prick_hole_mm: Diameter of the holes of a pricking template.
    """

    mould_board: Board
    template_board: Board
    gap_factor: float = measure("number", 1.10, "gap over the thickest soaked leather, per wall")
    cavity_floor: bool = switch(False, "press the crown flat with a floor over the open frame")
    crown: Literal["eased", "stepped"] = choice(
        "eased", "plugs' upper edges: rounded by hand, or cut in steps from thin boards and sanded"
    )
    both_hands: bool = switch(False, "make each mould press the mirrored blank as well")
    dowel_mm: float = measure("length", 6.0, "diameter of the dowels", low=2, high=20)
    vise_force_N: float = measure("force", 12000.0, "what the vise can press with", low=10)
    plate_border_mm: float = measure(
        "length", 22.0, "board beyond the blank, for dowels and clamps", low=5, high=100
    )
    prick_hole_mm: float = measure("length", 1.2, "holes of a pricking template", low=0.5, high=4)

    def __post_init__(self) -> None:
        check_limits(self, "tooling")
        if not 0.8 <= self.gap_factor <= 2.0:
            raise RequestError(
                f"gap factor {self.gap_factor:g}",
                because="below 0.8 the plates do not close, above 2 the wall is not formed",
                mend="Use 1.10, or down to 0.95 for sharp detail",
            )
        if self.plate_border_mm < 2.5 * self.dowel_mm:
            raise RequestError(
                f"plate border {self.plate_border_mm:g} mm",
                because=f"dowels of {self.dowel_mm:g} mm need board on both sides of them",
                mend=f"Give at least {2.5 * self.dowel_mm:g} mm",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class SewingChoice:
    """How seams are sewn.

    Attributes:
        mark: Slanted slits of a pricking iron or awl, or round holes.
        slant: Angle of a slit to the stitch line, radians.
        slit_mm: Length of a slit, or diameter of a round hole.
        tail_mm: Thread left over at each end of each needle's thread.
        tool_clearance_mm: Room that iron, awl haft and clamp jaws need beside a hole.
    """

    mark: Literal["slanted", "round"] = choice("slanted", "shape of the stitch holes")
    slant: float = measure(
        "angle", math.pi / 4, "angle of a slit to the stitch line", low=0, high=math.pi / 2
    )
    slit_mm: float = measure(
        "length", 2.0, "length of a slit, or diameter of a round hole", low=0.5, high=6
    )
    tail_mm: float = measure("length", 150.0, "thread left over at each end", low=0, high=1000)
    tool_clearance_mm: float = measure(
        "length", 2.5, "room that iron, awl and clamp need beside a hole", low=0, high=20
    )

    def __post_init__(self) -> None:
        check_limits(self, "sewing")
