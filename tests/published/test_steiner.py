"""Steiner's formula: J. Steiner, Über parallele Flächen, Monatsbericht der Akademie der
Wissenschaften zu Berlin, 1840, 114-118: a convex outline of area A and length P moved outward by d
has area A + P d + pi d^2 and length P + 2 pi d."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline
from hidewright.geometry.shapes import (
    arch,
    circle,
    d_shape,
    ellipse,
    polygon,
    rectangle,
    stadium,
    teardrop,
)

CONVEX = (
    circle(20),
    rectangle(60, 40),
    rectangle(60, 40, 6),
    stadium(80, 30),
    arch(90, 110, 30),
    d_shape(40, 30, 4),
    teardrop(80, 40, 5),
    ellipse(100, 60),
    polygon([(0, 0), (50, 0), (10, 30)]),
)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(CONVEX), st.floats(0.1, 30.0))
def test_area_and_length_of_an_outward_offset(shape: Outline, d: float) -> None:
    moved = offset(shape, d)
    area = shape.area + shape.length * d + math.pi * d**2
    assert moved.area == pytest.approx(area, rel=1e-10)
    assert moved.length == pytest.approx(shape.length + 2 * math.pi * d, rel=1e-10)


@settings(max_examples=30, deadline=None)
@given(st.sampled_from((40.0, 25.0, 12.0)), st.floats(0.1, 11.9))
def test_inward_as_long_as_every_radius_is_larger(radius: float, d: float) -> None:
    shape = rectangle(100, 90, radius)
    area = shape.area - shape.length * d + math.pi * d**2
    assert offset(shape, -d).area == pytest.approx(area, rel=1e-10)
