"""Articles, orders and workshops that tests of the batch are made of."""

import random
from dataclasses import replace
from datetime import date, datetime, time, timedelta

from hidewright.design.customer_order import CustomerOrder
from hidewright.design.step import Hold, Rest, Step
from hidewright.planning.acceptance import breaches
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.batch_problem import MEASURED, Recipe
from hidewright.planning.calendar import DAY
from hidewright.planning.hands import DaysOff, Hands, Week
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Span
from hidewright.planning.schedule import Budget
from hidewright.planning.workshop import Means, Moulds, Workshop
from hidewright.workshop.batch.week import Batch, laid_out, plan_batch

MONDAY = date(2026, 11, 30)
NOW = datetime.combine(MONDAY, time(8))
#: Around the clock, so that nothing but the moulds can be short.
ALWAYS: Week = (((0, DAY),),) * 7
FEW = Budget(rounds=3)


def step(name: str, kind: str = "piece", **more: object) -> Step:
    fields: dict[str, object] = {
        "work": name,
        "place_kind": kind,
        "place": "front",
        "how": name,
        "source": "made up",
        "interrupt": "breaks",
        **more,
    }
    return Step(name=name, **fields)  # type: ignore[arg-type]


def steps(dry: int = 720, sew: float = 12.0, articles: int = 1) -> tuple[Step, ...]:
    """Return a short route: cut, soak, press, open, dry, unmould, dye, glue, clamp, sew, pack."""
    blank = {"place": "shell", "articles": articles}
    return (
        step("cut blank", "blank", thing_minutes=3, interrupt="any", **blank),
        step(
            "soak",
            "blank",
            after=("cut blank",),
            load_minutes=1,
            thing_minutes=0.5,
            interrupt="never",
            rest=Rest(what="soaking", least_minutes=12, most_minutes=30),
            holds=(Hold(station="tub", until="press"),),
            load_limit=8,
            **blank,
        ),
        step(
            "press",
            "blank",
            after=("soak",),
            load_minutes=1,
            thing_minutes=4,
            interrupt="never",
            rest=Rest(what="pressed closed", least_minutes=60, most_minutes=720),
            holds=(
                Hold(station="plug", of="shell", until="unmould"),
                Hold(station="frame", of="shell", until="open"),
                Hold(station="vise", until="open"),
            ),
            **blank,
        ),
        step(
            "open",
            "blank",
            after=("press",),
            thing_minutes=2,
            interrupt="never",
            rest=Rest(what="drying on the plug", least_minutes=dry),
            holds=(
                Hold(station="hold-down ring", of="shell", until="unmould"),
                Hold(station="drying place", until="unmould"),
            ),
            **blank,
        ),
        step("unmould", "blank", after=("open",), thing_minutes=2, **blank),
        step(
            "dye",
            after=("unmould",),
            load_minutes=5,
            thing_minutes=3,
            rest=Rest(what="dye drying", least_minutes=600),
            holds=(Hold(station="booth", until="dye"),),
            load_limit=6,
        ),
        step(
            "glue",
            "seam",
            after=("dye",),
            load_minutes=1,
            thing_minutes=2,
            interrupt="never",
            rest=Rest(what="open time", most_minutes=8),
        ),
        step(
            "clamp",
            "seam",
            after=("glue",),
            thing_minutes=1.5,
            interrupt="never",
            rest=Rest(what="glue setting", least_minutes=30),
            holds=(Hold(station="clamps", until="unclamp"),),
        ),
        step("unclamp", "seam", after=("clamp",), thing_minutes=0.5),
        step("sew", "seam", after=("unclamp",), load_minutes=1, thing_minutes=sew, interrupt="any"),
        step("pack", "article", after=("sew",), load_minutes=1, thing_minutes=3),
    )


