"""What keeps fingers and leather in place while trimming: a finger fence and a waste clamp."""

import math
from collections.abc import Sequence

from hidewright.catalogue.boards import Board
from hidewright.design.choices import ToolingChoice
from hidewright.design.part import Part, PartHole
from hidewright.design.piece import Piece
from hidewright.errors import Remark, RequestError
from hidewright.geometry.boolean import difference
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point
from hidewright.geometry.shapes import circle
from hidewright.tooling.marks import clearances, marked
from hidewright.tooling.run_on import beyond
from hidewright.tooling.template_sheet import Area, TemplateSheet, leg_width_mm

#: Room that a knife's handle needs over a template's edge, mm: wanted and least; common practice.
HANDLE_MM = 6.0
LEAST_HANDLE_MM = 4.0
#: Height of the fence over the template, mm; common practice.
FENCE_MM = 10.0
#: Room for blade and handle between the trim line and the waste clamp, mm; common practice.
KNIFE_WAY_MM = 8.0
#: Bolts of the waste clamp stand no further apart than this, mm; common practice.
BOLT_PITCH_MM = 90.0


def finger_fence(
    sheet: TemplateSheet, area: Area, suffix: str, board: Board
) -> tuple[tuple[Part, ...], tuple[Remark, ...]]:
    """Return the fence that is glued on a trim template, set back from the edge the knife follows.

    It is set back 6 mm for the knife's handle, less where the legs beside the wall are narrow but
    never under 4 mm, and keeps the board's least web everywhere. It has the template's windows.

    Args:
        sheet: The template.
        area: The stretch of it that gets the fence.
        suffix: Number of that stretch in the names, where there are several.
        board: What the fence is cut from, the template's own sheet as a rule.

    Returns:
        The fence, or none and a remark where the flange is too narrow for one.
    """
    name = sheet.piece.name
    legs = [leg_width_mm(sheet.piece.outline, w.outline) for w in sheet.windows]
    back = min(HANDLE_MM, *(leg - board.min_web_mm - 0.05 for leg in legs)) if legs else HANDLE_MM
    if back < LEAST_HANDLE_MM:
        return (), (_no_fence(name, LEAST_HANDLE_MM + board.min_web_mm - min(legs)),)
    try:
        edge = offset(area.outline, -back) if not sheet.windows else _set_back(sheet, area, back)
    except RequestError:
        return (), (_no_fence(name, 0.0),)
    holes = tuple(PartHole(outline=h, purpose="window") for h in area.holes)
    marks = marked(edge, area.holes, (f"{name} finger fence{suffix}",))
    return (
        Part(
            name=f"{name} finger fence{suffix}",
            role="trim template",
            board=board,
            outline=edge,
            holes=holes,
            labels=marks.labels,
            scores=marks.scores,
            count=max(1, math.ceil(FENCE_MM / board.thickness_mm - 1e-9)),
            note=(
                f"Glue it on the trim template, {back:.1f} mm inside the edge all round; press "
                "behind it only."
            ),
        ),
    ), ()
