"""A nesting problem solved: the search within its rounds or seconds, and what is told of it."""

import time
from collections.abc import Callable
from dataclasses import dataclass

from hidewright.design.cut_layout import CutLayout
from hidewright.design.cutting import Placement
from hidewright.errors import RequestError
from hidewright.nesting.problem import Problem
from hidewright.store.nest_problem import read_problem
from hidewright.workshop.compiling import told_if_slow

#: More rounds than any clock allows.
ENDLESS = 10**12


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidPiece:
    """Where one copy of an item lies, in the words of the problem's file.

    Attributes:
        item: The item's id.
        copy: Its number among the copies of that item, from 0.
        bin: The id of the bin it lies on; ``0`` where there is but one hide or sheet.
        angle_deg: By how much its outline is turned about the origin, counter-clockwise.
        x: Shift along x after that.
        y: Shift along y after that.
        mirrored: Whether it was mirrored in the y axis before.
    """

    item: str
    copy: int
    bin: str
    angle_deg: float
    x: float
    y: float
    mirrored: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CutReport:
    """What came of a problem.

    Attributes:
        placements: Where each piece lies.
        goal: ``sets``, ``length`` or ``hides``.
        figure: How many sets or hides, or what length along x, from where the hide begins.
        bound: What no layout can beat.
        sets: How many whole sets lie there.
        used: Which share of what was cut into is now pieces; the rest is waste.
        rounds: How many were spent; so many again with the seed give the same layout.
        seed: Of the random numbers.
        seconds: How long the search took.
        compile_seconds: How long it took to compile or fetch the kernels, before that.
        checked: Whether the independent checker accepted the layout; it is not told otherwise.
    """

    placements: tuple[LaidPiece, ...]
    goal: str
    figure: float
    bound: float
    sets: int
    used: float
    rounds: int
    seed: int
    seconds: float
    compile_seconds: float
    checked: bool


def cut_problem(
    data: bytes,
    *,
    name: str,
    goal: str | None,
    rounds: int | None,
    seconds: float | None,
    seed: int,
    say: Callable[[str], None] = lambda _: None,
    progress: Callable[[str], None] = lambda _: None,
) -> CutReport:
    """Solve the problem in a file.

    Args:
        data: The file's bytes.
        name: Its name, for errors.
        goal: ``sets`` or ``length``, where the file leaves the choice.
        rounds: Budget of the search; None is no limit but the seconds.
        seconds: When to stop before; None is never.
        seed: Of the random numbers; with it and the rounds spent the layout comes again.
        say: Told when the kernels are being compiled.
        progress: Told of each better layout.

    Raises:
        RequestError: When the file or the problem in it is at fault.
    """
    check_budget(rounds, seconds, seed)
    problem = read_problem(data, name=name, goal=goal)
    from hidewright.nesting.cut import cut
    from hidewright.nesting.warm import compile_kernels

    before = time.perf_counter()
    with told_if_slow(say):
        compile_kernels()
    start = time.perf_counter()
    end = start + seconds if seconds is not None else float("inf")
    try:
        answer = cut(
            problem,
            rounds=rounds if rounds is not None else ENDLESS,
            seed=seed,
            called_off=lambda: time.perf_counter() >= end,
            progress=progress,
        )
    except RequestError as refused:
        raise refused.at(name) from None
    return CutReport(
        placements=tuple(laid_piece(problem, placement) for placement in answer.layout),
        goal=answer.goal,
        figure=answer.figure,
        bound=answer.bound,
        sets=answer.sets,
        used=answer.used,
        rounds=answer.rounds,
        seed=answer.seed,
        seconds=time.perf_counter() - start,
        compile_seconds=start - before,
        checked=True,
    )


def check_budget(rounds: int | None, seconds: float | None, seed: int) -> None:
    """Refuse a search without end, and numbers that are none.

    Raises:
        RequestError: Names the number.
    """
    if rounds is not None and rounds < 1:
        raise RequestError(f"{rounds} rounds", mend="Give 1 or more")
    if seconds is not None and not 0.0 < seconds < float("inf"):
        raise RequestError(f"{seconds} seconds", mend="Give more than 0")
    if rounds is None and seconds is None:
        raise RequestError("a search without end", mend="Give rounds, or seconds")
    if not 0 <= seed < 2**63:
        raise RequestError(f"the seed {seed}", mend="Give a whole number from 0")


def laid_piece(on: Problem | CutLayout, placement: Placement) -> LaidPiece:
    """Return a placement on the hides of a problem or layout, in the words of a problem's file."""
    return LaidPiece(
        item=on.pieces[placement.piece].name,
        copy=placement.copy,
        bin=on.hides[placement.hide].name,
        angle_deg=placement.angle_deg,
        x=placement.x_mm,
        y=placement.y_mm,
        mirrored=placement.mirrored,
    )
