"""How many small batches are proven best in 10 s of computing, and which are not.

Run: python benchmarks/planning_small.py [--recipes | --own-hours] [FIRST_SEED [COUNT]]

Each seed is a made-up batch of one to eight articles in as many loads at most: one to three persons
who keep the same hours, few moulds, vises and clamps, one to three models and colours, all orders
with a date or none, steps and waits longer and shorter than usual by some tens of per cent. With
--recipes they are articles of the example designs, with the steps that the designs bring: dyed
before or after moulding, assembled or not at all, their tools new or proven; with --own-hours the
same for two or three persons who each keep hours, and have a day off, of their own. Seconds are
those of this process. The gap of what is not proven is taken on the axis of working minutes,
against a bound no plan beats; late minutes are those of the plan, by weight.
"""

import json
import random
import sys
import time
from datetime import date, timedelta
from functools import partial
from typing import Any

from planning_workshops import batch, batch_of

from hidewright.planning.bench import Bench
from hidewright.planning.bounds import Bounds
from hidewright.planning.calendar import DAY
from hidewright.planning.plan import lateness
from hidewright.planning.problem import Problem
from hidewright.planning.schedule import Budget, schedule
from hidewright.planning.warm import compile_kernels
from hidewright.store.plan_problem import read_problem
from hidewright.workshop.batch.week import laid_out

LIMIT_S = 10.0
MOST_ARTICLES = 8
#: Working windows of a day: one, two, an evening, an evening behind a morning.
HOURS = (
    ((540, 900),),
    ((480, 720),),
    ((540, 750), (810, 1020)),
    ((510, 720), (780, 960)),
    ((1080, 1290),),
    ((600, 720), (1140, 1260)),
)
WEEKS = ((0, 2, 4), (1, 3, 5), (0, 1, 2, 3), (0, 1, 2, 3, 4), (0, 1, 2, 3, 4, 5))
MODELS, COLOURS = "SML", ("black", "brown", "green")
#: Share of the usual minutes that a step, and a wait that may be longer, has at least and at most.
VARIED = (0.7, 1.3)
HOURS_IN_WORDS = (
    "9:00-12:30, 13:30-17:00",
    "8:00-12:00",
    "18:00-21:30",
    "9:00-15:00",
    "8:30-12:00, 13:00-16:00",
)
EXAMPLES = (
    "compass-pouch",
    "forceps-pocket",
    "label-box",
    "lens-case",
    "specimen-tray",
    "trowel-cover",
    "tube-sleeve",
)
#: Dates: share of the days that the work takes if hands never wait, and days that are added.
TIGHT, LOOSE = (0.4, 1.0), (1.2, 2.5)
DAYS_TO_DRY = 2
#: How often a person who keeps hours of their own has a day off.
DAY_OFF = 0.2


def main() -> None:
    numbers = [int(word) for word in sys.argv[1:] if not word.startswith("--")]
    first, count = (*numbers, *(0, 200)[len(numbers) :])
    draw_batch = drawn
    if "--recipes" in sys.argv or "--own-hours" in sys.argv:
        draw_batch = partial(recipes_drawn, own_hours="--own-hours" in sys.argv)
    compile_kernels()
    print("  seed  articles  loads  persons  steps  dated     s   rounds   not proven: gap %, late")
    seconds, left = [], []
    for seed in range(first, first + count):
        problem, told = draw_batch(seed)
        begun = time.process_time()
        answer = schedule(
            problem,
            seed=0,
            budget=Budget(seconds_left=lambda: LIMIT_S - (time.process_time() - begun)),  # noqa: B023 - called at once
        )
        seconds.append(time.process_time() - begun)
        row = f"{told}{seconds[-1]:7.2f}{answer.rounds:9}"
        if answer.status != "optimal":
            left.append(seed)
            assert answer.plan is not None
            worked = Bounds(problem, Bench(problem)).axis.worked
            gap = 100.0 * (worked(answer.plan.finish) / max(1, worked(answer.bound)) - 1.0)
            row += f"   {gap:.2f}, {lateness(problem, answer.plan)}"
        print(row, flush=True)
    in_order = sorted(seconds)
    print(
        f"{count - len(left)} of {count} proven; s: median {in_order[count // 2]:.2f},"
        f" nine of ten {in_order[count * 9 // 10]:.2f}, worst {in_order[-1]:.2f}"
    )
    print("not proven:", *left)


def drawn(seed: int) -> tuple[Problem, str]:
    """Return the batch of a seed, and the first columns of its row."""
    draw = random.Random(seed)
    persons = draw.randint(1, 3)
    capacity = {
        "vise": draw.randint(1, 2),
        "clamp": draw.randint(1, 4),
        "tub": 8,
        "mould": draw.randint(1, 4),
    }
    dated = draw.random() < 0.5
    orders = draw.randint(1, 3) if dated else 1
    loads = _loads(draw, capacity["clamp"], orders)
    told = batch(
        loads,
        persons,
        name=f"seed {seed}",
        capacity=capacity,
        hours=draw.choice(HOURS),
        weekdays=draw.choice(WEEKS),
    )
    _vary(draw, told)
    if dated:
        _date(draw, told)
    problem = read_problem(json.dumps(told).encode(), name="made up").problem
    articles = sum(one["pieces"] for one in loads)
    return problem, _head(seed, articles, problem, dated=dated)


