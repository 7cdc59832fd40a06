"""Three-dimensional pictures of article, tools and pressed blank, as arrays and as bytes.

    pieces_solid(design, pressed_blanks, leathers, sewn) every piece, from unfolded to closed
    tools_solid(mouldings, pressed_blanks, leathers)     plates and leather, to be drawn apart
    blank_solid(pressed_blank, layer, leather)           one layer as it lies pressed
    encode(view)                                         the bytes a browser draws

Each is a pure function, and quick enough to follow a slider when the blanks were pressed on a
coarse mesh.
"""

from collections.abc import Sequence

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.design import Design
from hidewright.design.piece import Piece
from hidewright.design.seam import SewnSeam
from hidewright.geometry.segment import Floats
from hidewright.workshop.forming_chain import Layer, Leathers, PressedBlank
from hidewright.workshop.tooling_chain import Moulding
from hidewright.workshop.views.solid_fittings import fitting_groups, stitch_groups
from hidewright.workshop.views.solid_formed import formed_sheet, piece_sheet
from hidewright.workshop.views.solid_group import (
    QUANTITIES,
    Material,
    SolidGroup,
    SolidView,
    encode,
)
from hidewright.workshop.views.solid_panels import flat_sheet, panel_groups
from hidewright.workshop.views.solid_sheet import Sheet, thickened
from hidewright.workshop.views.solid_tools import tool_groups
from hidewright.workshop.views.solid_trim import trimmed

__all__ = (
    "QUANTITIES",
    "STEPS",
    "SolidGroup",
    "SolidView",
    "blank_solid",
    "encode",
    "pieces_solid",
    "tools_solid",
)
#: Placements from unfolded to closed.
STEPS = 21
#: Room between two tools, mm.
BESIDE_MM = 40.0
#: A picture's own frame, at the only step there is.
STILL: Floats = np.eye(3, 4)[None, None]


def pieces_solid(
    design: Design,
    pressed_blanks: Sequence[PressedBlank],
    leathers: Leathers,
    sewn: Sequence[SewnSeam] = (),
) -> SolidView:
    """Return every piece with its true thickness, panel by panel, from unfolded to closed.

    Flat pieces are their outlines with holes and windows; moulded ones are the solved sheet, dried,
    trimmed. A moulded piece whose sheet was not solved is drawn flat. Skived edges are drawn at
    full thickness, slits, rings and magnets are not drawn.

    Args:
        design: The article.
        pressed_blanks: Its blanks, in any order; a coarse mesh will do.
        leathers: By role.
        sewn: Seams with their holes, for the stitches; none are drawn without.
    """
    of_role = dict(leathers)
    sheets = {
        piece.name: _sheet(piece, pressed_blanks, of_role[piece.role]) for piece in design.pieces
    }
    groups: list[SolidGroup] = []
    for piece in design.pieces:
        material: Material = "lining" if piece.role == "lining" else "leather"
        groups += panel_groups(sheets[piece.name], piece, design.assembly, material, STEPS)
    groups += fitting_groups(design, sheets, STEPS)
    groups += stitch_groups(design, sewn, sheets, STEPS)
    return SolidView(groups=tuple(groups))


def blank_solid(one: PressedBlank, layer: Layer, leather: Leather) -> SolidView:
    """Return one layer of a blank as it lies pressed, wet and untrimmed.

    Args:
        one: The blank.
        layer: One of its layers.
        leather: That layer's.
    """
    group = thickened(formed_sheet(layer, leather), one.blank.name, "leather", STILL)
    return SolidView(groups=(group,))


def tools_solid(
    mouldings: Sequence[Moulding],
    pressed_blanks: Sequence[PressedBlank] = (),
    leathers: Leathers = (),
) -> SolidView:
    """Return the closed tool of every blank, side by side, and how far each part moves up apart.

    Gauges and rings that are not in the closed stack are left out.

    Args:
        mouldings: Blanks and tools.
        pressed_blanks: Give the leather between plug and frame; without them none is drawn.
        leathers: By role, for that leather.
    """
    of_role = dict(leathers)
    layers = {
        one.blank.name: [(layer, of_role[layer.role]) for layer in one.layers]
        for one in pressed_blanks
    }
    groups: list[SolidGroup] = []
    left = 0.0
    for moulding in mouldings:
        low, high = _reach(moulding)
        poses = STILL.copy()
        poses[..., 0, 3] = left - low
        left += high - low + BESIDE_MM
        groups += tool_groups(moulding, layers.get(moulding.blank.name, []), poses)
    return SolidView(groups=tuple(groups))


def _reach(moulding: Moulding) -> tuple[float, float]:
    bounds = [p.outline.bounds for p in moulding.tool.parts if p.bottom_mm is not None]
    return min(left for left, _, _, _ in bounds), max(right for _, _, right, _ in bounds)


def _sheet(piece: Piece, pressed_blanks: Sequence[PressedBlank], leather: Leather) -> Sheet:
    for one in pressed_blanks if piece.zones else ():
        formed = piece_sheet(one, piece, leather)
        if formed is not None:
            return trimmed(formed, piece, leather.thickness_mm)
    return flat_sheet(piece, leather.thickness_mm)
