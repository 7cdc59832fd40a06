"""Crowns of plugs: eased by hand on the top plate, or cut in steps from plate to plate and sanded.

A stepped plate is cut for its lower face, where the crown is widest: the steps stand proud of the
crown and are sanded down until every plate's lower edge just stays, which lies on it exactly.
"""

from collections.abc import Iterator

from hidewright.catalogue.boards import Board
from hidewright.design.choices import ToolingChoice
from hidewright.design.hollow import Shell
from hidewright.design.pressed_zone import PressedZone
from hidewright.errors import Remark, Remedy
from hidewright.tooling.stacks import Layer, exact_stack

#: Boards thicker than this share of the crown radius follow its arc too coarsely (common practice).
THICKEST_SHARE = 1.0 / 3.0
SLACK_MM = 1e-9


def is_stepped(choice: ToolingChoice) -> bool:
    """Whether crowns are cut in steps."""
    return choice.crown == "stepped"


def crown_come_in(zone: PressedZone, height_mm: float) -> float:
    """Return how far wall and crown of a plug have come in at a height over the base, mm."""
    shell = Shell(
        depth_mm=zone.height_mm,
        crown_radius_mm=zone.crown_radius_mm,
        wall_angle=zone.wall_angle,
    )
    return shell.inset_at(min(height_mm, zone.height_mm))


def crown_remarks(zone: PressedZone, choice: ToolingChoice) -> Iterator[Remark]:
    """Yield what there is to say about a crown cut in steps.

    It is forbidden where a board is thicker than a third of the crown radius.
    """
    if not is_stepped(choice):
        return
    board, radius = choice.mould_board, zone.crown_radius_mm
    if board.thickness_mm > radius * THICKEST_SHARE + SLACK_MM:
        yield Remark(
            code="board-too-thick-for-steps",
            severity="forbids",
            place=zone.place,
            amount=board.thickness_mm,
            limit=radius * THICKEST_SHARE,
            sentence=(
                f"Boards of {board.thickness_mm:g} mm are more than a third of the crown radius of "
                f"{radius:.2f} mm: cut in steps, the crown would be too coarse to sand round. Ease "
                "it by hand, or take thinner boards"
            ),
            remedies=(Remedy(field="tooling.crown", value="eased"),),
        )
        return
    proud = _steps(zone, board)
    yield Remark(
        code="crown-in-steps",
        severity="note",
        place=zone.place,
        amount=max(proud),
        sentence=(
            f"The crown is cut in {len(proud)} steps, proud by up to {max(proud):.2f} mm: glue the "
            "stack, then sand the steps down until every plate's lower edge just stays; the radius "
            "gauge shows no light then"
        ),
    )


def proud_mm(zone: PressedZone, layer: Layer) -> float:
    """Return by how much a stepped plate's upper edge stands proud of the crown, mm.

    It is what the crown comes in by from its lower to its upper face; 0 below the crown.
    """
    if layer.top_mm <= zone.height_mm - zone.crown_radius_mm + SLACK_MM:
        return 0.0
    return crown_come_in(zone, layer.top_mm) - crown_come_in(zone, layer.bottom_mm)


def _steps(zone: PressedZone, board: Board) -> list[float]:
    """Return by how much each plate in the crown stands proud, mm."""
    stack = exact_stack(board, 0.0, zone.height_mm)
    return [proud for proud in (proud_mm(zone, layer) for layer in stack) if proud > 0.0]
