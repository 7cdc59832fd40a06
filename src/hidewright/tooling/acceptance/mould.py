"""Is a mould what was asked for: gap, dry hollow, heights, dowels, radii, every plate cuttable."""

from collections.abc import Sequence

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Blank
from hidewright.design.choices import ToolingChoice
from hidewright.design.drying import BlankDrying
from hidewright.design.fault import Fault
from hidewright.design.part import MouldTool
from hidewright.design.piece import Piece
from hidewright.geometry.outline import Outline
from hidewright.tooling.acceptance.asked import Asked, asked_of
from hidewright.tooling.acceptance.dividers import divider_faults
from hidewright.tooling.acceptance.dowels import dowel_faults
from hidewright.tooling.acceptance.dry_hollow import hollow_faults
from hidewright.tooling.acceptance.gap import gap_faults, ring_faults
from hidewright.tooling.acceptance.heights import height_faults
from hidewright.tooling.acceptance.leather_way import leather_faults
from hidewright.tooling.acceptance.radii import radius_faults
from hidewright.tooling.acceptance.sheet_part import accept_part
from hidewright.tooling.acceptance.stack import PlugStack, Seen, holds, seen


def accept_mould(
    blank: Blank,
    pieces: Sequence[Piece],
    leather: Leather,
    choice: ToolingChoice,
    tool: MouldTool,
    drying: BlankDrying,
    edge: Outline,
) -> tuple[Fault, ...]:
    """Return every fault of a tool; none when it may leave the room.

    All is derived anew from the nouns and measured on the finished outlines: nothing that made the
    tool is used.

    Args:
        blank: What it presses.
        pieces: At least the blank's own.
        leather: What the blank is cut from.
        choice: What the workshop chose.
        tool: The tool as made.
        drying: How what it presses changes as it dries.
        edge: The leather's edge as it lies pressed, in the blank's frame.
    """
    parts = seen(tool)
    asked, flat = asked_of(blank, pieces, drying)
    faults: list[Fault] = []
    pressed: list[tuple[PlugStack, tuple[Asked, ...]]] = []
    for stack in parts.plugs:
        mine = tuple(one for one in asked if holds(stack.foot, one.middle))
        pressed.append((stack, mine))
        faults += hollow_faults(stack, mine, blank.mouth_waste_mm)
    faults += _unmatched(asked, pressed, parts)
    matched = [(stack, mine) for stack, mine in pressed if mine]
    faults += gap_faults(matched, parts, leather, choice, tool)
    faults += ring_faults(matched, parts, tool)
    faults += divider_faults(matched, parts, tool)
    faults += height_faults(parts, leather, choice, tool)
    faults += dowel_faults(parts, choice)
    seen_edge = edge if _grain_up(blank, pieces) else edge.mirrored()
    faults += leather_faults(matched, parts, flat, blank, seen_edge)
    faults += radius_faults(matched, parts, tool, choice)
    for part in tool.parts:
        faults += accept_part(part)
    return tuple(faults)


def _grain_up(blank: Blank, pieces: Sequence[Piece]) -> bool:
    placed = {place.piece for place in blank.places}
    return all(z.grain_out for p in pieces if p.name in placed for z in p.zones)


def _unmatched(
    asked: Sequence[Asked],
    pressed: Sequence[tuple[PlugStack, tuple[Asked, ...]]],
    parts: Seen,
) -> list[Fault]:
    faults = []
    for one in asked:
        times = sum(one in mine for _, mine in pressed)
        if times != 1:
            faults.append(
                Fault(
                    code="zone-without-plug",
                    part=one.name,
                    measured=times,
                    allowed=1,
                    sentence=f"{one.name} is pressed by {times} plugs, not by one",
                )
            )
    for stack, mine in pressed:
        if not mine:
            faults.append(
                Fault(
                    code="plug-without-zone",
                    part=stack.plates[0].name,
                    measured=0,
                    allowed=1,
                    sentence=f"{stack.plates[0].name} presses no zone of the blank",
                )
            )
    if len(parts.bases) != 1 or len(parts.rings) != 1:
        faults.append(
            Fault(
                code="plate-missing",
                part="base or ring",
                measured=min(len(parts.bases), len(parts.rings)),
                allowed=1,
                sentence="a tool has one base and one hold-down ring",
            )
        )
    return faults
