"""Commands that lay pieces on leather and sheets."""

import json
from pathlib import Path
from typing import Annotated

import typer

from hidewright.cli.root import Json, Working, bytes_of

commands = typer.Typer()


@commands.command()
def cut(
    problem: Annotated[Path, typer.Option(help="Nesting problem, a JSON file.")],
    goal: Annotated[str | None, typer.Option(help="sets or length, where both can be.")] = None,
    rounds: Annotated[int | None, typer.Option(help="How long to search; 2000 by default.")] = None,
    seconds: Annotated[
        float | None, typer.Option(help="Stop after so long, and tell the rounds.")
    ] = None,
    seed: Annotated[int, typer.Option(help="The same seed and rounds give the same layout.")] = 1,
    as_json: Json = False,
) -> None:
    """Lay pieces on hides, sheets or strips, and say how good that is."""
    from hidewright.store.nest_problem import LARGEST_BYTES
    from hidewright.workshop.cut_problem import cut_problem

    with Working() as progress:
        report = cut_problem(
            bytes_of(problem, LARGEST_BYTES),
            name=problem.name,
            goal=goal,
            rounds=2000 if rounds is None and seconds is None else rounds,
            seconds=seconds,
            seed=seed,
            say=lambda note: typer.echo(note, err=True),
            progress=progress,
        )
    if as_json:
        from dataclasses import asdict

        typer.echo(json.dumps(asdict(report), allow_nan=False, ensure_ascii=False))
        return
    typer.echo(f"{report.goal}: {report.figure:.10g}, at best {report.bound:.10g}")
    typer.echo(f"{len(report.placements)} pieces, {100 * report.used:.1f} % of what is cut into")
    typer.echo(f"{report.rounds} rounds with seed {report.seed}, {report.seconds:.1f} s")
