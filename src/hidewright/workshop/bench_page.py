"""From the steps of an article to the page that a phone shows at the bench."""

from collections.abc import Callable
from typing import Any

from hidewright.design.specification import Specification
from hidewright.design.step import Step
from hidewright.drawing.bench_page import BenchStep, steps_page
from hidewright.drawing.build_sheet import SheetStep, Stamp
from hidewright.planning.steps_choice import BenchChoice
from hidewright.units.written import METRIC, Written
from hidewright.workshop import article
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of


def bench_page(
    spec: Specification[Any],
    key: str,
    day: str,
    cache: Cache,
    progress: Callable[[str], None] = lambda _: None,
    *,
    laser_speed: float,
    bench: BenchChoice | None = None,
    written: Written = METRIC,
) -> bytes:
    """Return the page of an article's build steps.

    Args:
        spec: The article.
        key: Under which the phone keeps ticks and timers.
        day: Written at its head; may be empty.
        cache: Kept between calls by the caller.
        progress: Called with words before each step.
        laser_speed: Of the workshop's rates, mm/s.
        bench: How it is made at the bench; the usual way without it.
        written: How it writes measures.

    Raises:
        RequestError: When part of the article cannot be computed.
    """
    inputs = inputs_of(spec, "A4", written=written, laser_speed=laser_speed, bench=bench)
    wanted = ("steps", "build steps")
    values = evaluate(article.NODES, inputs, wanted, cache, progress).values
    for value in values.values():
        if isinstance(value, Missing):
            raise value.because
    steps: tuple[Step, ...] = values["steps"]
    shown: tuple[SheetStep, ...] = values["build steps"]
    stamp = Stamp(title=spec.brief.name, revision=str(inputs["revision"]), day=day)
    return steps_page(
        stamp,
        key,
        [
            BenchStep(
                shown=sheet,
                wait=step.rest.what if step.rest else "",
                wait_minutes=step.rest.least_minutes if step.rest else 0,
            )
            for step, sheet in zip(steps, shown, strict=True)
        ],
    )
