"""Commands that lay pieces on leather and sheets."""

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from hidewright.cli.root import (
    Json,
    Paper,
    Replace,
    Units,
    WithFiles,
    Working,
    bytes_of,
    on_paper,
    read,
    write_bytes,
)
from hidewright.errors import RequestError

if TYPE_CHECKING:
    from hidewright.design.cut_layout import CutLayout
    from hidewright.design.specification import Specification
    from hidewright.design.stock_hide import StockHide

commands = typer.Typer()
#: Rounds of search when neither rounds nor seconds are given.
USUAL_ROUNDS = 2000


@commands.command(cls=WithFiles)
def cut(
    designs: Annotated[
        list[str] | None,
        typer.Argument(help="Design files, 'case.yaml x 2' for two of it in a set."),
    ] = None,
    hide: Annotated[
        list[str] | None,
        typer.Option(
            metavar="<str>",
            help="'shoulder:0.8 m2', or a file: JSON, SVG, DXF; may be repeated.",
        ),
    ] = None,
    sets: Annotated[str, typer.Option(help="How many sets, or most.")] = "most",
    tooling: Annotated[
        bool, typer.Option("--tooling", help="Lay the tools of the designs on boards instead.")
    ] = False,
    out: Annotated[
        Path | None, typer.Option(help="Folder to make, or a .zip, with drawings and lists.")
    ] = None,
    keep: Annotated[
        Path | None, typer.Option(help="File to keep the layouts in, for 'pack --layout'.")
    ] = None,
    problem: Annotated[Path | None, typer.Option(help="Nesting problem, a JSON file.")] = None,
    goal: Annotated[str | None, typer.Option(help="sets or length, where both can be.")] = None,
    rounds: Annotated[int | None, typer.Option(help="How long to search; 2000 by default.")] = None,
    seconds: Annotated[
        float | None, typer.Option(help="Stop after so long, and tell the rounds.")
    ] = None,
    seed: Annotated[int, typer.Option(help="The same seed and rounds give the same layout.")] = 1,
    paper: Paper = "A4",
    units: Units = "mm",
    replace: Replace = False,
    as_json: Json = False,
) -> None:
    """Lay pieces on hides, sheets or strips, and say how good that is."""
    if rounds is None and seconds is None:
        rounds = USUAL_ROUNDS
    if problem is not None:
        if designs or hide or out or keep:
            raise RequestError(
                "a problem file and designs", mend="Give --problem, or designs and --hide"
            )
        _problem(problem, goal, rounds, seconds, seed, as_json=as_json)
        return
    if not designs:
        raise RequestError("nothing to cut", mend="Give design files, or --problem FILE")
    from hidewright.workshop.cutting.run import as_figures, cut_designs, cut_tooling

    asked = [_counted(text) for text in designs]
    wanted = sets_in(sets)
    hides = hides_of(hide or ())
    if not hides and not tooling:
        raise RequestError("nothing to cut from", mend="Give --hide 'shoulder:0.8 m2' or a file")

    def say(note: str) -> None:
        typer.echo(note, err=True)

    with Working() as progress:
        if tooling:
            layouts = cut_tooling(
                asked, rounds=rounds, seconds=seconds, seed=seed, say=say, progress=progress
            )
        else:
            layouts = cut_designs(
                asked,
                hides,
                sets=wanted,
                rounds=rounds,
                seconds=seconds,
                seed=seed,
                say=say,
                progress=progress,
            )
        if out is not None:
            _write(layouts, out, paper, units, progress, replace=replace)
    if keep is not None:
        from hidewright.store.layout_file import write_layouts

        write_bytes(keep, write_layouts(layouts))
    if as_json:
        typer.echo(json.dumps([as_figures(one) for one in layouts], ensure_ascii=False))
        return
    for layout in layouts:
        _print(layout)


