"""The maker's own changes to the steps: one left out, one moved, one added; what forbids it."""

from collections.abc import Sequence
from dataclasses import replace

from hidewright.catalogue.rows import near
from hidewright.design.step import Step, must_be_in_order
from hidewright.errors import RequestError


def without_step(steps: Sequence[Step], name: str) -> tuple[Step, ...]:
    """Return the steps without one; what came after it now comes after what was before it.

    Raises:
        RequestError: When there is no such step, or a station is taken or freed at it, or leather
            rests after it for a limited time.
    """
    gone = _named(steps, name)
    freed = [step.name for step in steps for hold in step.holds if hold.until == name]
    kept = [hold.until for hold in gone.holds if hold.until != name]
    rest = gone.rest
    if kept or any(one != name for one in freed) or (rest and rest.most_minutes is not None):
        raise RequestError(
            f"{name} cannot be left out",
            because="a station is taken or freed at it, or what follows must follow in time",
            mend="Shorten its minutes instead",
        )
    return tuple(
        replace(
            step,
            after=tuple(
                dict.fromkeys(
                    other
                    for before in step.after
                    for other in (gone.after if before == name else (before,))
                )
            ),
        )
        for step in steps
        if step.name != name
    )


def moved_step(steps: Sequence[Step], name: str, behind: str) -> tuple[Step, ...]:
    """Return the steps with one moved to be done right behind another, before the next in line.

    Where the moved step must be followed in time, what comes next does not wait for it.

    Raises:
        RequestError: When there is no such step, or something forbids that order; it says what.
    """
    moving, target = _named(steps, name), _named(steps, behind)
    if moving is target:
        return tuple(steps)
    if behind not in moving.after:
        _may_be_followed(target, name)
    rest = [step for step in steps if step is not moving]
    place = rest.index(target) + 1
    ahead, later = rest[:place], rest[place:]
    if later and (moving.rest is None or moving.rest.most_minutes is None):
        later[0] = _waits_for(later[0], name)
    found = (*ahead, _waits_for(moving, behind), *later)
    must_be_in_order(found)
    return found


def with_step(steps: Sequence[Step], own: Step, behind: str) -> tuple[Step, ...]:
    """Return the steps with one of the maker's own right behind another, before all that follows.

    Raises:
        RequestError: When there is no such step, or the name is taken already, or what follows the
            other must follow it in time.
    """
    target = _named(steps, behind)
    _may_be_followed(target, own.name)
    put = _waits_for(own, behind)
    found: list[Step] = []
    for step in steps:
        found.append(_waits_for(step, put.name) if behind in step.after else step)
        if step is target:
            found.append(put)
    must_be_in_order(found)
    return tuple(found)


def _may_be_followed(step: Step, by: str) -> None:
    """Refuse to put something behind a step that must be followed in time."""
    if step.rest and step.rest.most_minutes is not None:
        raise RequestError(
            f"nothing can be put behind {step.name}",
            because=f"what follows must follow within {step.rest.most_minutes} minutes",
            mend=f"Put {by} before {step.name}",
        )


def _waits_for(step: Step, other: str) -> Step:
    return replace(step, after=tuple(dict.fromkeys((*step.after, other))))


def _named(steps: Sequence[Step], name: str) -> Step:
    for step in steps:
        if step.name == name:
            return step
    raise RequestError(f"no step {name!r}", mend=near(name, [step.name for step in steps]))
