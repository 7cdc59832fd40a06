"""The solved sheet in words at a place: what must not be made so, and what to look at."""

from collections.abc import Sequence

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.pressed_zone import PressedZone
from hidewright.errors import Remark
from hidewright.forming.limits import pinched, puckers, use_of
from hidewright.forming.mesh import CAP, CROWN, FLANGE, LIP, WALL
from hidewright.forming.pressing import Pressing
from hidewright.forming.solved import Pressed

#: From this share of a limit on the leather deserves a test piece; common practice, no source.
NEAR = 0.85
#: A wall thicker than the gap by more than this tears; below it is ironed (as the gap's own rule).
TEARS = 1.0 / 0.95
#: Puckers lower than this share of the thickness press out flat; common practice, no source.
FLAT_ENOUGH = 0.25

_WHERE = {
    CAP: "on the bottom",
    CROWN: "round the crown edge",
    WALL: "in the wall",
    LIP: "over the lip",
    FLANGE: "on the flange",
}
_ON_ISLAND = {
    CAP: "on the top",
    CROWN: "round the top edge",
    WALL: "in the wall",
    LIP: "round the foot",
}


def forming_remarks(
    pressed: Pressed, zones: Sequence[PressedZone], leather: Leather
) -> tuple[Remark, ...]:
    """Return what there is to say about pressing a blank.

    Args:
        pressed: The solved sheet.
        zones: What was pressed, in the order of the pressing's hollows, each with its islands.
        leather: Gives the limits.
    """
    found: list[Remark] = []
    for k, zone in enumerate(zones):
        found += _cracks(pressed, k, zone, leather)
        found += _pinched(pressed, k, zone)
    return (*found, *_puckers(pressed, zones[0]))


def _cracks(pressed: Pressed, k: int, zone: PressedZone, leather: Leather) -> list[Remark]:
    use = use_of(pressed, leather, zone.grain_out)
    own = _own(pressed, k)
    worst = own[int(use.most[own].argmax())]
    share = float(use.most[worst])
    if share < NEAR:
        return []
    where = _where(pressed, int(worst), zone)
    if use.grain[worst] >= use.stretch[worst]:
        what = (
            f"stretch and bend together lengthen the grain {where} by "
            f"{100 * (use.grain_stretch[worst] - 1):.0f} %; it bears about "
            f"{100 * (leather.grain_limit - 1):.0f} %"
        )
    else:
        what = (
            f"the leather {where} is stretched to {100 * share:.0f} % of what this leather bears "
            "in that direction"
        )
    forbids = share >= 1.0
    return [
        Remark(
            code="leather-cracks" if forbids else "leather-near-its-limit",
            severity="forbids" if forbids else "warning",
            place=zone.place,
            point=_at(pressed, worst),
            amount=round(share, 3),
            limit=1.0,
            sentence=(
                f"The leather would crack: {what} (assumed until a test plug is measured)"
                if forbids
                else f"Near the limit: {what}: press a test piece first"
            ),
        )
    ]


def _where(pressed: Pressed, triangle: int, zone: PressedZone) -> str:
    """Say where in a zone a triangle lies, on which of its islands if on one."""
    hollow, region = int(pressed.layout.hollow[triangle]), int(pressed.layout.region[triangle])
    name = next((i.name for i in zone.islands if _stands(pressed, hollow, i.name)), "")
    return f"{_ON_ISLAND[region]} of {name}" if name else _WHERE[region]


def _stands(pressed: Pressed, hollow: int, island: str) -> bool:
    """Whether a hollow of the pressing is an island of some name."""
    if hollow < 0:
        return False
    one = pressed.pressing.hollows[hollow]
    return bool(one.within) and one.name == f"{one.within}/{island}"


def _pinched(pressed: Pressed, k: int, zone: PressedZone) -> list[Remark]:
    hollow = _family(pressed, k)
    share = max(float(pinched(pressed)[one].max()) for one in hollow)
    if share <= 1.0:
        return []
    tears = share > TEARS
    gap = pressed.pressing.hollows[k].tools.gap_mm
    return [
        Remark(
            code="wall-torn" if tears else "wall-ironed",
            severity="forbids" if tears else "warning",
            place=zone.place,
            amount=round(share * gap, 3),
            limit=gap,
            sentence=(
                f"Drawing in thickens the wall to {share * gap:.2f} mm at its corners, the gap is "
                f"{gap:.2f} mm: it is "
                + ("torn" if tears else "ironed: it presses hard and may bruise the grain")
            ),
        )
    ]


def _puckers(pressed: Pressed, zone: PressedZone) -> list[Remark]:
    if pressed.pressing.hold != "free":
        return []
    flange = puckers(pressed)
    if not len(flange.triangles):
        return []
    worst = int(flange.height_mm.argmax())
    height, t = float(flange.height_mm[worst]), pressed.pressing.thickness_mm
    if height <= FLAT_ENOUGH * t:
        return []
    return [
        Remark(
            code="flange-puckers",
            severity="warning",
            place=zone.place,
            point=_at(pressed, int(flange.triangles[worst])),
            amount=round(height, 2),
            limit=round(FLAT_ENOUGH * t, 2),
            sentence=(
                f"With nothing on it the flange is gathered by "
                f"{100 * flange.gathered[worst]:.1f} % where it bears "
                f"{100 * flange.critical[worst]:.1f} % flat: waves about "
                f"{flange.wave_mm[worst]:.0f} mm long. Press it under a plate or ring"
            ),
        )
    ]


def _family(pressed: Pressed, k: int) -> list[int]:
    """A hollow and the islands in it."""
    assert isinstance(pressed.pressing, Pressing)
    return [i for i, top in enumerate(pressed.pressing.outermost) if top == k]


def _own(pressed: Pressed, k: int) -> "np.ndarray[tuple[int], np.dtype[np.int64]]":
    """Triangles a zone answers for: its own, its islands', and the flange with the first."""
    mine = np.isin(pressed.layout.hollow, _family(pressed, k))
    if k == 0:
        mine |= pressed.layout.hollow < 0
    return np.flatnonzero(mine)


def _at(pressed: Pressed, triangle: int) -> tuple[float, float]:
    """Middle of a triangle in the plan of the formed blank, mm."""
    x, y = pressed.shape.points[pressed.layout.triangles[triangle]].mean(axis=0)[:2]
    return (round(float(x), 1), round(float(y), 1))
