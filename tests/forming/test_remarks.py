"""Remarks on a pressed sheet: each at its threshold, in the zone it is about."""

import math
from dataclasses import replace

import numpy as np
import pytest

from hidewright.catalogue.leathers import Leather
from hidewright.design.pressed_zone import PressedZone
from hidewright.design.states import FormedOutline
from hidewright.errors import Remark
from hidewright.forming import remarks
from hidewright.forming.law import NeoHooke
from hidewright.forming.limits import grain_stretch, pinched, puckers, use_of
from hidewright.forming.pressing import EdgeHold, Hollow, Pressing
from hidewright.forming.profile import Tools
from hidewright.forming.remarks import NEAR, TEARS, forming_remarks
from hidewright.forming.solve import pressed
from hidewright.forming.solved import Conditions, Pressed
from hidewright.geometry.outline import Outline
from hidewright.geometry.shapes import circle, rectangle

T = 2.0
RUBBER = Conditions(law=NeoHooke(shear_MPa=2.0), level=0)
#: Bears more than anything here asks.
SOUND = Leather(
    name="test leather",
    part_of_hide="shoulder",
    thickness_min_mm=T,
    thickness_max_mm=T,
    stretch_limit_along=2.0,
    stretch_limit_across=2.0,
    grain_limit=2.0,
    source="invented for this test",
)


def zone(name: str, plug: Outline, depth: float) -> PressedZone:
    return PressedZone(
        name=name,
        sources=(("front", name),),
        plug=FormedOutline(plug),
        height_mm=depth,
        height_dries=1.0,
        crown_radius_mm=3.0,
        lip_radius_mm=3.0,
    )


#: Two hollows, the right one deeper.
LEFT = zone("left", circle(15, (-30.0, 0.0)), 6.0)
RIGHT = zone("right", circle(15, (30.0, 0.0)), 9.0)
BOTH = (LEFT, RIGHT)


def form(zones: tuple[PressedZone, ...], hold: EdgeHold = "clamped") -> Pressing:
    def tools(one: PressedZone) -> Tools:
        return Tools(
            depth_mm=one.height_mm,
            crown_radius_mm=3.0,
            lip_radius_mm=3.0,
            gap_mm=2.2,
            thickness_mm=T,
        )

    return Pressing(
        hollows=tuple(Hollow(name=one.name, outline=one.plug, tools=tools(one)) for one in zones),
        edge=rectangle(130.0, 64.0, 20.0),
        thickness_mm=T,
        hold=hold,
    )


@pytest.fixture(scope="module")
def two() -> Pressed:
    return pressed(form(BOTH), RUBBER, 3.5)


@pytest.fixture(scope="module")
def loose() -> Pressed:
    return pressed(form(BOTH, "free"), RUBBER, 3.5)


def on_zone(found: tuple[Remark, ...], one: PressedZone) -> list[str]:
    return [r.code for r in found if r.place == one.place]


def using(sheet: Pressed, hollow: int, share: float) -> Leather:
    """Return a leather whose grain is used to a share in a hollow, and hardly anything else."""
    own = sheet.layout.hollow == hollow
    grain = float(grain_stretch(sheet, True)[own].max())
    return replace(SOUND, grain_limit=math.exp(math.log(grain) / share))


# --- cracks ---


@pytest.mark.parametrize(
    ("share", "code", "severity"),
    [
        (NEAR - 1e-6, None, None),
        (NEAR + 1e-6, "leather-near-its-limit", "warning"),
        (1.0 - 1e-6, "leather-near-its-limit", "warning"),
        (1.0 + 1e-6, "leather-cracks", "forbids"),
    ],
)
def test_leather_is_near_its_limit_from_85_per_cent_and_cracks_from_all_of_it(
    two: Pressed, share: float, code: str | None, severity: str | None
) -> None:
    assert pytest.approx(0.85) == NEAR
    found = forming_remarks(two, BOTH, using(two, 1, share))
    assert on_zone(found, RIGHT) == ([code] if code else [])
    assert [r.severity for r in found if r.place == RIGHT.place] == ([severity] if code else [])
    for remark in found:
        assert remark.amount == pytest.approx(share, abs=6e-4)
        assert remark.limit == 1.0


def test_each_zone_speaks_for_itself_at_a_point_of_its_own(two: Pressed) -> None:
    of_both = forming_remarks(two, BOTH, using(two, 0, 1.1))
    assert [(r.place, r.code) for r in of_both] == [
        ("front/left", "leather-cracks"),
        ("front/right", "leather-cracks"),
    ]
    for remark, one, middle in zip(of_both, BOTH, (-30.0, 30.0), strict=True):
        assert remark.point is not None
        away = math.hypot(remark.point[0] - middle, remark.point[1])
        # the grain is stretched most where it is bent too: round the crown edge, inside the plug
        assert 15.0 - 3.0 - 1.0 < away < 15.0 + 1.0
        assert "round the crown edge" in remark.sentence, one.name
    assert on_zone(forming_remarks(two, BOTH, using(two, 1, 1.0 + 1e-6)), LEFT) == []


