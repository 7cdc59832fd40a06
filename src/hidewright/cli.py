"""Words in, files out: the command line.

Exit codes: 0 fine, 1 a remark forbids it, 2 a request that cannot be met, 3 our own mistake.
"""

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, get_args

import typer

from hidewright.errors import Remark, RequestError

if TYPE_CHECKING:
    from collections.abc import Callable

    from hidewright.catalogue.shelf import Catalogue
    from hidewright.design.specification import Specification
    from hidewright.forming.case import CaseAnswer
    from hidewright.store.design_file import DesignFile
    from hidewright.workshop.depth_chart import DepthChart
    from hidewright.workshop.pressing_report import BlankReport

FORBIDDEN, BAD_REQUEST, OUR_MISTAKE = 1, 2, 3

app = typer.Typer(
    name="hidewright",
    help="From the thing to be carried to moulds, templates, stitch lines and cut files.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # plain help needs a third of the time to come up
)

Rows = Annotated[
    Path | None, typer.Option("--rows", help="File with your own rows for the catalogue.")
]
Json = Annotated[bool, typer.Option("--json", help="Print for machines, as JSON.")]
Paper = Annotated[str, typer.Option(help="Paper for the patterns: A4 or Letter.")]
Replace = Annotated[bool, typer.Option("--replace", help="Replace a pack that is there already.")]


@app.command()
def begin(
    kind: Annotated[str, typer.Argument(help="Kind of article; 'hidewright kinds' lists them.")],
    out: Annotated[
        Path | None, typer.Option(help="File to write; without it the text is printed.")
    ] = None,
    name: Annotated[str, typer.Option(help="Your name for the article.")] = "",
    carry: Annotated[
        list[str] | None,
        typer.Option(help="A thing it carries, such as 'bank card (ID-1) x 4'; may be repeated."),
    ] = None,
    unit: Annotated[str, typer.Option(help="Unit of lengths in the file: mm or in.")] = "mm",
    outlines: Annotated[
        Path | None, typer.Option(help="SVG or DXF with your own pieces, for the kind free.")
    ] = None,
    outline_unit: Annotated[
        str | None, typer.Option(help="Unit of that drawing, over what it says: mm or in.")
    ] = None,
    rows: Rows = None,
) -> None:
    """Write a commented design file to start from, sized for what is carried."""
    from hidewright.store.write_design import write_design
    from hidewright.workshop.begin import begin as begun

    if unit not in ("mm", "in"):
        raise RequestError(f"the unit {unit!r}", mend="Choose mm or in")
    things = tuple(_counted(text) for text in carry or ())
    if outlines is None:
        spec = begun(kind, _catalogue(rows), name=name, things=things)
    else:
        spec = _begun_from(outlines, outline_unit, kind, _catalogue(rows), name, things)
    text = write_design(spec, unit="in" if unit == "in" else "mm")
    if out is None:
        sys.stdout.write(text)
        return
    if out.exists():
        raise RequestError(
            f"{out} is already there",
            because="a design file is never written over",
            mend="Choose another name with --out",
        )
    _write_text(out, text)
    typer.echo(f"Wrote {out}. Change its measures, then: hidewright check {out}")


@app.command()
def kinds() -> None:
    """List the kinds of article."""
    from hidewright.design.kinds.registry import KINDS

    for kind in KINDS:
        typer.echo(f"{kind.name:32}{kind.title}")


@app.command()
def catalogue(
    section: Annotated[
        str,
        typer.Argument(help="things, leathers, boards, threads, needles, awls, magnets, fittings."),
    ] = "things",
    part_of_name: Annotated[str, typer.Argument(help="Show only names that hold this.")] = "",
    rows: Rows = None,
) -> None:
    """List what can be carried or chosen, with the source of each row."""
    from hidewright.catalogue.shelf import NOUNS

    if section not in NOUNS:
        raise RequestError(
            f"the catalogue has no {section!r}", mend=f"Choose one of: {', '.join(NOUNS)}"
        )
    for row in getattr(_catalogue(rows), section):
        if part_of_name.lower() in row.name.lower():
            typer.echo(f"{row.name:36}{row.source}")


