"""What the process that plans answers: a first plan at once, then a better one."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from hidewright.app.asked import Progress
from hidewright.app.asked_batch import (
    BatchAsked,
    Blanks,
    PlanAsked,
    Planned,
    PromiseAsked,
    ReliefsAsked,
    Shown,
    StepsAsked,
)
from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.prices import built_in_prices
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.known_steps import KnownSteps
from hidewright.planning.schedule import Budget
from hidewright.planning.warm import compile_kernels
from hidewright.workshop.batch.budget import USUAL_PROOF_ROUNDS
from hidewright.workshop.batch.likely import slowly_promised, with_likely
from hidewright.workshop.batch.promise import Promised, promised
from hidewright.workshop.batch.recipes import key_of, recipes_for, tools_for
from hidewright.workshop.batch.relief import Relief, moulded, reliefs
from hidewright.workshop.batch.week import (
    REPLAN_ROUNDS,
    USUAL_ROUNDS,
    Batch,
    kinds_of,
    monday_for,
    plan_batch,
)
from hidewright.workshop.batch.words import telling
from hidewright.workshop.compiling import WORDS
from hidewright.workshop.graph import Cache

Answered = Planned | Promised | tuple[Relief, ...] | Blanks


@dataclass(slots=True)
class Planner:
    """Keeps the steps of the designs, whose leather takes seconds to press.

    Attributes:
        ready: The kernels are compiled, or fetched.
    """

    cache: Cache = field(default_factory=Cache)
    known: dict[str, KnownSteps] = field(default_factory=dict)
    ready: bool = False

    def answer(self, asked: BatchAsked, progress: Progress) -> Iterator[Answered]:
        """Yield what is asked for."""
        if not self.ready and not isinstance(asked, StepsAsked):
            progress(WORDS)
            compile_kernels()
            self.ready = True
        match asked:
            case PlanAsked():
                yield from self._plans(asked, progress)
            case PromiseAsked():
                shown = asked.shown
                orders = {**shown.orders, "asked about": replace(asked.order, status="agreed")}
                batch = self._batch(replace(shown, orders=orders), progress)
                progress("the earliest day")
                asked_for = replace(batch, orders=shown.orders)
                promise = promised(asked_for, asked.order)
                progress("the day if it goes slowly")
                yield slowly_promised(
                    promise, asked_for, asked.order, _leathers(shown), shown.learned
                )
            case ReliefsAsked():
                batch = self._batch(asked.shown, progress)
                tools = tools_for(asked.shown.designs, self.cache, progress)
                yield reliefs(batch, asked.plan, tools, built_in_prices(), progress=progress)
            case StepsAsked():
                batch = self._batch(_as_built(asked.shown), progress)
                of: dict[str, list[str]] = {}
                for design, blank in moulded(batch):
                    of.setdefault(design, []).append(blank)
                told = asked.shown.known
                yield Blanks(
                    of=tuple((design, tuple(some)) for design, some in of.items()),
                    steps=tuple(self._steps(asked.shown, batch)),
                    worked_out={k: one for k, one in self.known.items() if k not in told},
                )

    def _plans(self, asked: PlanAsked, progress: Progress) -> Iterator[Planned]:
        batch = self._batch(asked.shown, progress)
        if asked.how == "near":
            budget = Budget(rounds=REPLAN_ROUNDS)
            near = plan_batch(batch, budget=budget, anew=False)
            yield Planned(plan=near, last=False)
            yield self._likely(near, batch, asked.shown, progress)
            return
        progress("a first plan")
        yield Planned(plan=plan_batch(batch, budget=Budget(rounds=1)), last=False)
        budget = Budget(
            rounds=USUAL_ROUNDS,
            proof_rounds=USUAL_PROOF_ROUNDS,
            told=telling(progress, monday_for(batch)),
        )
        found = plan_batch(batch, budget=budget)
        yield Planned(plan=found, last=False)
        yield self._likely(found, batch, asked.shown, progress)

    def _likely(
        self, plan: BatchPlan | None, batch: Batch, shown: Shown, progress: Progress
    ) -> Planned:
        if plan is None:
            return Planned(plan=None, last=True)
        progress("how long it is likely to take")
        told = with_likely(plan, batch, _leathers(shown), shown.learned)
        return Planned(plan=told, last=True)

    def _steps(self, shown: Shown, batch: Batch) -> Iterator[tuple[str, KnownSteps]]:
        """Yield (design, its steps in one colour) before the maker's own changes."""
        for design, colour in {one.design: one.colour for one in batch.recipes}.items():
            key = key_of(shown.designs[design], shown.workshop, colour, shown.laser_speed)
            yield design, self.known[key]

    def _batch(self, shown: Shown, progress: Progress) -> Batch:
        orders = shown.orders
        self.known.update(shown.known)
        recipes = recipes_for(
            shown.designs,
            kinds_of(orders.values(), shown.before),
            shown.workshop,
            self.cache,
            progress,
            self.known,
            laser_speed=shown.laser_speed,
        )
        return Batch(
            orders=orders,
            articles={id: spec.brief.name for id, spec in shown.designs.items()},
            recipes=recipes,
            workshop=shown.workshop,
            now=shown.now,
            before=shown.before,
        )


def _leathers(shown: Shown) -> tuple[Leather, ...]:
    return tuple(one for spec in shown.designs.values() for _, one in spec.brief.leathers)


def _as_built(shown: Shown) -> Shown:
    """Return the same without the maker's changes to steps: one of them may not fit any more."""
    shop = shown.workshop
    means = tuple(replace(one, own_steps=()) for one in shop.means)
    return replace(shown, workshop=replace(shop, means=means))


def batch() -> Callable[[BatchAsked, Progress], Iterator[Answered]]:
    """Return what answers."""
    return Planner().answer