def layouts_for(
    spec: "Specification[Any]",
    hides: Sequence[str],
    sets: str,
    rounds: int,
    kept: Path | None,
) -> "tuple[CutLayout, ...]":
    """Return how a design is cut for its pack: from hides, or as kept before, or not told.

    Raises:
        RequestError: When both are given, the file holds nothing of it, or no layout was found.
    """
    if kept is not None:
        from hidewright.design.cut_layout import layouts_with
        from hidewright.store.layout_file import LARGEST_BYTES, read_layouts

        if hides:
            raise RequestError("a hide and a kept layout", mend="Give --hide, or --layout")
        layouts = read_layouts(bytes_of(kept, LARGEST_BYTES), name=kept.name)
        if not layouts_with(spec.brief.name, layouts):
            raise RequestError(
                f"nothing of {spec.brief.name} lies there",
                mend="Give a layout that was cut with it",
                where=kept.name,
            )
        return layouts
    if not hides:
        return ()
    from hidewright.workshop.cutting.run import cut_designs

    def say(note: str) -> None:
        typer.echo(note, err=True)

    with Working() as progress:
        return cut_designs(
            [(spec, 1)],
            hides_of(hides),
            sets=sets_in(sets),
            rounds=rounds,
            seconds=None,
            seed=1,
            say=say,
            progress=progress,
        )


def _counted(text: str) -> "tuple[Specification[Any], int]":
    """Return the design and how many of it for ``case.yaml x 2``."""
    name, times, count = text.rpartition(" x ")
    if times and count.strip().isdecimal() and int(count) > 0:
        return read(Path(name.strip())).specification, int(count)
    return read(Path(text)).specification, 1


def sets_in(text: str) -> int | None:
    """Return the number of sets; None for most."""
    if text == "most":
        return None
    if not text.isdecimal() or int(text) < 1:
        raise RequestError(f"{text} sets are asked for", mend="Ask for one or more, or for most")
    return int(text)


def hides_of(told: Sequence[str]) -> "list[StockHide]":
    """Return the hides that are told: by sort and area, or in files."""
    return [one for words in told for one in _hides(words)]


def _hides(words: str) -> "tuple[StockHide, ...]":
    from hidewright.store.json_fields import LARGEST_BYTES
    from hidewright.units.area import format_area
    from hidewright.workshop.cutting.run import hides_in, preset_hide

    file = Path(words)
    if file.suffix.lower() in (".json", ".svg", ".dxf"):
        return hides_in(bytes_of(file, LARGEST_BYTES), file.name)
    stock = preset_hide(words)
    sort, _, area = words.partition(":")
    if not area.strip():
        usual = format_area(stock.area_m2)
        typer.echo(f"No area is told of the {sort}: a usual one of {usual} is taken.", err=True)
    return (stock,)


def _write(
    layouts: "tuple[CutLayout, ...]",
    out: Path,
    paper: str,
    units: str,
    progress: Callable[[str], None],
    *,
    replace: bool,
) -> None:
    from hidewright.store.write_pack import refuse_target, write_pack
    from hidewright.workshop.cutting.files import layout_files
    from hidewright.workshop.papers_chain import file_stem

    size, written = on_paper(paper, units)
    refuse_target(out, replace=replace)
    files: dict[str, bytes] = {}
    for layout in layouts:
        progress(f"files for {layout.material}")
        made = layout_files(layout, size, written)
        folder = f"{file_stem(layout.material)}/" if len(layouts) > 1 else ""
        files |= {f"{folder}{name}": data for name, data in made.items()}
    write_pack(files, out, replace=replace)


def _print(layout: "CutLayout") -> None:
    typer.echo(f"{layout.title}, {layout.material}")
    unit = " m2" if layout.question in ("least leather", "one more set") else ""
    typer.echo(f"{layout.question}: {layout.figure:.4g}{unit}, at best {layout.bound:.4g}{unit}")
    count = len(layout.placements)
    typer.echo(
        f"{count} piece{'' if count == 1 else 's'}, {layout.pieces_m2:.3f} m2 of "
        f"{layout.taken_m2:.3f} m2 taken: "
        f"{layout.yield_share:.1%} yield, {1.0 - layout.yield_share:.1%} waste"
    )
    typer.echo(f"{layout.rounds} rounds with seed {layout.seed}, {layout.seconds:.1f} s")


def _problem(
    problem: Path,
    goal: str | None,
    rounds: int | None,
    seconds: float | None,
    seed: int,
    *,
    as_json: bool,
) -> None:
    from hidewright.store.json_fields import LARGEST_BYTES
    from hidewright.workshop.cutting.problem import cut_problem

    with Working() as progress:
        report = cut_problem(
            bytes_of(problem, LARGEST_BYTES),
            name=problem.name,
            goal=goal,
            rounds=rounds,
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