def first_off(route: tuple[Step, ...]) -> tuple[Step, ...]:
    """Return a route with the making of its tool before it and the measuring at its end."""
    tool = step("put together", "tooling", thing_minutes=20, first_off=True)
    *most, pack = route
    out = [replace(most[0], after=("put together",)), *most[1:]]
    measure = step(MEASURED, "article", after=("sew",), thing_minutes=15, first_off=True)
    return (tool, *out, measure, replace(pack, after=(MEASURED,)))


def order(count: int, colour: str = "tan", due: int | None = None, who: str = "A") -> CustomerOrder:
    return CustomerOrder(
        customer=who,
        design="case",
        article="Case",
        quantity=count,
        colour=colour,
        received=MONDAY,
        due=None if due is None else MONDAY + timedelta(days=due),
        status="agreed",
    )


def means(plugs: int = 2, *, rings: int | None = None, proven: bool = True) -> Means:
    moulds = Moulds(blank="shell", plugs=plugs, frames=plugs, rings=rings or plugs)
    return Means(design="case", moulds=(moulds,), proven=proven)


def batch(
    *orders: CustomerOrder, route: tuple[Step, ...] | None = None, shop: Workshop | None = None
) -> Batch:
    route = route or steps()
    rows = {f"order {k}": one for k, one in enumerate(orders)}
    return Batch(
        orders=rows,
        articles={"case": "Case"},
        recipes=tuple(
            Recipe(design="case", colour=colour, steps=route, first_off=first_off(route))
            for colour in dict.fromkeys(one.colour for one in orders)
        ),
        workshop=shop or Workshop(vises=2, means=(means(),)),
        now=NOW,
    )


def planned(one: Batch, budget: Budget = FEW, **more: bool) -> BatchPlan:
    plan = plan_batch(one, budget=budget, **more)
    assert plan is not None
    return plan


def accepted(one: Batch, plan: BatchPlan) -> None:
    """Look a plan over by the checker, from its tasks as the maker sees them."""
    laid, _ = laid_out(one)
    assert laid is not None
    number = {key: i for i, key in enumerate(laid.keys)}
    assert set(number) == {task.key for task in plan.tasks}
    names = [person.name for person in laid.problem.persons]
    spans = tuple(
        Span(
            start=work.start,
            end=work.end,
            operation=number[task.key],
            person=names.index(work.person),
        )
        for task in plan.tasks
        for work in task.times
    )
    assert breaches(laid.problem, Plan(spans=tuple(sorted(spans)))) == ()


def made_up(seed: int) -> Batch:
    """Return random orders, hands, days off and stations."""
    draw = random.Random(seed)
    windows = (
        ((540, 750), (810, 1020)),
        ((480, 720),),
        ((1080, 1320),),
        ((360, 440), (600, 840)),
    )
    hands = []
    for k in range(draw.randint(1, 3)):
        days = [draw.choice(windows) if draw.random() < 0.75 else () for _ in range(7)]
        days[draw.randrange(7)] = windows[0]
        off = MONDAY + timedelta(days=draw.randrange(20))
        hands.append(
            Hands(
                name=f"hands {k}",
                week=tuple(days),  # type: ignore[arg-type]
                days_off=(DaysOff(first=off, last=off + timedelta(days=draw.randrange(3))),),
            )
        )
    orders = tuple(
        order(
            draw.randint(1, 9),
            draw.choice(("tan", "black", "green")),
            draw.choice((None, draw.randint(5, 40))),
            who=f"customer {k}",
        )
        for k in range(draw.randint(1, 4))
    )
    shop = Workshop(
        hands=tuple(hands),
        holidays=(DaysOff(first=MONDAY + timedelta(days=3), last=MONDAY + timedelta(days=3)),),
        vises=draw.randint(1, 3),
        clamps=draw.randint(1, 5),
        means=(means(draw.randint(1, 5), rings=draw.randint(1, 5), proven=draw.random() < 0.6),),
    )
    route = steps(draw.choice((300, 720, 1200)), draw.choice((5.0, 40.0)), draw.choice((1, 1, 2)))
    return batch(*orders, route=route, shop=shop)
