"""The sheet's energy by its flat places: derivatives, symmetry, invariance."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.forming.energy import (
    UPPER,
    Metric,
    Sheet,
    State,
    blocks,
    energy,
    gradient,
    metric_of,
    strained,
)
from hidewright.forming.law import FibreSheet, Law, NeoHooke
from hidewright.forming.mesh import Shape
from hidewright.forming.pattern import Pattern
from hidewright.geometry.segment import Floats

RUBBER = NeoHooke(shear_MPa=5.0)
LEATHER = FibreSheet(
    shear_MPa=2.0, fibre_along_MPa=8.0, rise_along=4.0, fibre_across_MPa=5.0, rise_across=2.0
)
seeds = st.integers(0, 2**32 - 1)


GRID = np.stack(np.meshgrid(np.arange(3.0), np.arange(3.0)), axis=-1).reshape(-1, 2)
CORNERS = np.array([[0, 1, 3], [1, 4, 3], [1, 2, 5], [1, 5, 4], [3, 4, 7], [3, 7, 6], [4, 5, 7]])


def a_sheet(seed: int, law: Law) -> tuple[Sheet, Floats]:
    """Return a crumpled sheet of a few triangles, some softened, some bent, and a flat place."""
    draw = np.random.default_rng(seed)
    plan = GRID + draw.uniform(-0.1, 0.1, GRID.shape)
    triangles = np.concatenate([CORNERS, [[5, 8, 7]]])
    formed = np.column_stack([plan * draw.uniform(0.9, 1.3), draw.uniform(-0.4, 0.4, len(plan))])
    normals = draw.normal(size=(len(plan), 3)) * 0.2 + (0.0, 0.0, 1.0)
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    metric = metric_of(Shape(formed, plan, normals, (), ()), triangles)
    m = len(triangles)
    sheet = Sheet(triangles, metric, law, 1.6, draw.uniform(0.7, 1.0, m), draw.uniform(0.0, 0.5, m))
    return sheet, plan + draw.uniform(-0.05, 0.05, plan.shape)


def state_of(sheet: Sheet, flat: Floats) -> State:
    state = strained(sheet, flat)
    assert state is not None
    return state


def whole_matrix(sheet: Sheet, flat: Floats, positive: bool = False) -> Floats:
    pattern = Pattern.of(sheet.triangles, np.zeros(len(flat), dtype=bool))
    upper = pattern.matrix(blocks(sheet, state_of(sheet, flat), positive)).toarray()
    return np.asarray(upper + upper.T - np.diag(upper.diagonal()))


@pytest.mark.parametrize("law", [RUBBER, LEATHER])
@settings(max_examples=20, deadline=None)
@given(seed=seeds)
def test_the_gradient_is_that_of_the_energy(law: Law, seed: int) -> None:
    sheet, flat = a_sheet(seed, law)
    slope = gradient(sheet, state_of(sheet, flat), len(flat))
    step, found = 1e-6, np.zeros_like(flat)
    for place in np.ndindex(*flat.shape):
        up, down = flat.copy(), flat.copy()
        up[place] += step
        down[place] -= step
        change = energy(sheet, state_of(sheet, up)) - energy(sheet, state_of(sheet, down))
        found[place] = change / (2 * step)
    assert found == pytest.approx(slope, abs=1e-7 * np.abs(slope).max())


@pytest.mark.parametrize("law", [RUBBER, LEATHER])
@settings(max_examples=20, deadline=None)
@given(seed=seeds)
def test_the_matrix_is_the_change_of_the_gradient(law: Law, seed: int) -> None:
    sheet, flat = a_sheet(seed, law)
    matrix = whole_matrix(sheet, flat)
    step, found = 1e-6, np.zeros_like(matrix)
    for i in range(flat.size):
        move = np.zeros(flat.size)
        move[i] = step
        up, down = flat + move.reshape(-1, 2), flat - move.reshape(-1, 2)
        after = gradient(sheet, state_of(sheet, up), len(flat))
        before = gradient(sheet, state_of(sheet, down), len(flat))
        found[i] = (after - before).ravel() / (2 * step)
    assert found == pytest.approx(matrix, abs=1e-6 * np.abs(matrix).max())


@settings(max_examples=20, deadline=None)
@given(seed=seeds)
def test_raised_eigenvalues_leave_no_way_uphill_and_do_not_touch_what_is_positive(
    seed: int,
) -> None:
    sheet, flat = a_sheet(seed, LEATHER)
    raised = whole_matrix(sheet, flat, positive=True)
    least = np.linalg.eigvalsh(raised).min()
    assert least > -1e-9 * np.abs(raised).max()
    difference = raised - whole_matrix(sheet, flat)
    assert np.linalg.eigvalsh(difference).min() > -1e-9 * np.abs(raised).max()


def test_the_21_entries_are_the_upper_half_of_six_by_six() -> None:
    assert len(UPPER) == 21
    assert np.array_equal(np.array(UPPER).T, np.triu_indices(6))


@settings(max_examples=20, deadline=None)
@given(seed=seeds, turn=st.floats(0.0, 2 * math.pi), dx=st.floats(-9.0, 9.0))
def test_moving_the_flat_sheet_changes_nothing_and_turning_it_nothing_if_it_has_no_grain(
    seed: int, turn: float, dx: float
) -> None:
    c, s = math.cos(turn), math.sin(turn)
    rotation = np.array([[c, s], [-s, c]])
    for law in (RUBBER, LEATHER):
        sheet, flat = a_sheet(seed, law)
        before = energy(sheet, state_of(sheet, flat))
        moved = flat + np.array([dx, -dx])
        assert energy(sheet, state_of(sheet, moved)) == pytest.approx(before, rel=1e-9)
    sheet, flat = a_sheet(seed, RUBBER)
    before = energy(sheet, state_of(sheet, flat))
    assert energy(sheet, state_of(sheet, flat @ rotation)) == pytest.approx(before, rel=1e-9)
    pull = gradient(sheet, state_of(sheet, flat), len(flat))
    turned = gradient(sheet, state_of(sheet, flat @ rotation), len(flat))
    assert turned == pytest.approx(pull @ rotation, abs=1e-9 * np.abs(pull).max())


def test_forces_are_in_balance_with_one_another() -> None:
    sheet, flat = a_sheet(7, RUBBER)
    pull = gradient(sheet, state_of(sheet, flat), len(flat))
    moment = flat[:, 0] * pull[:, 1] - flat[:, 1] * pull[:, 0]
    assert pull.sum(axis=0) == pytest.approx([0.0, 0.0], abs=1e-12 * np.abs(pull).sum())
    assert moment.sum() == pytest.approx(0.0, abs=1e-12 * np.abs(pull).sum())


def test_a_sheet_turned_over_has_no_state() -> None:
    sheet, flat = a_sheet(3, RUBBER)
    assert strained(sheet, flat * (-1.0, 1.0)) is None


def test_an_evenly_stretched_sheet_has_the_energy_of_its_stretches() -> None:
    # formed sides 1.2 and 1.1 times the flat ones: C = diag(1.44, 1.21)
    triangles = np.array([[0, 1, 2]])
    one = np.ones(1)
    sheet = Sheet(
        triangles,
        Metric(1.44 * 9 * one, 1.21 * 4 * one, 0 * one),
        RUBBER,
        1.6,
        one,
        0 * one,
    )
    state = state_of(sheet, np.array([[0.0, 0.0], [3.0, 0.0], [0.0, 2.0]]))
    assert state.c[:, 0] == pytest.approx([1.44, 1.21, 0.0])
    closed = 1.6 * 3.0 * 2.5 * (1.44 + 1.21 + 1 / (1.44 * 1.21) - 3)
    assert energy(sheet, state) == pytest.approx(closed, rel=1e-14)
    assert sheet.metric.area == pytest.approx([0.5 * 3.6 * 2.2])


@pytest.mark.parametrize("span", [0.1, 0.2, 0.4])
def test_a_side_on_a_circle_has_its_arcs_length_to_fourth_order(span: float) -> None:
    # r times angle; the correction chord (1 + delta^2/24), delta = 2 sin(a/2) here, leaves a^4
    a = span / 2
    c, s = math.cos(a), math.sin(a)
    points = np.array([[-s, 0.0, c], [s, 0.0, c], [0.0, 1.0, 0.0]])
    shape = Shape(points, points[:, :2], points, (), ())
    metric = metric_of(shape, np.array([[0, 1, 2]]))
    assert math.sqrt(metric.g11[0]) == pytest.approx(span, rel=span**4 / 100)
    assert 2 * math.sin(a) != pytest.approx(span, rel=span**2 / 30)
