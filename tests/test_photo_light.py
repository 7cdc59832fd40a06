"""Slow changes of light taken out of a photo."""

import numpy as np
import pytest

from hidewright.photo.light import slow_part


def test_a_polynomial_is_its_own_slow_part_wherever_it_is_seen() -> None:
    down, along = np.mgrid[-1:1:40j, -1:1:70j]
    values = 2 + along - 3 * down + 0.5 * along**3 * down - along**2 * down**2
    where = np.random.default_rng(5).random(values.shape) < 0.3
    assert slow_part(values, where, 4) == pytest.approx(values, abs=1e-9)
    assert slow_part(values, where, 3) != pytest.approx(values, abs=1e-3)