def test_the_sentence_tells_bend_from_stretch(two: Pressed) -> None:
    (bent,) = forming_remarks(two, BOTH, using(two, 1, 0.95))
    grain = float(grain_stretch(two, True).max())
    assert f"{100 * (grain - 1):.0f} %" in bent.sentence
    assert "press a test piece" in bent.sentence
    stretched = replace(SOUND, stretch_limit_along=1.05, stretch_limit_across=1.05)
    torn = [r for r in forming_remarks(two, BOTH, stretched) if r.place == RIGHT.place]
    share = float(use_of(two, stretched).stretch[two.layout.hollow == 1].max())
    assert f"{100 * share:.0f} % of what this leather bears" in torn[0].sentence
    assert "assumed until a test plug is measured" in torn[0].sentence


def test_the_flange_is_spoken_of_once_with_the_first_zone(two: Pressed) -> None:
    most = use_of(two, SOUND).most
    flange = int(np.flatnonzero(two.layout.hollow < 0)[0])
    c = two.state.c.copy()
    c[0, flange] *= 9.0  # torn threefold in one triangle of the flange
    torn = replace(two, state=replace(two.state, c=c))
    assert most.max() < NEAR
    (remark,) = forming_remarks(torn, BOTH, SOUND)
    assert (remark.place, remark.code) == ("front/left", "leather-cracks")
    assert "on the flange" in remark.sentence
    at = two.shape.points[two.layout.triangles[flange]].mean(axis=0)[:2]
    assert remark.point == pytest.approx(tuple(at), abs=0.051)


def test_grain_that_lies_on_the_plug_is_stretched_most_over_the_lip(two: Pressed) -> None:
    leather = using(two, 1, 1.05)
    turned = tuple(replace(one, grain_out=False) for one in BOTH)
    for zones, where, sign in ((BOTH, "round the crown edge", -1), (turned, "over the lip", 1)):
        (remark,) = (r for r in forming_remarks(two, zones, leather) if r.place == RIGHT.place)
        assert remark.code == "leather-cracks"
        assert where in remark.sentence
        assert remark.point is not None
        # the wall's middle stands 1.1 mm off the plug: the crown arc ends there, the lip begins
        assert sign * (math.hypot(remark.point[0] - 30.0, remark.point[1]) - 16.1) > 0.0


# --- walls and gap ---


def with_gap(sheet: Pressed, hollow: int, share: float) -> Pressed:
    """Return the sheet with a gap such that the thickest of a wall is a share of it."""
    assert isinstance(sheet.pressing, Pressing)
    thickest = float(pinched(sheet)[hollow].max()) * sheet.pressing.hollows[hollow].tools.gap_mm
    hollows = tuple(
        replace(one, tools=replace(one.tools, gap_mm=thickest / share)) if k == hollow else one
        for k, one in enumerate(sheet.pressing.hollows)
    )
    return replace(sheet, pressing=replace(sheet.pressing, hollows=hollows))


@pytest.mark.parametrize(
    ("share", "code", "severity"),
    [
        (1.0 - 1e-9, None, None),
        (1.0 + 1e-9, "wall-ironed", "warning"),
        (TEARS - 1e-9, "wall-ironed", "warning"),
        (TEARS + 1e-9, "wall-torn", "forbids"),
    ],
)
def test_a_wall_thicker_than_the_gap_is_ironed_and_beyond_a_gap_of_95_per_cent_torn(
    two: Pressed, share: float, code: str | None, severity: str | None
) -> None:
    assert pytest.approx(1 / 0.95) == TEARS  # as a gap of 0.95 of the leather, the least there is
    tight = with_gap(two, 1, share)
    found = forming_remarks(tight, BOTH, SOUND)
    assert [(r.place, r.code, r.severity) for r in found] == (
        [(RIGHT.place, code, severity)] if code else []
    )
    for remark in found:
        assert isinstance(tight.pressing, Pressing)
        gap = tight.pressing.hollows[1].tools.gap_mm
        assert remark.limit == gap
        assert remark.amount == pytest.approx(share * gap, abs=6e-4)


# --- puckers ---


def test_a_flange_puckers_only_when_nothing_lies_on_it(
    loose: Pressed, monkeypatch: pytest.MonkeyPatch
) -> None:
    flange = puckers(loose)
    height = float(flange.height_mm.max())
    for share, told in ((height / T * (1 + 1e-9), []), (height / T * (1 - 1e-9), True)):
        monkeypatch.setattr(remarks, "FLAT_ENOUGH", share)
        found = [r for r in forming_remarks(loose, BOTH, SOUND) if r.code == "flange-puckers"]
        assert bool(found) == bool(told)
    (remark,) = found
    assert (remark.severity, remark.place) == ("warning", LEFT.place)
    assert remark.amount == pytest.approx(height, abs=6e-3)
    assert remark.point is not None
    for one in BOTH:  # on the flange, outside gap and lip
        middle = -30.0 if one is LEFT else 30.0
        assert math.hypot(remark.point[0] - middle, remark.point[1]) > 15.0 + 2.2 + 3.0
    monkeypatch.setattr(remarks, "FLAT_ENOUGH", 0.0)
    for hold in ("plate", "clamped"):
        held = replace(loose, pressing=replace(loose.pressing, hold=hold))
        codes = [r.code for r in forming_remarks(held, BOTH, SOUND)]
        assert "flange-puckers" not in codes


def test_puckers_that_press_out_flat_are_a_quarter_of_the_thickness_high() -> None:
    assert pytest.approx(0.25) == remarks.FLAT_ENOUGH