def recipes_drawn(seed: int, *, own_hours: bool) -> tuple[Problem, str]:
    """Return the batch of a seed made of the example designs, and the first columns of its row."""
    draw = random.Random(seed)
    persons, hours = draw.choice((1, 1, 1, 2, 2, 3)), draw.choice(HOURS_IN_WORDS)
    hands: list[dict[str, Any]] = [{"hours": hours} for _ in range(persons)]
    if own_hours:
        hands = _of_their_own(random.Random(seed), persons)
    left, dated = draw.randint(1, MOST_ARTICLES), draw.random() < 0.5
    articles = left
    names = draw.sample(EXAMPLES, draw.randint(1, min(3, left)))
    designs = {
        name: {"file": f"{name}.yaml", "first_off": draw.choice(("done", "done", "needed"))}
        for name in names
    }
    orders: list[dict[str, Any]] = []
    while left:
        quantity = min(left, draw.randint(1, 4))
        left -= quantity
        orders.append(
            {
                "customer": f"customer {len(orders)}",
                "design": draw.choice(names),
                "quantity": quantity,
                "colour": draw.choice(("tan", "black", "green")),
            }
        )
        if dated:
            orders[-1]["due"] = str(date(2026, 11, 30) + timedelta(days=draw.randint(5, 25)))
    workshop = {
        "hands": [{"name": f"person {k}", **one} for k, one in enumerate(hands)],
        "vises": draw.randint(1, 2),
        "clamps": draw.randint(1, 4),
        "drying_places": draw.randint(2, 8),
        "wet_limit": "12 h",
        "flush": f"{draw.choice((10, 20, 30))} min",
        "bench": {
            "dye": draw.choice(("none", "before moulding", "pieces", "assembled")),
            "air_C": 20,
            "humidity": 0.5,
            "tub_holds": 8,
            "booth_holds": draw.randint(2, 6),
        },
    }
    told = {"format": 1, "start": "2026-11-30 08:00", "workshop": workshop}
    laid, _ = laid_out(batch_of({**told, "designs": designs, "orders": orders}))
    assert laid is not None
    return laid.problem, _head(seed, articles, laid.problem, dated=dated)


def _head(seed: int, articles: int, problem: Problem, *, dated: bool) -> str:
    """Return the first columns of a row."""
    loads = len({one.load for one in problem.operations})
    persons, steps = len(problem.persons), len(problem.operations)
    return f"{seed:6}{articles:10}{loads:7}{persons:9}{steps:7}{'yes' if dated else 'no':>7}"


def _of_their_own(draw: random.Random, persons: int) -> list[dict[str, Any]]:
    """Return hours of so many persons, two at least, who do not all keep the same."""
    first, second, third = draw.sample(HOURS_IN_WORDS, 3)
    hands: list[dict[str, Any]] = [
        {"hours": hours} for hours in (first, second, draw.choice((first, second, third)))
    ]
    for one in hands:
        if draw.random() < DAY_OFF:
            one["days_off"] = [f"{date(2026, 12, draw.randint(1, 12))}, away"]
    return hands[: max(2, persons)]


def _loads(draw: random.Random, clamps: int, orders: int) -> list[dict[str, Any]]:
    """Return loads of as many pieces as there are clamps at most."""
    models = draw.sample(MODELS, draw.randint(1, 3))
    colours = draw.sample(COLOURS, draw.randint(1, 3))
    left, most = draw.randint(1, MOST_ARTICLES), draw.randint(1, clamps)
    loads = []
    while left:
        pieces = min(left, draw.randint(1, most))
        left -= pieces
        loads.append(
            {
                "pieces": pieces,
                "model": draw.choice(models),
                "colour": draw.choice(colours),
                "order": draw.randrange(orders),
            }
        )
    return loads


def _vary(draw: random.Random, told: dict[str, Any]) -> None:
    """Make each step, and each wait without a limit, longer or shorter in all loads alike."""
    minutes: dict[str, float] = {}
    waits: dict[str, float] = {}
    for row in told["ops"]:
        share = minutes.setdefault(row[2], draw.uniform(*VARIED))
        row[3] = max(1, round(share * row[3]))
    for row in told["waits"]:
        share = waits.setdefault(told["ops"][row[0]][2], draw.uniform(*VARIED))
        if row[3] is None:
            row[2] = round(share * row[2])


def _date(draw: random.Random, told: dict[str, Any]) -> None:
    """Give each order a date, at the end of a day."""
    a_day = told["persons"] * sum(end - begin for begin, end in told["hours"])
    days = sum(row[3] for row in told["ops"]) / a_day * 7 / len(told["weekdays"])
    pace = draw.choice((TIGHT, LOOSE))
    told["orders"] = [
        {
            "due": DAY * (DAYS_TO_DRY + round(draw.uniform(*pace) * days)) + told["hours"][-1][1],
            "weight": draw.randint(1, 3),
        }
        for _ in range(1 + max(one["order"] for one in told["lots"]))
    ]


if __name__ == "__main__":
    main()
