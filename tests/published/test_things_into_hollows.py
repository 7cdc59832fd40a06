"""Published things go into the hollows that are sized for them, and no smaller ones.

Sizes: ISO/IEC 7810 (ID-1: 85.60 x 53.98 mm, 0.68 to 0.84 mm thick, corners 2.88 to 3.48 mm); SD
card 32 x 24 x 2.1 mm (an open parts library's readme); cells R6 up to 14.5 x 50.5 mm (Handbook of
Batteries, table 4.9a); 2 euro 25.75 x 2.20 mm and US quarter 24.26 x 1.75 mm (the mints).
"""

import math

import pytest

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.carried import Carried
from hidewright.design.fit import Room, clearance_in, room_for
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.slabs import envelope
from hidewright.design.states import DryOutline
from hidewright.geometry.shapes import arch, circle

THINGS = built_in_catalogue().things


def _pocket(room: Room) -> Hollow:
    return Hollow(
        name="pocket",
        outline=DryOutline(arch(room.width_mm, room.height_mm, 2.0)),
        shells=(
            Shell(depth_mm=room.depth_mm, crown_radius_mm=1.0),
            Shell(depth_mm=0.0, crown_radius_mm=0.0),
        ),
        mouth="mouth",
    )


def _snug(name: str, count: int = 1) -> Carried:
    return Carried(
        thing=find(THINGS, name), count=count, side_clearance_mm=0.0, depth_clearance_mm=0.0
    )


@pytest.mark.parametrize(
    ("name", "count", "length", "width", "thickness"),
    [
        ("plain card (ID-1)", 1, 85.60, 53.98, 0.84),
        ("plain card (ID-1)", 6, 85.60, 53.98, 5.04),
        ("SD card", 2, 32.0, 24.0, 4.2),
        ("cell R6 (AA)", 1, 50.5, 14.5, 14.5),
        ("euro 2", 5, 25.75, 25.75, 11.0),
        ("US quarter", 40, 24.26, 24.26, 70.0),
    ],
)
def test_the_room_is_the_published_size_and_the_crown_beside_it(
    name: str, count: int, length: float, width: float, thickness: float
) -> None:
    one = _snug(name, count)
    room = room_for((one,), _pocket)
    # a sharp corner touches the crown's arc, which stands 1 mm in, where the plan corner of 2 mm
    # radius is 1 mm round: at most so much beside it, and the rounding up to half a mm
    beside = 1.0 + (2.0 - 1.0) * (1.0 - math.sqrt(0.5))
    assert width <= room.width_mm <= width + 2 * beside + 0.5 + 1e-9
    assert length <= room.height_mm <= length + beside + 0.5 + 1e-9
    assert thickness <= room.depth_mm <= thickness + 0.5
    assert clearance_in(_pocket(room), envelope((one,))) >= -0.005


def test_a_two_euro_coin_needs_a_round_pocket_whose_chord_is_wider_than_25_75_mm() -> None:
    one = _snug("euro 2")

    def round_pocket(diameter: float) -> Hollow:
        return Hollow(
            name="round",
            outline=DryOutline(circle(diameter / 2)),
            shells=(
                Shell(depth_mm=2.5, crown_radius_mm=1e-3),
                Shell(depth_mm=0.0, crown_radius_mm=0.0),
            ),
        )

    assert clearance_in(round_pocket(25.75 + 0.1), envelope((one,))) == pytest.approx(
        0.05, abs=0.02
    )
    assert clearance_in(round_pocket(25.75 - 0.1), envelope((one,))) < 0


def test_loose_coins_fill_what_random_packing_says() -> None:
    """Thin discs shaken together fill a half or so of their room; 0.55 is reckoned with.

    Common practice, no source: a plausible range, not a value.
    """
    from hidewright.design.fit_remarks import LOOSE_FILL

    assert 0.5 <= LOOSE_FILL <= math.pi / math.sqrt(12)  # never over the densest layer of discs
