"""The kernels compiled, or fetched from where they were kept, before time is taken."""

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Flaw, Hide
from hidewright.nesting.cut import cut
from hidewright.nesting.problem import Problem

SQUARE = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))


def compile_kernels() -> None:
    """Lay three squares once with, and once without, a flaw: that takes every kernel."""
    spot = ((4.0, 1.0), (4.5, 1.0), (4.5, 1.5))
    sheet = ((0.0, 0.0), (5.0, 0.0), (5.0, 2.5), (0.0, 2.5))
    flaw = Flaw(kind="hole", severity=1, outline=spot)
    for flaws in ((), (flaw,)):
        cut(
            Problem(
                goal="length",
                hides=(Hide(name="sheet", outline=sheet, flaws=flaws),),
                pieces=(Cutting(name="square", outline=SQUARE, count=3),),
                spacing_mm=0.1,
            ),
            rounds=300,
            seed=0,
        )
