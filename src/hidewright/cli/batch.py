"""Commands for a batch: what is done when."""

import json
from pathlib import Path
from typing import Annotated, Any

import typer

from hidewright.cli.root import Json, bytes_of

commands = typer.Typer()


@commands.command()
def plan(
    problem: Annotated[Path, typer.Option(help="JSON file with the problem to plan.")],
    rounds: Annotated[int | None, typer.Option(help="Rounds of search, at most.")] = None,
    seed: Annotated[int, typer.Option(help="Same seed and rounds, same plan.")] = 0,
    seconds: Annotated[float | None, typer.Option(help="Stop after so many seconds.")] = None,
    as_json: Json = False,
) -> None:
    """Plan a batch: when each step is worked on, and the earliest finish there can be."""
    from hidewright.store.plan_problem import LARGEST_BYTES, read_problem
    from hidewright.workshop.plan_problem import plan_problem

    asked = read_problem(bytes_of(problem, LARGEST_BYTES), name=problem.name)
    told = plan_problem(asked, seed=seed, rounds=rounds, seconds=seconds)
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
