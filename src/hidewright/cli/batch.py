"""Commands for a batch: what is done when."""

import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from hidewright.cli.root import (
    Json,
    Own,
    Working,
    bytes_of,
    learned_in,
    rates_of,
    workshop_in,
    write_bytes,
)
from hidewright.errors import RequestError

if TYPE_CHECKING:
    from hidewright.planning.batch_plan import BatchPlan

commands = typer.Typer()


@commands.command()
def plan(
    orders: Annotated[Path | None, typer.Argument(help="Orders file with what is wanted.")] = None,
    problem: Annotated[
        Path | None, typer.Option(help="JSON file with a problem to plan, instead of orders.")
    ] = None,
    rounds: Annotated[int | None, typer.Option(help="Rounds of search, at most.")] = None,
    seed: Annotated[int, typer.Option(help="Same seed and rounds, same plan.")] = 0,
    seconds: Annotated[float | None, typer.Option(help="Stop after so many seconds.")] = None,
    ics: Annotated[Path | None, typer.Option(help="Write the plan as a calendar.")] = None,
    csv: Annotated[Path | None, typer.Option(help="Write the plan as a table.")] = None,
    pdf: Annotated[Path | None, typer.Option(help="Write the days as PDF.")] = None,
    paper: Annotated[str, typer.Option(help="Of the PDF: A4 or Letter.")] = "A4",
    book: Own = None,
    as_json: Json = False,
) -> None:
    """Plan a batch: what is done on which day, and when each order is ready."""
    if (orders is None) == (problem is None):
        raise RequestError(
            "two things to plan" if orders else "nothing to plan",
            because="a plan is made from an orders file or from a problem",
            mend="Give 'hidewright plan ORDERS.yaml' or 'hidewright plan --problem FILE.json'",
        )
    if problem is not None:
        if ics or csv or pdf:
            raise RequestError(
                "a problem has no days to write",
                because="it counts in minutes and knows no dates",
                mend="Plan an orders file",
            )
        if book:
            raise RequestError(
                "a problem reckoned with a book",
                because="its minutes are its own",
                mend="Plan an orders file",
            )
        _plan_problem(problem, seed, rounds, seconds, as_json)
        return
    assert orders is not None
    from hidewright.workshop.batch.words import in_words, plain_plan

    made = _plan_orders(orders, seed, rounds, seconds, book)
    _write(made, ics, csv, pdf, paper)
    if as_json:
        typer.echo(json.dumps(plain_plan(made), ensure_ascii=False, allow_nan=False))
    else:
        for line in in_words(made):
            typer.echo(line)


def _plan_orders(
    orders: Path, seed: int, rounds: int | None, seconds: float | None, book: Path | None
) -> "BatchPlan":
    from hidewright.planning.step_times import told_first
    from hidewright.planning.warm import compile_kernels
    from hidewright.store.orders_file import LARGEST_BYTES, read_orders
    from hidewright.workshop.batch.budget import budget_for
    from hidewright.workshop.batch.likely import with_likely
    from hidewright.workshop.batch.recipes import recipes_for
    from hidewright.workshop.batch.week import (
        USUAL_ROUNDS,
        Batch,
        kinds_of,
        monday_for,
        plan_batch,
    )
    from hidewright.workshop.batch.words import telling
    from hidewright.workshop.compiling import told_if_slow
    from hidewright.workshop.graph import Cache
    from hidewright.workshop.learned import own_bench, with_learned

    budget = budget_for(seed=seed, rounds=rounds, seconds=seconds, usual_rounds=USUAL_ROUNDS)
    now = datetime.now().replace(second=0, microsecond=0)  # noqa: TID251, DTZ005 - the wall's clock
    asked = read_orders(
        bytes_of(orders, LARGEST_BYTES),
        name=orders.name,
        design_bytes=lambda path: bytes_of(orders.parent / path),
        now=now,
    )
    with Working() as progress:
        shelf = learned_in(book, progress)
        typed = told_first(asked.workshop.bench.times, workshop_in(book).bench.times)
        designs = {name: with_learned(one, shelf).spec for name, one in asked.designs.items()}
        bench = own_bench(shelf, replace(asked.workshop.bench, times=typed))
        workshop = replace(asked.workshop, bench=bench)
        recipes = recipes_for(
            designs,
            kinds_of(asked.orders.values(), None),
            workshop,
            Cache(),
            progress,
            laser_speed=rates_of(None, book).rates.laser_speed,
        )
        with told_if_slow(progress):
            compile_kernels()
        progress("the plan")
        batch = Batch(
            orders=asked.orders,
            articles=asked.articles,
            recipes=recipes,
            workshop=workshop,
            now=asked.start or now,
        )
        told = telling(progress, monday_for(batch))
        made = plan_batch(batch, seed=seed, budget=budget(told))
        if made is None:
            raise RequestError("nothing is to be made", mend="Give an order that is not made yet")
        progress("how long it is likely to take")
        leathers = [leather for one in designs.values() for _, leather in one.brief.leathers]
        return with_likely(made, batch, leathers, shelf, seed=seed)


def _write(
    made: "BatchPlan", ics: Path | None, csv: Path | None, pdf: Path | None, paper: str
) -> None:
    if ics is not None:
        from hidewright.drawing.plan_calendar import plan_calendar

        write_bytes(ics, plan_calendar(made))
    if csv is not None:
        from hidewright.drawing.plan_table import plan_table

        write_bytes(csv, plan_table(made))
    if pdf is not None:
        from hidewright.drawing.day_list import day_list

        write_bytes(pdf, day_list(made, paper))  # type: ignore[arg-type]  # refused if unknown


def _plan_problem(
    problem: Path, seed: int, rounds: int | None, seconds: float | None, as_json: bool
) -> None:
    from hidewright.planning.warm import compile_kernels
    from hidewright.store.plan_problem import LARGEST_BYTES, read_problem
    from hidewright.workshop.batch.problem import plan_problem
    from hidewright.workshop.batch.words import telling
    from hidewright.workshop.compiling import told_if_slow

    asked = read_problem(bytes_of(problem, LARGEST_BYTES), name=problem.name)
    with Working() as progress:
        with told_if_slow(progress):
            compile_kernels(by_hand=asked.problem.by_hand)
        told = plan_problem(
            asked, seed=seed, rounds=rounds, seconds=seconds, told=telling(progress)
        )
    if as_json:
        typer.echo(json.dumps(told, ensure_ascii=False, allow_nan=False))
    else:
        _print_plan(told)


def _print_plan(told: dict[str, Any]) -> None:
    typer.echo(f"{told['name']}: {told['status']}, {told['rounds']} rounds, seed {told['seed']}")
    if told["value"] is not None:
        typer.echo(f"finished at minute {told['value']}, not before {told['bound']} in any plan")
    for number, spans in told["starts"]:
        typer.echo(f"{number:6}  " + ", ".join(f"{start}-{end}" for start, end in spans))
