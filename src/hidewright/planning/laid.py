"""A problem that was laid out for loads, and how its plan is told as tasks."""

from dataclasses import dataclass

from hidewright.planning.batch_plan import Task, Work
from hidewright.planning.grouping import Group
from hidewright.planning.loads import Load
from hidewright.planning.problem import Problem
from hidewright.planning.wall_clock import WallClock


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A problem, and what its operations are.

    Attributes:
        problem: For the engine.
        keys: Key of each operation.
        loads: Load of each operation.
        groups: Group of each operation.
        clock: The problem counts minutes that pass.
        notes: What had to be given up because it has passed already.
    """

    problem: Problem
    keys: tuple[str, ...]
    loads: tuple[Load, ...]
    groups: tuple[Group, ...]
    clock: WallClock
    notes: tuple[str, ...] = ()


def key_of(load: Load, group: Group) -> str:
    """Return the key of a task: the same in every plan."""
    return f"{load.number}/{group.step.name}/{group.number} of {group.groups}"


def task_of(
    laid: Laid, i: int, times: tuple[Work, ...], before: Task | None, after: tuple[str, ...]
) -> Task:
    """Return an operation as a task of the plan."""
    group, load, operation = laid.groups[i], laid.loads[i], laid.problem.operations[i]
    step = group.step
    rest = step.rest
    least = rest.least_minutes if rest else 0
    unit = step.place_kind if group.things == 1 else f"{step.place_kind}s"
    once = step.place_kind in ("tooling", "leather")
    return Task(
        key=laid.keys[i],
        load=load.number,
        step=step.name,
        words=step.name if once else f"{step.name}, {group.things} {unit}",
        how=step.how,
        group=group.number,
        groups=group.groups,
        minutes=laid.problem.operations[i].minutes,
        colour=(operation.colour or "") if operation.machine == "booth" else "",
        times=times,
        state=before.state if before else "planned",
        after=after,
        rest=rest.what if rest and least else "",
        ready=laid.clock.shown(laid.clock.passed(times[-1].end) + least) if least else None,
        first_off=step.first_off,
        day=before.day if before else None,
    )