@app.command()
def fits(file: Annotated[Path, typer.Argument(help="Design file.")], rows: Rows = None) -> None:
    """List the things of the catalogue that go into the article's hollows."""
    from hidewright.design.fit import what_fits
    from hidewright.design.kinds.registry import kind_named

    design = _read(file)
    brief = design.specification.brief
    try:
        made = kind_named(brief.kind).construct(brief)
    except RequestError as refused:
        raise design.located(refused) from None
    for hollow in made.hollows:
        typer.echo(f"{hollow.name}:")
        for thing, most in what_fits(hollow, _catalogue(rows).things):
            typer.echo(f"  {thing.name:36}{f'up to {most} on one another' if most > 1 else ''}")


@app.command()
def schema() -> None:
    """Print the JSON Schema of design files."""
    from hidewright.store.schema import design_file_schema

    typer.echo(json.dumps(design_file_schema(), indent=1, ensure_ascii=False))


@app.command()
def check(
    file: Annotated[Path, typer.Argument(help="Design file.")], as_json: Json = False
) -> None:
    """Say what stands in the way of making an article, and what would mend it."""
    from hidewright.workshop.article import check as checked
    from hidewright.workshop.graph import Cache

    design = _read(file)
    with _progress() as progress:
        findings = checked(design.specification, Cache(), progress)
    if as_json:
        _print_json(findings.remarks)
    else:
        _print_remarks(findings.remarks)
    if findings.missing:
        raise design.located(findings.missing[0].because)
    if findings.forbids:
        raise typer.Exit(FORBIDDEN)


