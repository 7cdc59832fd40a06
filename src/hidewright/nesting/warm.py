"""The kernels compiled, or fetched from where they were kept, before time is taken."""

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Flaw, GradeArea, Hide
from hidewright.nesting.cut import cut
from hidewright.nesting.problem import Problem

SQUARE = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))


def compile_kernels() -> None:
    """Lay squares once on a bare sheet and once on one with a flaw and grades: all kernels run."""
    spot = ((4.0, 1.0), (4.5, 1.0), (4.5, 1.5))
    sheet = ((0.0, 0.0), (5.0, 0.0), (5.0, 2.5), (0.0, 2.5))
    better = GradeArea(grade=1, outline=((0.0, 0.0), (1.5, 0.0), (1.5, 2.5), (0.0, 2.5)))
    bare = Hide(name="sheet", outline=sheet)
    graded = Hide(
        name="graded",
        outline=sheet,
        flaws=(Flaw(kind="hole", severity=1, outline=spot),),
        areas=(better, GradeArea(grade=2, outline=sheet)),
    )
    for hide in (bare, graded):
        cut(
            Problem(
                goal="length",
                hides=(hide,),
                pieces=(Cutting(name="square", outline=SQUARE, grade=2, count=3),),
                spacing_mm=0.1,
            ),
            rounds=300,
            seed=0,
        )
