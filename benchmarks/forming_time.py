"""How long a forming solve takes: cold, and warm as a slider moves; with where the time goes.

Run on a quiet machine: OMP_NUM_THREADS=1 python benchmarks/forming_time.py

A rounded square 60 x 60 mm, pressed 12 mm deep; the slider moves the depth by 0.2 mm a step.
"""

import statistics
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from hidewright.forming import newton, solve
from hidewright.forming.law import FibreSheet, NeoHooke
from hidewright.forming.meshing import meshed
from hidewright.forming.pattern import Harmonic, Pattern, Refactor
from hidewright.forming.pressing import EdgeHold, Hollow, Pressing
from hidewright.forming.profile import Tools
from hidewright.forming.solve import pressed
from hidewright.forming.solved import Conditions, Pressed, Warm
from hidewright.geometry.shapes import rectangle

ROUNDS = 15
THICKNESS_MM = 1.6
RUBBER = NeoHooke(shear_MPa=5.0)
LEATHER = FibreSheet(
    shear_MPa=2.0, fibre_along_MPa=8.0, rise_along=4.0, fibre_across_MPa=5.0, rise_across=2.0
)

#: What belongs to which share of the time; the outermost of nested ones counts.
PARTS: tuple[tuple[str, Any, str], ...] = (
    ("mesh", solve, "meshed"),
    ("mesh", solve, "shape"),
    ("mesh", solve, "metric_of"),
    ("mesh", Pattern, "of"),
    ("mesh", Harmonic, "of"),
    ("assembly", newton, "strained"),
    ("assembly", newton, "gradient"),
    ("assembly", newton, "blocks"),
    ("assembly", Pattern, "matrix"),
    ("factorising", Refactor, "of"),
)
SHARES = ("mesh", "assembly", "factorising", "rest")


@dataclass(frozen=True, kw_only=True)
class Task:
    """What is timed, and the targets on a quiet core: cold and warm, ms; 0 where there is none."""

    name: str
    triangles: int
    conditions: Conditions
    hold: EdgeHold
    flange_mm: float
    cold_ms: float
    warm_ms: float


TASKS = (
    Task(
        name="one solve, neo-Hooke",
        triangles=5000,
        conditions=Conditions(law=RUBBER, level=0),
        hold="clamped",
        flange_mm=4.8,
        cold_ms=110,
        warm_ms=35,
    ),
    Task(
        name="whole: fibres, friction, thickness",
        triangles=5000,
        conditions=Conditions(law=LEATHER, friction=0.2, plate_pressure_MPa=0.05, level=2),
        hold="plate",
        flange_mm=15.0,
        cold_ms=220,
        warm_ms=70,
    ),
    Task(
        name="preview, neo-Hooke",
        triangles=1200,
        conditions=Conditions(law=RUBBER, level=0),
        hold="clamped",
        flange_mm=4.8,
        cold_ms=0,
        warm_ms=8,
    ),
)


def square(task: Task, depth: float) -> Pressing:
    """Return the pressing at one place of the slider."""
    tools = Tools(
        depth_mm=depth,
        crown_radius_mm=3.0,
        lip_radius_mm=3.0,
        gap_mm=1.8,
        thickness_mm=THICKNESS_MM,
    )
    return Pressing(
        hollows=(Hollow(name="square", outline=rectangle(60, 60, 10), tools=tools),),
        edge=task.flange_mm,
        thickness_mm=THICKNESS_MM,
        hold=task.hold,
    )


def size_for(task: Task) -> float:
    """Return the mesh size that gives about the wanted number of triangles."""
    size = 2.0
    for _ in range(4):
        count = len(meshed(square(task, 12.0), size).triangles)
        size *= (count / task.triangles) ** 0.5
    return size


@contextmanager
def watched() -> Iterator[dict[str, float]]:
    """Give the seconds spent in each part while it lasts."""
    spent: dict[str, float] = defaultdict(float)
    inside = [0]

    def timed(part: str, work: Callable[..., Any]) -> Callable[..., Any]:
        def run(*words: Any, **more: Any) -> Any:
            inside[0] += 1
            begin = time.perf_counter()
            try:
                return work(*words, **more)
            finally:
                inside[0] -= 1
                if inside[0] == 0:
                    spent[part] += time.perf_counter() - begin

        return run

    before = [(owner, name, vars(owner)[name]) for _, owner, name in PARTS]
    for (part, owner, name), (_, _, work) in zip(PARTS, before, strict=True):
        if isinstance(work, staticmethod):
            setattr(owner, name, staticmethod(timed(part, work.__func__)))
        else:
            setattr(owner, name, timed(part, work))
    try:
        yield spent
    finally:
        for owner, name, work in before:
            setattr(owner, name, work)


def step(
    task: Task, size: float, depth: float, warm: Warm | None = None
) -> tuple[float, list[float], Pressed]:
    """Return ms, percent by part and the sheet of one solve."""
    with watched() as spent:
        begin = time.perf_counter()
        sheet = pressed(square(task, depth), task.conditions, size, warm=warm)
        whole = time.perf_counter() - begin
    if sheet.residual > solve.BALANCE or (warm is not None and sheet.layout is not warm.layout):
        raise SystemExit("not balanced, or a warm step was not warm")
    parts = [spent[name] for name in SHARES[:-1]]
    parts.append(whole - sum(parts))
    return 1000.0 * whole, [100.0 * one / whole for one in parts], sheet


def main() -> None:
    print(f"{'':36}{'tri':>6}{'ms':>8}{'target':>8}{'steps':>7}   {'  '.join(SHARES)}, %")
    for task in TASKS:
        size = size_for(task)
        cold = [step(task, size, 12.0) for _ in range(ROUNDS + 1)][1:]
        show(f"{task.name}, cold", cold, task.cold_ms)
        warm = cold[-1:]
        for i in range(ROUNDS):
            warm.append(step(task, size, 12.2 + 0.2 * (i % 3), warm[-1][2].warm))
        show(f"{task.name}, warm", warm[1:], task.warm_ms)
    print(f"\nmedians of {ROUNDS}; steps are Newton's; targets are for a quiet core")


def show(name: str, rounds: list[tuple[float, list[float], Pressed]], target: float) -> None:
    sheet = rounds[-1][2]
    ms = statistics.median(one for one, _, _ in rounds)
    steps = statistics.median(one.rounds for _, _, one in rounds)
    split = [statistics.median(parts[i] for _, parts, _ in rounds) for i in range(len(SHARES))]
    wanted = f"{target:8.0f}" if target else f"{'':8}"
    told = "".join(f"{share:8.0f}" for share in split)
    print(f"{name:36}{len(sheet.layout.triangles):6}{ms:8.1f}{wanted}{steps:7.0f}{told}")


if __name__ == "__main__":
    main()
