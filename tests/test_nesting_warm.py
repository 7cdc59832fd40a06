"""The kernels are compiled before time is taken: all of them."""

import pytest

from hidewright.nesting import separation
from hidewright.nesting.warm import compile_kernels

KERNELS = ("draw", "lay_in_cells", "overlaps", "separate")


def test_warming_up_runs_every_kernel_of_the_search(monkeypatch: pytest.MonkeyPatch) -> None:
    run: set[str] = set()
    for name in KERNELS:
        kernel = getattr(separation, name)

        def noted(*given: object, name: str = name, kernel: object = kernel) -> object:
            run.add(name)
            return kernel(*given)  # type: ignore[operator]

        monkeypatch.setattr(separation, name, noted)
    compile_kernels()
    assert run == set(KERNELS)
