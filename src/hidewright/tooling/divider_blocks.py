"""Blocks that press a divider back into a hollow's bottom: they hang from the cavity floor."""

from collections.abc import Iterator, Sequence

from hidewright.design.choices import ToolingChoice
from hidewright.design.part import Easing, Part
from hidewright.design.pressed_zone import PressedIsland, PressedZone
from hidewright.errors import Remark, Remedy
from hidewright.geometry.offset import offset_all
from hidewright.tooling.marks import marked
from hidewright.tooling.plates import SEAL, easing_words
from hidewright.tooling.stack import filling
from hidewright.tooling.stacks import shim_on_top

SLACK_MM = 1e-3


def divider_parts(
    blank: str,
    zones: Sequence[PressedZone],
    choice: ToolingChoice,
    gap_mm: float,
    floor_mm: float,
) -> tuple[Part, ...]:
    """Return the sheets of every divider's block, lowest first; the lowest is eased below.

    A block hangs from the floor so far down that one gap stays between it and where the leather
    lies on the plug's side: the divider is then as high as asked for.

    Args:
        blank: Name of the blank.
        zones: With their dividers.
        choice: Gives the boards.
        gap_mm: Between block and pocket, as between plug and frame.
        floor_mm: Height of the floor's lower face.
    """
    return tuple(
        part
        for zone in zones
        for island in zone.islands
        for part in _block(
            f"{blank} {zone.name} {island.name}", zone, island, choice, gap_mm, floor_mm
        )
    )


def _block(
    name: str,
    zone: PressedZone,
    island: PressedIsland,
    choice: ToolingChoice,
    gap_mm: float,
    floor_mm: float,
) -> Iterator[Part]:
    low = zone.height_mm + gap_mm - island.height_mm
    layers = shim_on_top(filling(floor_mm - low, choice, low))
    outline = island.block(gap_mm)
    for i, layer in enumerate(layers, 1):
        number = f"{i} of {len(layers)}"
        marks = marked(outline, (), (f"{name} {number} down",))
        eased = Easing(
            radius_mm=island.top_radius_mm,
            face="bottom",
            edge="outline",
            how=easing_words(island.top_radius_mm),
        )
        yield Part(
            name=f"{name} {number}",
            role="divider block",
            board=layer.board,
            outline=outline,
            scores=marks.scores,
            labels=marks.labels,
            bottom_mm=layer.bottom_mm,
            easings=(eased,) if i == 1 else (),
            note=f"Glue the block under the floor, within its scored outline. {SEAL}",
        )


def divider_remarks(zone: PressedZone, choice: ToolingChoice, gap_mm: float) -> Iterator[Remark]:
    """Yield what stands in the way of making a zone's dividers."""
    if zone.islands and not choice.cavity_floor:
        yield Remark(
            code="divider-without-floor",
            severity="forbids",
            place=zone.place,
            sentence=(
                f"Nothing presses {zone.islands[0].name} back: its block hangs from a floor over "
                "the frame"
            ),
            remedies=(Remedy(field="tooling.cavity_floor", value="true"),),
        )
    for island in zone.islands:
        most = zone.height_mm - gap_mm
        if island.height_mm > most:
            yield Remark(
                code="divider-too-high",
                severity="forbids",
                place=zone.place,
                amount=island.height_mm,
                limit=most,
                sentence=(
                    f"{island.name} is pressed back by {island.height_mm:.1f} mm: over the base, "
                    f"which takes one gap of {gap_mm:.2f} mm, {most:.1f} mm are left"
                ),
            )
        yield from _narrow(zone, island, choice, gap_mm)


def _narrow(
    zone: PressedZone, island: PressedIsland, choice: ToolingChoice, gap_mm: float
) -> Iterator[Remark]:
    """Refuse a block that is narrower than its board holds."""
    web = choice.mould_board.min_web_mm
    if len(offset_all(island.block(gap_mm), -(web / 2.0 - SLACK_MM))) == 1:
        return
    yield Remark(
        code="divider-too-narrow",
        severity="forbids",
        place=zone.place,
        limit=2.0 * gap_mm + web,
        sentence=(
            f"The block of {island.name} is narrower than {web:g} mm, the least that "
            f"{choice.mould_board.name} holds: with the leather on both sides draw it at least "
            f"{2.0 * gap_mm + web:.1f} mm wide"
        ),
    )
