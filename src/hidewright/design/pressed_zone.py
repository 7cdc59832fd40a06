"""A hollow as it is pressed: what tooling builds and forming stretches leather over."""

from dataclasses import dataclass, replace

from hidewright.design.states import FormedOutline
from hidewright.errors import RequestError
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline, Path


@dataclass(frozen=True, slots=True, kw_only=True)
class PressedIsland:
    """A divider as it is pressed: a block goes into a pocket of the plug.

    Attributes:
        name: What is marked on its block.
        pocket: The pocket's outline in the plug's face, in the blank's frame, mm.
        height_mm: How far the leather is pressed back.
        top_radius_mm: Radius of the block's lower edge.
        foot_radius_mm: Radius of the pocket's upper edge.
    """

    name: str
    pocket: FormedOutline
    height_mm: float
    top_radius_mm: float
    foot_radius_mm: float

    def block(self, gap_mm: float) -> Outline:
        """Return the outline of the block, one gap within the pocket.

        Raises:
            RequestError: When leather on both sides leaves nothing of it.
        """
        try:
            return offset(self.pocket, -gap_mm)
        except RequestError:
            raise RequestError(
                f"{self.name}: nothing is left of the block that presses it back",
                because=f"leather takes {gap_mm:.2f} mm on either side of it",
                mend=f"Draw it wider: more than {2.0 * gap_mm:.1f} mm everywhere, and the block",
            ) from None

    def mirrored(self) -> "PressedIsland":
        """Return it mirrored left to right (x to -x)."""
        return replace(self, pocket=FormedOutline(self.pocket.mirrored()))


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
        islands: Dividers in it.
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
    islands: tuple[PressedIsland, ...] = ()

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
            islands=tuple(island.mirrored() for island in self.islands),
        )
