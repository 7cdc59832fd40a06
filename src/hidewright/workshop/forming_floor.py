"""A mould with a floor over its frame: what closing it on the leather takes, and what it does."""

from hidewright.catalogue.leathers import Leather
from hidewright.design.choices import ToolingChoice
from hidewright.errors import Remark
from hidewright.forming.bottoming import Bottoming, on_floor
from hidewright.workshop.forming_chain import FORCE_ENDS, PressedBlank

#: Forces and rooms smaller than these say nothing, N and mm.
LEAST_N, LEAST_MM = 1.0, 0.05


def closing_force(
    one: PressedBlank, leather: Leather, tooling: ToolingChoice, gap_mm: float
) -> tuple[tuple[float, float] | None, tuple[Remark, ...]]:
    """Return what closes a mould, (low, high) N, and what there is to say of its floor.

    Low is with the leather in the middle of its range of thickness, high with the thickest.

    Args:
        one: What is pressed.
        leather: All its layers, as the mould takes them.
        tooling: Whether there is a floor.
        gap_mm: From plug to frame; the floor stands as far off the plug's face.
    """
    force = one.closing_N
    if force is None or not tooling.cavity_floor:
        return force, ()
    thicker = leather.thickness_max_mm / leather.thickness_mm
    usual, thickest = _over(one, gap_mm, 1.0), _over(one, gap_mm, thicker)
    low = FORCE_ENDS[0] * sum(floor.force_N for floor in usual)
    high = FORCE_ENDS[1] * sum(floor.force_N for floor in thickest)
    remarks = tuple(
        _said(zone.place, a, b) for zone, a, b in zip(one.zones, usual, thickest, strict=True)
    )
    return (force[0] + low, force[1] + high), remarks


def _over(one: PressedBlank, gap_mm: float, thicker: float) -> tuple[Bottoming, ...]:
    """What the floor meets over each plug: the outermost layer, on those under it."""
    *under, top = [layer.sheet for layer in one.layers]
    found = []
    for k in range(len(one.zones)):
        taken = sum(on_floor(sheet, k, gap_mm, thicker).thickest_mm for sheet in under)
        found.append(on_floor(top, k, max(gap_mm - taken, LEAST_MM), thicker))
    return tuple(found)


def _said(place: str, usual: Bottoming, thickest: Bottoming) -> Remark:
    room, high = usual.room_mm, thickest.force_N * FORCE_ENDS[1]
    if high < LEAST_N:
        return Remark(
            code="floor-stands-clear",
            severity="warning",
            place=place,
            amount=round(thickest.thickest_mm + thickest.stands_off_mm, 2),
            limit=round(room, 2),
            sentence=(
                f"The floor does not touch: it leaves {room:.2f} mm over the plug's face, and the "
                f"leather there is {usual.thinnest_mm:.2f} to {thickest.thickest_mm:.2f} mm thick. "
                f"To press the crown flat, glue {max(room - usual.thinnest_mm, LEAST_MM):.1f} mm "
                "of card under the floor, or take a smaller gap"
            ),
        )
    low = usual.force_N * FORCE_ENDS[0]
    does = []
    if thickest.squeeze_N >= LEAST_N:
        does.append(f"squeezes leather of up to {thickest.thickest_mm:.2f} mm to {room:.2f} mm")
    if thickest.hold_down_N >= LEAST_N:
        does.append(
            f"holds leather down that would stand {usual.stands_off_mm:.1f} mm off the plug's face"
        )
    clear = (
        f". Elsewhere it is {usual.thinnest_mm:.2f} mm or more under {room:.2f} mm of room, and "
        "lies loose"
        if usual.thinnest_mm < room - LEAST_MM
        else ""
    )
    return Remark(
        code="floor-presses",
        severity="note",
        place=place,
        amount=round(high),
        sentence=(
            f"The floor {' and '.join(does)}: about {low:.0f} to {high:.0f} N more on the vise, "
            f"more still where it sticks to floor and plug{clear}"
        ),
    )