@app.command()
def press(
    file: Annotated[Path | None, typer.Argument(help="Design file.")] = None,
    zone: Annotated[
        str, typer.Option(help="Only blanks with a moulded zone whose name holds this.")
    ] = "",
    case: Annotated[
        Path | None, typer.Option(help="Case file instead: a single pressing, fully defined.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Say how wet leather stretches over the plugs: force, thickness, pull-in, what it bears."""
    if (file is None) == (case is None):
        raise RequestError(
            "press takes one file",
            mend="Give a design file, or --case with a case file",
        )
    if case is not None:
        _press_case(case, as_json=as_json)
    elif file is not None:
        _press_article(file, zone, as_json=as_json)


def _press_article(file: Path, zone: str, *, as_json: bool) -> None:
    from dataclasses import asdict

    from hidewright.workshop.article import press as pressed
    from hidewright.workshop.graph import Cache

    design = _read(file)
    with _progress() as progress:
        try:
            reports, remarks = pressed(design.specification, Cache(), zone, progress)
        except RequestError as refused:
            raise design.located(refused) from None
    if as_json:
        told = {"blanks": [asdict(r) for r in reports], "remarks": [asdict(r) for r in remarks]}
        typer.echo(json.dumps(told, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        for one in reports:
            _print_report(one)
        _print_remarks(remarks)
    if any(r.severity == "forbids" for r in remarks):
        raise typer.Exit(FORBIDDEN)


def _press_case(case: Path, *, as_json: bool) -> None:
    from hidewright.forming.case import answer
    from hidewright.store.case_file import LARGEST_BYTES, read_case

    try:
        pressed = answer(read_case(_bytes_of(case, LARGEST_BYTES), name=case.name))
    except RequestError as refused:
        if as_json:
            typer.echo(json.dumps({"converged": False, "because": str(refused)}))
        raise refused.at(case.name) from None
    if as_json:
        from dataclasses import asdict

        typer.echo(json.dumps(asdict(pressed), allow_nan=False))
    else:
        _print_pressed(pressed)


@app.command()
def depths(
    leather: Annotated[str, typer.Argument(help="Name of a leather in the catalogue.")],
    crown: Annotated[
        list[float] | None, typer.Option(help="Crown radius of a curve, mm; may be repeated.")
    ] = None,
    corner: Annotated[
        list[float] | None, typer.Option(help="Corner radius of the plan, mm; may be repeated.")
    ] = None,
    width: Annotated[float, typer.Option(help="Width of the square plug, mm.")] = 60.0,
    lip: Annotated[float, typer.Option(help="Radius of the opening's edge, mm.")] = 3.0,
    hold: Annotated[
        str, typer.Option(help="How the flange is held: plate, clamped or free.")
    ] = "plate",
    svg: Annotated[Path | None, typer.Option(help="File to draw the chart in.")] = None,
    rows: Rows = None,
    as_json: Json = False,
) -> None:
    """Chart how deep a leather may be pressed, by corner and crown radius."""
    from hidewright.catalogue.shelf import find
    from hidewright.design.blank import Hold
    from hidewright.drawing.svg import to_svg
    from hidewright.workshop.depth_chart import (
        CROWNS,
        chart_drawing,
        depth_chart,
        square_hollows,
    )
    from hidewright.workshop.graph import Cache

    held: Hold | None = next((one for one in get_args(Hold) if one == hold), None)
    if held is None:
        raise RequestError(
            f"a flange held {hold!r}", mend=f"Choose one of: {', '.join(get_args(Hold))}"
        )
    hollows = square_hollows(
        find(_catalogue(rows).leathers, leather),
        width_mm=width,
        lip_radius_mm=lip,
        hold=held,
        crowns_mm=crown or CROWNS,
        corners_mm=corner or (),
    )
    with _progress() as progress:
        chart = depth_chart(hollows, Cache(), progress=progress)
    if svg is not None:
        _write_text(svg, to_svg(chart_drawing(chart)).decode())
    _print_chart(chart, as_json=as_json)
    if chart.missing:
        raise RequestError(
            f"the chart was stopped: {chart.missing} of {len(hollows)} depths are missing"
        )


@app.command()
def pack(
    file: Annotated[Path, typer.Argument(help="Design file.")],
    out: Annotated[Path, typer.Option(help="Folder to make, or a .zip.")],
    paper: Paper = "A4",
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Write it even if a remark forbids it.")
    ] = False,
    replace: Replace = False,
) -> None:
    """Write cut files, patterns, solids and a contents page into a folder or zip."""
    design = _read(file)
    forbidden = _pack(design, out, paper, anyway=anyway, replace=replace)
    if forbidden and not anyway:
        raise typer.Exit(FORBIDDEN)


@app.command()
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

    asked = read_problem(_bytes_of(problem, LARGEST_BYTES), name=problem.name)
    told = plan_problem(asked, seed=seed, rounds=rounds, seconds=seconds)
    if as_json:
        typer.echo(json.dumps(told, ensure_ascii=False, allow_nan=False))
    else:
        _print_plan(told)


@app.command()
def price(
    file: Annotated[Path, typer.Argument(help="Design file.")],
    batch: Annotated[int, typer.Option(help="How many good articles are made at a time.")] = 10,
    rates: Annotated[
        Path | None, typer.Option(help="File with your own rates and prices, YAML.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Say what an article costs, what to ask for it, and what moves the price."""
    from hidewright.store.rates_file import LARGEST_BYTES, read_rates
    from hidewright.workshop.graph import Cache
    from hidewright.workshop.price import as_figures, in_words, priced

    design = _read(file)
    data = b"{}" if rates is None else _bytes_of(rates, LARGEST_BYTES)
    own = read_rates(data, name=rates.name if rates else "")
    with _progress() as progress:
        try:
            told = priced(design.specification, own.rates, own.prices, batch, Cache(), progress)
        except RequestError as refused:
            raise design.located(refused) from None
    if as_json:
        typer.echo(json.dumps(as_figures(told), indent=2, ensure_ascii=False, allow_nan=False))
    else:
        for line in in_words(told):
            typer.echo(line)


@app.command()
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

    with _progress() as progress:
        report = cut_problem(
            _bytes_of(problem, LARGEST_BYTES),
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


@app.command()
def demo(
    out: Annotated[Path, typer.Option(help="Folder to make the packs in.")] = Path("out"),
    paper: Paper = "A4",
) -> None:
    """Make the packs of the demo workshop, the field kit of Alder Row."""
    from hidewright.drawing.contents import Picture, kit_page
    from hidewright.store.demo import demo_designs
    from hidewright.store.design_file import read_design

    pictures = []
    for name, data in demo_designs().items():
        design = read_design(data, name=name)
        stem = Path(name).stem
        typer.echo(f"\n{design.specification.brief.name}")
        if _pack(design, out / stem, paper, anyway=False, replace=True):
            raise typer.Exit(FORBIDDEN)
        brief = design.specification.brief
        drawn = [p.relative_to(out).as_posix() for p in (out / stem / "patterns").glob("*.svg")]
        svg = min(drawn, key=lambda path: ("/blank " in path, path))
        pictures.append(Picture(title=brief.name, svg=svg, files=(("open", f"{stem}/index.html"),)))
    _write_text(out / "index.html", kit_page("Alder Row: a naturalist's field kit", pictures))
    typer.echo(f"\nThe packs are in {out}; open {out / 'index.html'} in a browser.")


book_commands = typer.Typer(
    help="The workshop's book: all into one archive, back out of it, or back to the last backup.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
app.add_typer(book_commands, name="book")

OfBook = Annotated[
    Path | None, typer.Option("--book", help="The book's file; without it your own book.")
]


@book_commands.command("export")
def book_export(
    file: Annotated[Path, typer.Argument(help="Archive to write, a .zip.")],
    book: OfBook = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Replace an archive that is there already.")
    ] = False,
) -> None:
    """Write everything in the book into one archive."""
    from hidewright.store.book import Book
    from hidewright.store.book_archive import book_export as exported

    if file.exists() and not replace:
        raise RequestError(f"{file} is already there", mend="Choose another name, or add --replace")
    with Book(book, new=False) as opened:
        data = exported(opened)
    part = file.with_name(file.name + ".part")
    try:
        part.write_bytes(data)
        part.replace(file)
    except OSError as refused:
        raise RequestError(
            f"{file} cannot be written", because=refused.strerror or str(refused)
        ) from None
    typer.echo(f"Wrote {file}")


@book_commands.command("import")
def book_import(
    file: Annotated[Path, typer.Argument(help="Archive that 'book export' wrote.")],
    book: OfBook = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Take the place of the work in the book.")
    ] = False,
) -> None:
    """Put everything of an archive into an empty book."""
    from hidewright.store.book import Book
    from hidewright.store.book_archive import LARGEST_BYTES
    from hidewright.store.book_archive import book_import as imported

    data = _bytes_of(file, LARGEST_BYTES)
    with Book(book) as opened:
        imported(opened, data, replace=replace)
    typer.echo(f"The book {opened.path} now holds what {file} held.")


@book_commands.command("restore")
def book_restore(book: OfBook = None) -> None:
    """Put the last good backup in the book's place; the old file is kept beside it."""
    from hidewright.store.book import default_path
    from hidewright.store.book_backups import restore_last_backup

    backup, aside = restore_last_backup(book or default_path())
    typer.echo(f"The book is again as in {backup}." + (f" The old one: {aside}" if aside else ""))


@app.command(name="app")
def open_app(
    book: Annotated[
        Path | None, typer.Option(help="File of the workshop's book; your own without it.")
    ] = None,
    port: Annotated[int, typer.Option(help="Port on this machine.", min=1, max=65535)] = 8377,
    show: Annotated[bool, typer.Option(help="Open it in the browser.")] = True,
) -> None:
    """Open the app: design by looking, in the browser, on this machine alone."""
    from hidewright.app.server import run

    typer.echo(f"hidewright is at http://127.0.0.1:{port} - stop it with Ctrl+C.")
    run(book, port=port, show=show)


def main() -> None:
    """Run the command line and turn errors into words and exit codes."""
    try:
        sys.exit(app(standalone_mode=False) or 0)
    except RequestError as refused:
        typer.echo(f"hidewright: {refused}", err=True)
        sys.exit(BAD_REQUEST)
    except Exception as odd:
        _odd(odd)


def _odd(odd: Exception) -> None:
    """Show usage errors in their own words, and our mistakes with their traceback."""
    import traceback

    shown = getattr(odd, "format_message", None)
    if shown is not None:
        typer.echo(f"hidewright: {shown()}", err=True)
        sys.exit(BAD_REQUEST)
    traceback.print_exception(odd)
    typer.echo("hidewright: this is our mistake, not yours; nothing was written.", err=True)
    sys.exit(OUR_MISTAKE)


def _pack(design: "DesignFile", target: Path, paper: str, *, anyway: bool, replace: bool) -> bool:
    """Write a pack unless a remark forbids it; return whether one does."""
    from hidewright.store.write_pack import refuse_target, write_pack
    from hidewright.workshop.article import pack as packed
    from hidewright.workshop.graph import Cache

    if paper not in ("A4", "Letter"):
        raise RequestError(f"the paper {paper!r}", mend="Choose A4 or Letter")
    refuse_target(target, replace=replace)
    with _progress() as progress:
        try:
            files, findings = packed(
                design.specification,
                Cache(),
                paper="A4" if paper == "A4" else "Letter",
                progress=progress,
            )
        except RequestError as refused:
            raise design.located(refused) from None
    _print_remarks(findings.remarks)
    if findings.forbids and not anyway:
        typer.echo("Nothing was written. Mend it, or add --anyway to see the pack all the same.")
        return True
    write_pack(files, target, replace=replace)
    where = target if target.suffix == ".zip" else target / "index.html"
    typer.echo(f"Wrote {len(files)} files: {where}")
    return findings.forbids


def _begun_from(
    drawing: Path,
    unit: str | None,
    kind: str,
    shelf: "Catalogue",
    name: str,
    things: tuple[tuple[str, int], ...],
) -> "Specification[Any]":
    """Return a free design of the outlines in a drawing; tell what was made of them."""
    from hidewright.design.kinds.free import FREE
    from hidewright.design.kinds.registry import kind_named
    from hidewright.drawing.read_outlines import read_outlines
    from hidewright.drawing.reading import MAX_BYTES
    from hidewright.workshop.begin_free import begin_from_outlines

    if kind_named(kind) is not FREE:
        raise RequestError(
            f"outlines for the kind {kind!r}",
            because="it draws its own from its measures",
            mend=f"Begin with: hidewright begin free --outlines {drawing}",
        )
    reading = read_outlines(_bytes_of(drawing, MAX_BYTES), name=drawing.name, unit=unit)
    spec, told = begin_from_outlines(reading, shelf, name=name, things=things)
    for sentence in told:
        typer.echo(sentence, err=True)
    return spec


def _read(file: Path) -> "DesignFile":
    from hidewright.store.design_file import read_design

    return read_design(_bytes_of(file), name=file.name)


def _bytes_of(file: Path, largest: int | None = None) -> bytes:
    from hidewright.store.design_file import LARGEST_BYTES

    largest = largest or LARGEST_BYTES
    try:
        if file.stat().st_size > largest:
            raise RequestError(
                f"{file} has {file.stat().st_size / 1e6:.1f} MB",
                because=f"such a file has at most {largest / 1e6:g} MB",
                mend="Check that it is the file you mean",
            )
        return file.read_bytes()
    except OSError as refused:
        raise RequestError(
            f"{file} cannot be read",
            because=refused.strerror or str(refused),
            mend="Check the name; 'hidewright begin KIND --out FILE' writes a design file",
        ) from None


def _catalogue(rows: Path | None) -> "Catalogue":
    """Return the built-in catalogue with the maker's own rows over it."""
    from hidewright.catalogue.shelf import built_in_catalogue, with_rows
    from hidewright.store.rows_file import read_rows

    if rows is None:
        return built_in_catalogue()
    return with_rows(built_in_catalogue(), read_rows(_bytes_of(rows), name=rows.name))


def _write_text(file: Path, text: str) -> None:
    try:
        file.write_text(text, encoding="utf-8")
    except OSError as refused:
        raise RequestError(
            f"{file} cannot be written", because=refused.strerror or str(refused)
        ) from None


def _counted(text: str) -> tuple[str, int]:
    """Return (thing, count) of ``bank card (ID-1) x 4``."""
    name, times, count = text.rpartition(" x ")
    if times and count.strip().isdecimal() and int(count) > 0:
        return name.strip(), int(count)
    return text.strip(), 1


def _print_remarks(remarks: tuple[Remark, ...]) -> None:
    said = {"forbids": "MUST NOT", "warning": "look at", "note": "note"}
    for remark in remarks:
        typer.echo(f"{said[remark.severity]:9}{remark.place}: {remark.sentence}")
        for remedy in remark.remedies:
            more = "".join(f", {f}: {v}" for f, v in remedy.also)
            typer.echo(f"{'':9}would mend it: {remedy.field}: {remedy.value}{more}")
    if not remarks:
        typer.echo("Nothing stands in the way.")


def _print_report(one: "BlankReport") -> None:
    layer = f", layer {one.layer + 1} over the plug" if one.layer else ""
    typer.echo(f"{one.blank}{layer}: {', '.join(dict.fromkeys(one.zones))}, {one.leather}")
    spread = one.spread
    for name, figure, times, unit in (
        ("force on the plugs", spread.force_N, 1.0, "N"),
        ("thinnest", spread.thinnest, 100.0, "% of its thickness"),
        ("most stretched", spread.largest_stretch, 1.0, "times"),
        ("pull-in at most", spread.most_pull_in_mm, 1.0, "mm"),
        ("used of its limits", spread.use, 100.0, "%"),
    ):
        places = 0 if times == 100.0 or unit == "N" else 2
        likely, low, high = (
            f"{times * v:.{places}f}" for v in (figure.likely, figure.low, figure.high)
        )
        typer.echo(f"  {name:20}{likely} {unit}, likely {low} to {high}")
    typer.echo(f"  {'pull-in at least':20}{one.least_pull_in_mm:.2f} mm")
    typer.echo(f"  {'on plate or ring':20}{one.plate_N:.0f} N")
    typer.echo(f"  {'dry hollow off by':20}{one.dry_miss_mm:.2f} mm")
    typer.echo("  stiffness, friction and limits are assumed until a test plug is measured")


def _print_chart(chart: "DepthChart", *, as_json: bool) -> None:
    told = [
        {
            "crown_radius_mm": hollow.crown_radius_mm,
            "corner_radius_mm": hollow.corner_radius_mm,
            "depth_mm": depth.depth_mm,
            "because": depth.because,
        }
        for hollow, depth in zip(chart.hollows, chart.depths, strict=True)
        if depth is not None
    ]
    if as_json:
        typer.echo(json.dumps(told, indent=2, ensure_ascii=False))
        return
    typer.echo("crown mm  corner mm  depth mm  more: why not")
    for row in told:
        deep = "none" if row["depth_mm"] is None else f"{row['depth_mm']:.2f}"
        typer.echo(
            f"{row['crown_radius_mm']:8g}{row['corner_radius_mm']:11g}{deep:>10}  {row['because']}"
        )
    typer.echo("stiffness, friction and limits are assumed until a test plug is measured")


def _print_pressed(pressed: "CaseAnswer") -> None:
    thin = min(pressed.points, key=lambda p: p.thickness_ratio)
    wide = max(pressed.points, key=lambda p: p.stretch_1)
    drawn = [one.pull_in_mm for one in pressed.rim]
    shares = (thin.thickness_ratio, wide.stretch_1)
    at = [f"({x:.1f}, {y:.1f})" for x, y in (thin.flat_mm, wide.flat_mm)]
    typer.echo(pressed.title)
    for name, said in (
        ("force", f"{pressed.force_N:.1f} N"),
        ("thinnest", f"{shares[0]:.3f} of its thickness, marked at {at[0]} mm on the flat"),
        ("most stretched", f"{shares[1]:.3f} times, marked at {at[1]}, {wide.angle_deg:.0f} deg"),
        ("pull-in", f"{min(drawn):.2f} to {max(drawn):.2f} mm"),
        ("out of balance", f"{pressed.residual:.1e} of the forces"),
        ("reckoned with", f"{len(pressed.points)} points, level {pressed.level}"),
    ):
        typer.echo(f"{name:16}{said}")


def _print_plan(told: dict[str, Any]) -> None:
    typer.echo(f"{told['name']}: {told['status']}, {told['rounds']} rounds, seed {told['seed']}")
    if told["value"] is not None:
        typer.echo(f"finished at minute {told['value']}, not before {told['bound']} in any plan")
    for number, spans in told["starts"]:
        typer.echo(f"{number:6}  " + ", ".join(f"{start}-{end}" for start, end in spans))


def _print_json(remarks: tuple[Remark, ...]) -> None:
    from dataclasses import asdict

    typer.echo(json.dumps([asdict(r) for r in remarks], indent=2, ensure_ascii=False))


class _progress:  # noqa: N801 - used as a with-statement's verb
    """Names the step in work on a terminal's last line; silent where there is no terminal."""

    def __enter__(self) -> "Callable[[str], None]":
        return self._say

    def __exit__(self, *_: Any) -> None:
        if sys.stderr.isatty():
            sys.stderr.write("\r\033[K")

    def _say(self, step: str) -> None:
        if sys.stderr.isatty():
            sys.stderr.write(f"\r\033[Kworking on: {step}")
            sys.stderr.flush()
