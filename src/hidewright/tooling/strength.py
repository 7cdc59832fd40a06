"""What presses the mould shut, and how far its plates bend under that."""

import math
from dataclasses import dataclass

import numpy as np

from hidewright.catalogue.boards import Board
from hidewright.design.choices import ToolingChoice
from hidewright.errors import Remark
from hidewright.geometry.outline import Outline

#: Pressure that closes a mould when nothing better is known, MPa, (low, high); from memory.
CLOSING_MPa = (0.05, 0.3)
#: A plate that bends more than this no longer keeps the flange gap even, mm; common practice.
MOST_BENDING_MM = 0.2
#: Longer side over shorter, and deflection coefficient alpha at Poisson's ratio 0.3: clamped and
#: simply supported. The squares: checks of the job; the rest from memory after Timoshenko and
#: Woinowsky-Krieger, Theory of Plates and Shells, tables 8 and 35, times 12 (1 - 0.3^2).
SIDES = (1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 3.0, 4.0, 5.0, 1e9)
CLAMPED = (0.0138, 0.0188, 0.0226, 0.0251, 0.0267, 0.0277, 0.0284, 0.0284, 0.0284, 0.0284)
SUPPORTED = (0.0443, 0.0616, 0.0770, 0.0906, 0.1017, 0.1106, 0.1336, 0.1400, 0.1416, 0.1422)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bending:
    """Deflection of the middle of a plate, mm, between clamped and simply supported edges."""

    clamped_mm: float
    supported_mm: float


def closing_force(blank: Outline) -> tuple[float, float]:
    """Return the estimated (low, high) force that closes the mould, N: pressure x area."""
    return (CLOSING_MPa[0] * blank.area, CLOSING_MPa[1] * blank.area)


def bending(
    board: Board, thickness_mm: float, sides_mm: tuple[float, float], pressure_MPa: float
) -> Bending:
    """Return how far a rectangular plate bends under an even pressure, w = alpha p a^4 / (E t^3).

    Small deflections of a thin plate (Kirchhoff), nu = 0.3; a is the shorter side. Between the
    tabled proportions alpha is interpolated in shorter side / longer side.

    Args:
        board: Gives the modulus E.
        thickness_mm: Thickness t of all boards glued together.
        sides_mm: Width and height.
        pressure_MPa: Even pressure p.
    """
    a, b = min(sides_mm), max(sides_mm)
    unit = pressure_MPa * a**4 / (board.bending_modulus_MPa * thickness_mm**3)
    return Bending(
        clamped_mm=_alpha(CLAMPED, a / b) * unit, supported_mm=_alpha(SUPPORTED, a / b) * unit
    )


def strength_remarks(
    place: str,
    blank: Outline,
    plate: Outline,
    choice: ToolingChoice,
    force_N: tuple[float, float],
) -> tuple[Remark, ...]:
    """Return remarks on a vise too weak for the blank and on a base that bends without a backer.

    Args:
        place: Name of the blank.
        blank: Over which the force is spread.
        plate: The base.
        choice: Board and vise.
        force_N: What closes the mould, (low, high).
    """
    low, high = force_N
    remarks: list[Remark] = []
    if choice.vise_force_N < high:
        remarks.append(
            Remark(
                code="vise-too-weak",
                severity="warning",
                place=place,
                amount=high,
                limit=choice.vise_force_N,
                sentence=(
                    f"Closing the mould is estimated to take {low:.0f} to {high:.0f} N, the vise "
                    f"gives {choice.vise_force_N:.0f} N: "
                    + (
                        "it will not close it, use more clamps round the edge"
                        if choice.vise_force_N < low
                        else "with firm leather it may not close, have clamps at hand"
                    )
                ),
            )
        )
    board = choice.mould_board
    pressure = min(high, choice.vise_force_N) / blank.area
    bent = bending(board, board.thickness_mm, (plate.width, plate.height), pressure)
    if bent.supported_mm > MOST_BENDING_MM:
        stiff = board.thickness_mm * (bent.supported_mm / MOST_BENDING_MM) ** (1.0 / 3.0)
        remarks.append(
            Remark(
                code="plates-bend",
                severity="warning",
                place=place,
                amount=bent.supported_mm,
                limit=MOST_BENDING_MM,
                sentence=(
                    f"Held at its edges only, the {board.thickness_mm:g} mm base would bend by "
                    f"more than {MOST_BENDING_MM:g} mm under the full force: press between backers "
                    f"as large as the plates, of {board.material_words} at least "
                    f"{math.ceil(stiff)} mm thick"
                ),
            )
        )
    return tuple(remarks)


def _alpha(table: tuple[float, ...], shorter_over_longer: float) -> float:
    shares = [1.0 / side for side in reversed(SIDES)]
    return float(np.interp(shorter_over_longer, shares, tuple(reversed(table))))
