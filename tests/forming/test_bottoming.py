"""A floor over the plug: what squeezes the leather to the room, what holds it down."""

import math
from dataclasses import replace

import numpy as np
import pytest

from hidewright.forming.answers import press_force_N, stretch_in_triangles
from hidewright.forming.bottoming import on_floor
from hidewright.forming.law import NeoHooke
from hidewright.forming.mesh import CAP
from hidewright.forming.pressing import Hollow, Pressing
from hidewright.forming.profile import Tools
from hidewright.forming.solve import pressed
from hidewright.forming.solved import Conditions, Pressed
from hidewright.geometry.shapes import circle

T, SHEAR, RADIUS = 1.6, 5.0, 25.0
TOOLS = Tools(depth_mm=10.0, crown_radius_mm=4.0, lip_radius_mm=4.0, gap_mm=1.8, thickness_mm=T)


def cup(level: int, hold: str) -> Pressed:
    form = Pressing(
        hollows=(Hollow(name="cup", outline=circle(RADIUS), tools=TOOLS),),
        edge=TOOLS.outer_mm + (0.0 if hold == "clamped" else 10.0),
        thickness_mm=T,
        hold=hold,  # type: ignore[arg-type]
    )
    return pressed(form, Conditions(law=NeoHooke(shear_MPa=SHEAR), level=level), 2.0)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def limp() -> Pressed:
    return cup(0, "clamped")


@pytest.fixture(scope="module")
def stiff() -> Pressed:
    return cup(3, "free")


def test_squeezing_a_bottom_that_is_stretched_evenly_takes_the_pressure_of_the_closed_form(
    limp: Pressed,
) -> None:
    # without friction the bottom of a round cup is stretched evenly, by s in all directions, to
    # h = t/s^2; squeezed to g it is stretched by s' with s'^2 = t/g. Neo-Hooke, plane stress:
    # sigma = mu (s^2 - s^-4); the rim still pulls with sigma h, so p = sigma' - sigma h/g
    bottom = limp.layout.region == CAP
    s = float(stretch_in_triangles(limp).largest[bottom].mean())
    assert np.ptp(stretch_in_triangles(limp).largest[bottom]) < 2e-3

    def sigma(square: float) -> float:
        return SHEAR * (square - square**-2)

    h = T / s**2
    area = float(limp.sheet.metric.area[bottom].sum())
    for share in (0.97, 0.9, 0.7):
        g = share * h
        exact = sigma(T / g) - sigma(s**2) * h / g
        found = on_floor(limp, 0, g)
        assert found.squeeze_N == pytest.approx(exact * area, rel=0.02)
    # an unstretched pad: p = mu (1/x - x^2) squeezed to the share x, as for rubber without friction
    flat = replace(limp.state, c=_flat(limp))
    unstretched = replace(limp, state=flat, thickness=np.full_like(limp.thickness, T))
    pad = on_floor(unstretched, 0, 0.9 * T)
    assert pad.squeeze_N == pytest.approx(SHEAR * (1 / 0.9 - 0.9**2) * area, rel=0.02)


def _flat(sheet: Pressed) -> np.ndarray:
    c = np.zeros_like(sheet.state.c)
    c[:2] = 1.0
    return c


def test_a_floor_clear_of_the_leather_takes_no_force_and_one_nearer_takes_more(
    limp: Pressed, stiff: Pressed
) -> None:
    thickest = on_floor(limp, 0, 2.0).thickest_mm
    assert on_floor(limp, 0, 1.001 * thickest).force_N == 0.0
    forces = [on_floor(limp, 0, share * thickest).force_N for share in (0.99, 0.95, 0.9, 0.8)]
    assert forces == sorted(forces)
    assert forces[0] > 0.0
    clear = on_floor(stiff, 0, 2.0)
    high = clear.thickest_mm + clear.stands_off_mm
    assert clear.stands_off_mm > 0.1
    assert on_floor(stiff, 0, 1.05 * high).force_N == 0.0
    assert on_floor(stiff, 0, 0.9 * high).hold_down_N > 0.0
    # thicker leather meets the same floor sooner
    room = 1.02 * thickest
    assert on_floor(limp, 0, room).force_N == 0.0 < on_floor(limp, 0, room, 1.1).force_N


def test_leather_that_stands_off_is_held_down_by_the_shear_of_a_beam_under_tension(
    stiff: Pressed,
) -> None:
    # V = sqrt(D T)/r all round; on the crown T lies between what the bottom pulls with and the wall
    room = on_floor(stiff, 0, 1.0).thickest_mm
    found = on_floor(stiff, 0, room).hold_down_N
    h = float(stiff.warm.arcs[0].crown_h.mean())
    r = TOOLS.crown_radius_mm + h / 2.0
    ring = RADIUS + TOOLS.inner_mm
    stiffness = SHEAR * h**3 / 3.0
    bottom = stiff.layout.region == CAP
    s = float(stretch_in_triangles(stiff).largest[bottom].mean())
    in_bottom = SHEAR * (s**2 - s**-4) * T / s**2
    in_wall = sum(press_force_N(stiff)) / (2.0 * math.pi * RADIUS)
    low, high = (
        2.0 * math.pi * ring * math.sqrt(stiffness * pull) / r
        for pull in sorted((in_bottom, in_wall))
    )
    assert 0.9 * low < found < 1.1 * high
    assert high < 2.0 * low, "the bounds tell something"
