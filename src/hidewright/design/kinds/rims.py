"""What articles sewn round a rim share: the seam of two layers, and the pair moulded together."""

import math
from typing import Protocol

from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.seam import Seam, SeamEdge


class RimMeasures(Protocol):
    """Measures that every kind with a sewn rim and a mouth has, mm."""

    @property
    def inset_mm(self) -> float:
        """Stitch hole to edge."""

    @property
    def pitch_mm(self) -> float:
        """Stitch hole to stitch hole."""

    @property
    def reverse_stitches(self) -> int:
        """Stitches sewn back at each end."""

    @property
    def mouth_waste_mm(self) -> float:
        """Cut away between the mouths of a pair."""

    @property
    def margin_mm(self) -> float:
        """Leather beyond the trimmed pieces."""


def rim_seam(m: RimMeasures, front: str, back: str) -> Seam:
    """Return the seam round the ``rim`` of two pieces that lie flesh to flesh."""
    return Seam(
        name="rim",
        edges=(
            SeamEdge(piece=front, span="rim"),
            SeamEdge(piece=back, span="rim", runs_backwards=True),
        ),
        inset_mm=m.inset_mm,
        pitch_mm=m.pitch_mm,
        reverse_stitches=m.reverse_stitches,
    )


def mouth_to_mouth(m: RimMeasures, name: str, one: str, other: str) -> Blank:
    """Return the blank on which two pieces are moulded mouth to mouth.

    Args:
        m: Gives waste and margin.
        name: Of the blank.
        one: The piece below; its frame is moved down by half the waste.
        other: The piece above, turned half round; the same piece again makes two articles of it.
    """
    half = m.mouth_waste_mm / 2
    return Blank(
        name=name,
        places=(
            PiecePlace(piece=one, shift=(0.0, -half)),
            PiecePlace(piece=other, turn=math.pi, shift=(0.0, half)),
        ),
        role="body",
        margin_mm=m.margin_mm,
        mouth_waste_mm=m.mouth_waste_mm,
        articles=2 if one == other else 1,
    )
