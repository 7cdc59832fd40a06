"""Minutes at the bench, step by step: set-up for a load, hands-on for each thing, breaks."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from hidewright.costing.exact import exact
from hidewright.costing.learning import mean_time
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.step import StationKind, Step
from hidewright.errors import RequestError

#: What there is one of for each mould: as many things go through a step that holds it.
OF_A_MOULD: tuple[StationKind, ...] = ("plug", "frame", "hold-down ring")


@dataclass(frozen=True, slots=True, kw_only=True)
class StepTime:
    """What a step takes, and how often.

    Attributes:
        step: Its name.
        work: Its kind of work.
        set_up: Minutes for a load.
        load_serves: Articles that a load serves; None when all go through at once.
        hands_on: Minutes for a thing, as the mean of a batch for which they hold.
        thing_serves: Articles that a thing serves.
    """

    step: str
    work: str
    set_up: Fraction
    load_serves: int | None
    hands_on: Fraction
    thing_serves: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StepMinutes:
    """Minutes that a step takes in a batch, exact.

    Attributes:
        step: Its name.
        work: Its kind of work.
        set_up: For its loads.
        hands_on: For its things.
        breaks: Rest during both.
    """

    step: str
    work: str
    set_up: Fraction
    hands_on: Fraction
    breaks: Fraction

    @property
    def total(self) -> Fraction:
        """All of it."""
        return self.set_up + self.hands_on + self.breaks


def step_times(
    steps: Sequence[Step], rates: WorkshopRates, factor: float = 1.0
) -> tuple[StepTime, ...]:
    """Return what steps take and how often; a step of the first-off is done once a batch.

    Args:
        steps: Of one article.
        rates: How many moulds there are.
        factor: On all minutes.
    """
    return tuple(_step_time(step, rates, exact(factor)) for step in steps)


def minutes_of(
    steps: Sequence[Step], rates: WorkshopRates, batch: int, factor: float = 1.0
) -> tuple[StepMinutes, ...]:
    """Return the minutes of every step for a batch of which so many are begun."""
    faster, breaks = faster_by(rates, batch), exact(rates.breaks)
    out: list[StepMinutes] = []
    for one in step_times(steps, rates, factor):
        set_up = one.set_up * times_done(batch, one.load_serves)
        hands_on = one.hands_on * times_done(batch, one.thing_serves) * faster
        out.append(
            StepMinutes(
                step=one.step,
                work=one.work,
                set_up=set_up,
                hands_on=hands_on,
                breaks=(set_up + hands_on) * breaks,
            )
        )
    return tuple(out)


def times_done(batch: int, serves: int | None) -> Fraction:
    """Return how often something is done for a batch when doing it once serves so many articles.

    Once at least; beyond that in parts, for what is left of a last load or blank goes to other
    work. So an article of a larger batch never bears more of it.

    Args:
        batch: How many articles.
        serves: None when it is done once, whatever the batch.

    >>> times_done(1, 2), times_done(3, 2), times_done(3, None)
    (Fraction(1, 1), Fraction(3, 2), Fraction(1, 1))
    """
    return Fraction(1) if serves is None else max(Fraction(1), Fraction(batch, serves))


def faster_by(rates: WorkshopRates, batch: int) -> Fraction:
    """Return the mean hands-on time in a batch over that in a batch for which the times hold.

    Raises:
        RequestError: For a batch of nothing.
    """
    if batch < 1:
        raise RequestError(f"a batch of {batch}", mend="Give 1 or more", where="batch")
    usual = mean_time(rates.learning, Fraction(1), rates.times_hold_at)
    return mean_time(rates.learning, Fraction(1), batch) / usual


def _step_time(step: Step, rates: WorkshopRates, factor: Fraction) -> StepTime:
    load, thing = factor * exact(step.load_minutes), factor * exact(step.thing_minutes)
    in_a_load = _in_a_load(step, rates)
    return StepTime(
        step=step.name,
        work=step.work,
        set_up=load + thing if step.first_off else load,
        load_serves=in_a_load * step.articles if in_a_load and not step.first_off else None,
        hands_on=Fraction(0) if step.first_off else thing,
        thing_serves=step.articles,
    )


def _in_a_load(step: Step, rates: WorkshopRates) -> int | None:
    """Return how many things go through a step at once; None for all of them."""
    limits = [rates.moulds_of_each for hold in step.holds if hold.station in OF_A_MOULD]
    limits += [step.load_limit] if step.load_limit else []
    return min(limits, default=None)
