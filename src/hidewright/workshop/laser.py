"""How long the laser cuts: one reckoning for lists, build sheet, plan and price."""

import math

from hidewright.tooling.sheets import Sheet

#: Thickness at which the rates give the laser's speed, mm.
SPEED_AT_MM = 3.0


def cut_mm(sheet: Sheet) -> float:
    """Return the length of all cuts in a sheet, mm."""
    return math.fsum(
        curve.length for placed in sheet.placed for curve in (placed.cut.outer, *placed.cut.inner)
    )


def laser_minutes(sheet: Sheet, speed_mm_s: float) -> float:
    """Return the minutes a laser cuts on a sheet, up to the next tenth.

    The speed falls in proportion to thickness (common practice, no source); moves between cuts and
    marks are not counted. Tenths, so that whoever adds up a list finds the sum that is planned.

    Args:
        sheet: With what is cut out of it.
        speed_mm_s: Of the laser in a sheet of ``SPEED_AT_MM``.
    """
    speed = speed_mm_s * SPEED_AT_MM / sheet.board.thickness_mm
    return math.ceil(10.0 * cut_mm(sheet) / speed / 60.0 - 1e-6) / 10.0
