"""The steps of the articles in a batch, as this workshop makes them."""

from collections.abc import Callable, Iterable, Mapping, MutableMapping
from typing import Any

from hidewright.design.part import MouldTool
from hidewright.design.specification import Specification
from hidewright.design.step import Step
from hidewright.errors import RequestError
from hidewright.planning.batch_problem import Recipe
from hidewright.planning.known_steps import KnownSteps
from hidewright.planning.own_step import with_own_steps
from hidewright.planning.steps_choice import BenchChoice
from hidewright.planning.workshop import Workshop
from hidewright.workshop import article
from hidewright.workshop.digest import digest
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.learned_kept import program


def recipes_for(
    designs: Mapping[str, Specification[Any]],
    kinds: Iterable[tuple[str, str]],
    workshop: Workshop,
    cache: Cache,
    progress: Callable[[str], None] = lambda _: None,
    known: MutableMapping[str, KnownSteps] | None = None,
    *,
    laser_speed: float,
) -> tuple[Recipe, ...]:
    """Return how each article of each colour is made.

    Args:
        designs: By id.
        kinds: (design, colour) that are wanted.
        workshop: How it works; the maker's own changes to steps are in it.
        cache: Kept between calls by the caller; the pressing of leather takes seconds.
        progress: Called with words before each step.
        known: Steps worked out before, by ``key_of``; those worked out now are added.
        laser_speed: Of the workshop's rates, mm/s.

    Raises:
        RequestError: When a design is not there, or cannot be computed.
    """
    out = []
    known = {} if known is None else known
    for design, colour in dict.fromkeys(kinds):
        if design not in designs:
            raise RequestError(
                f"there is no design {design!r}",
                because="an order is for it",
                mend="Bring the design, or call the order off",
            )
        spec = designs[design]
        key = key_of(spec, workshop, colour, laser_speed)
        if key not in known:
            batch, first = (
                _steps(
                    spec, laser_speed, workshop.bench_for(colour, first_off=new), cache, progress
                )
                for new in (False, True)
            )
            known[key] = KnownSteps(steps=batch, first_off=first)
        batch, first = known[key].steps, known[key].first_off
        own = workshop.of(design).own_steps
        batch, first = with_own_steps(batch, own), with_own_steps(first, own)
        out.append(Recipe(design=design, colour=colour, steps=batch, first_off=first))
    return tuple(out)


def key_of(spec: Specification[Any], workshop: Workshop, colour: str, laser_speed: float) -> str:
    """Return a name for all that the steps of a design in a colour go by: the program, too."""
    bench = workshop.bench_for(colour, first_off=False)
    inputs = inputs_of(spec, "A4", laser_speed=laser_speed, bench=bench)
    return digest((program(), inputs)).hex()


def _steps(
    spec: Specification[Any],
    laser_speed: float,
    bench: BenchChoice,
    cache: Cache,
    progress: Callable[[str], None],
) -> tuple[Step, ...]:
    inputs = inputs_of(spec, "A4", laser_speed=laser_speed, bench=bench)
    found = evaluate(article.NODES, inputs, ("steps",), cache, progress).values["steps"]
    if isinstance(found, Missing):
        raise found.because.at(spec.brief.name)
    steps: tuple[Step, ...] = found
    return steps


def tools_for(
    designs: Mapping[str, Specification[Any]],
    cache: Cache,
    progress: Callable[[str], None] = lambda _: None,
) -> dict[tuple[str, str], MouldTool]:
    """Return the tool of each blank by (design, blank); none where it cannot be computed."""
    out: dict[tuple[str, str], MouldTool] = {}
    for design, spec in designs.items():
        found = evaluate(article.NODES, inputs_of(spec, "A4"), ("mouldings",), cache, progress)
        mouldings = found.values["mouldings"]
        if not isinstance(mouldings, Missing):
            out |= {(design, one.blank.name): one.tool for one in mouldings[0]}
    return out
