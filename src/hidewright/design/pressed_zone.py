"""A hollow as it is pressed: what tooling builds and forming stretches leather over."""

from dataclasses import dataclass, replace

from hidewright.design.states import FormedOutline
from hidewright.geometry.outline import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class PressedZone:
    """One hollow as it is pressed: a moulded zone, or two that are moulded as one and cut apart.

    Attributes:
        name: What is marked on its plug.
        sources: (piece, zone) of what it becomes; two of them are a pair.
        plug: The plug's outline at the flange, in the blank's frame, mm.
        height_mm: Height of the plug over the base.
        height_dries: Depth of the dry hollow over that height.
        crown_radius_mm: Radius of the plug's top edge. Not changed for drying: a cutter or file
            keeps it within half a mm only, and shrinkage changes it by far less.
        lip_radius_mm: Radius of the frame's lower window edge, as little changed.
        wall_angle: Lean of the wall inwards, radians.
        cut_lines: Where the hollow is cut open at its mouths, in the blank's frame, formed.
        grain_out: False when it is pressed towards the flesh side, grain down on the plug.
    """

    name: str
    sources: tuple[tuple[str, str], ...]
    plug: FormedOutline
    height_mm: float
    height_dries: float
    crown_radius_mm: float
    lip_radius_mm: float
    wall_angle: float = 0.0
    cut_lines: tuple[Path, ...] = ()
    grain_out: bool = True

    @property
    def place(self) -> str:
        """Its first source as a remark names it, such as ``front/hollow``."""
        return "/".join(self.sources[0])

    def mirrored(self) -> "PressedZone":
        """Return it mirrored left to right (x to -x)."""
        return replace(
            self,
            plug=FormedOutline(self.plug.mirrored()),
            cut_lines=tuple(line.mirrored() for line in self.cut_lines),
        )
