"""Commands for one design: begin it, look at it, make its pack."""

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from hidewright.cli.root import (
    FORBIDDEN,
    Json,
    Own,
    Paper,
    Replace,
    Rows,
    Units,
    Working,
    by_book,
    bytes_of,
    catalogue_with,
    on_paper,
    print_remarks,
    rates_of,
    read,
    write_text,
)
from hidewright.errors import Remark, RequestError

if TYPE_CHECKING:
    from hidewright.catalogue.shelf import Catalogue
    from hidewright.design.cut_layout import CutLayout
    from hidewright.design.specification import Specification
    from hidewright.store.design_file import DesignFile
    from hidewright.workshop.beside import SecondProcess

commands = typer.Typer()


@commands.command()
def begin(
    kind: Annotated[str, typer.Argument(help="Kind of article; 'hidewright kinds' lists them.")],
    out: Annotated[
        Path | None, typer.Option(help="File to write; without it the text is printed.")
    ] = None,
    name: Annotated[str, typer.Option(help="Your name for the article.")] = "",
    carry: Annotated[
        list[str] | None,
        typer.Option(
            metavar="<str>",
            help="A thing it carries, such as 'bank card (ID-1) x 4'; may be repeated.",
        ),
    ] = None,
    unit: Annotated[str, typer.Option(help="Unit of lengths in the file: mm or in.")] = "mm",
    outlines: Annotated[
        Path | None, typer.Option(help="SVG or DXF with your own pieces, for the kind free.")
    ] = None,
    outline_unit: Annotated[
        str | None, typer.Option(help="Unit of that drawing, over what it says: mm, cm, m or in.")
    ] = None,
    rows: Rows = None,
) -> None:
    """Write a commented design file to start from, sized for what is carried."""
    from hidewright.design.kinds.registry import kind_named
    from hidewright.store.write_design import write_design
    from hidewright.workshop.begin import begin as begun
    from hidewright.workshop.begin import what_would_hold

    if unit not in ("mm", "in"):
        raise RequestError(f"the unit {unit!r}", mend="Choose mm or in")
    things = tuple(_counted(text) for text in carry or ())
    if outlines is None:
        spec = begun(kind, catalogue_with(rows), name=name, things=things)
    else:
        spec = _begun_from(outlines, outline_unit, kind, catalogue_with(rows), name, things)
    try:
        kind_named(kind).construct(spec.brief)
    except RequestError as refused:
        instead = what_would_hold(kind, catalogue_with(rows), things)
        typer.echo(f"This kind does not hold it: {refused}. {instead}.", err=True)
    if unit == "in":
        from hidewright.workshop.in_inches import in_inches

        spec = in_inches(spec)
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
    write_text(out, text)
    typer.echo(f"Wrote {out}. Change its measures, then: hidewright check {out}")


@commands.command()
def kinds() -> None:
    """List the kinds of article."""
    from hidewright.design.kinds.registry import KINDS

    for kind in KINDS:
        typer.echo(f"{kind.name:32}{kind.title}")


@commands.command()
def catalogue(
    section: Annotated[
        str,
        typer.Argument(help="things, leathers, boards, threads, needles, awls, magnets, fittings."),
    ] = "things",
    part_of_name: Annotated[str, typer.Argument(help="Show only those called so, or nearly.")] = "",
    rows: Rows = None,
) -> None:
    """List what can be carried or chosen, with the source of each row."""
    from hidewright.catalogue.common_names import matching
    from hidewright.catalogue.shelf import NOUNS

    if section not in NOUNS:
        raise RequestError(
            f"the catalogue has no {section!r}", mend=f"Choose one of: {', '.join(NOUNS)}"
        )
    found = matching(getattr(catalogue_with(rows), section), part_of_name)
    if not found:
        raise RequestError(
            f"none of the {section} has {part_of_name!r} in its name",
            mend=f"'hidewright catalogue {section}' lists them all",
        )
    wide = max(len(row.name) for row in found) + 2
    for row in found:
        typer.echo(f"{row.name:{wide}}{row.source}")


@commands.command()
def fits(file: Annotated[Path, typer.Argument(help="Design file.")], rows: Rows = None) -> None:
    """List the things of the catalogue that go into the article's hollows."""
    from hidewright.design.fit import what_fits
    from hidewright.design.kinds.registry import kind_named

    design = read(file)
    brief = design.specification.brief
    try:
        made = kind_named(brief.kind).construct(brief)
    except RequestError as refused:
        raise design.located(refused) from None
    for hollow in made.hollows:
        typer.echo(f"{hollow.name}:")
        for thing, most in what_fits(hollow, catalogue_with(rows).things):
            typer.echo(f"  {thing.name:36}{f'up to {most} on one another' if most > 1 else ''}")


@commands.command()
def schema() -> None:
    """Print the JSON Schema of design files."""
    from hidewright.store.schema import design_file_schema

    typer.echo(json.dumps(design_file_schema(), indent=1, ensure_ascii=False))


@commands.command()
def check(
    file: Annotated[Path, typer.Argument(help="Design file.")],
    book: Own = None,
    as_json: Json = False,
) -> None:
    """Say what stands in the way of making an article, and what would mend it."""
    from hidewright.workshop.article import check as checked
    from hidewright.workshop.article import press
    from hidewright.workshop.graph import Cache
    from hidewright.workshop.in_units import remarks_for
    from hidewright.workshop.learned_facts import dry_lines

    design = read(file)
    with Working() as progress:
        own = by_book(book, design.specification, progress)
        spec, cache = own.spec if own else design.specification, Cache()
        findings = checked(spec, cache, progress)
        sizes: tuple[str, ...] = ()
        if not (as_json or findings.missing):
            reports, _ = press(spec, cache, "", progress, own.believed if own else None)
            sizes = dry_lines(reports, design.lengths)
    remarks = (*findings.remarks, *(own.remarks if own else ()))
    if as_json:
        _print_json(remarks)
    else:
        if remarks or not findings.missing:
            print_remarks(remarks_for(spec, remarks, design.lengths))
        for line in sizes:
            typer.echo(line)
    if findings.missing:
        raise design.located(findings.missing[0].because)
    if findings.forbids:
        raise typer.Exit(FORBIDDEN)


@commands.command()
def pack(
    file: Annotated[Path, typer.Argument(help="Design file.")],
    out: Annotated[Path, typer.Option(help="Folder to make, or a .zip.")],
    paper: Paper = "A4",
    units: Units = "mm",
    hide: Annotated[
        list[str] | None,
        typer.Option(
            metavar="<str>",
            help="Cut it from this: 'shoulder:0.8 m2' or a file; may be repeated.",
        ),
    ] = None,
    sets: Annotated[str, typer.Option(help="How many to cut from --hide, or most.")] = "most",
    rounds: Annotated[int, typer.Option(help="How long to search for that layout.")] = 2000,
    layout: Annotated[
        Path | None, typer.Option(help="Layouts kept by 'cut --keep', instead of --hide.")
    ] = None,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Write it even if a remark forbids it.")
    ] = False,
    book: Own = None,
    replace: Replace = False,
) -> None:
    """Write cut files, patterns, solids and a contents page into a folder or zip.

    With a hide, or a layout kept before, also how it is cut; the lists then go by that.
    """
    from hidewright.workshop.beside import SecondProcess

    with SecondProcess() as beside:
        from hidewright.cli.cutting import layouts_for

        design = read(file)
        layouts = layouts_for(design.specification, hide or (), sets, rounds, layout)
        forbidden = _pack(
            design, out, paper, units, layouts, beside, book, anyway=anyway, replace=replace
        )
    if forbidden and not anyway:
        raise typer.Exit(FORBIDDEN)


@commands.command()
def demo(
    out: Annotated[Path, typer.Option(help="Folder to make the packs in.")] = Path("out"),
    paper: Paper = "A4",
    units: Units = "mm",
) -> None:
    """Make the packs of the demo workshop, the field kit of Alder Row."""
    from hidewright.workshop.beside import SecondProcess

    with SecondProcess() as beside:
        _demo(out, paper, units, beside)
    typer.echo(f"\nThe packs are in {out}; open {out / 'index.html'} in a browser.")


def _demo(out: Path, paper: str, units: str, beside: "SecondProcess") -> None:
    from hidewright.drawing.contents import Picture, kit_page
    from hidewright.store.demo import demo_designs
    from hidewright.store.design_file import read_design
    from hidewright.store.layout_file import demo_layouts

    layouts = demo_layouts()
    pictures = []
    for name, data in demo_designs().items():
        design = read_design(data, name=name)
        stem = Path(name).stem
        typer.echo(f"\n{design.specification.brief.name}")
        if _pack(design, out / stem, paper, units, layouts, beside, anyway=False, replace=True):
            raise typer.Exit(FORBIDDEN)
        brief = design.specification.brief
        drawn = [p.relative_to(out).as_posix() for p in (out / stem / "patterns").glob("*.svg")]
        page = (("open", f"{stem}/index.html"),)
        pictures.append(Picture(title=brief.name, svg=shown_first(drawn), files=page))
    write_text(out / "index.html", kit_page("Alder Row: a naturalist's field kit", pictures))


def shown_first(patterns: list[str]) -> str:
    """Return the pattern that an article is known by: of a piece, not of a blank or of covers."""
    return min(patterns, key=lambda p: (p.rpartition("/")[2].startswith(("blank ", "covers")), p))


def _pack(
    design: "DesignFile",
    target: Path,
    paper: str,
    units: str,
    layouts: "tuple[CutLayout, ...]",
    beside: "SecondProcess",
    book: Path | None = None,
    *,
    anyway: bool,
    replace: bool,
) -> bool:
    """Write a pack unless a remark forbids it; return whether one does."""
    from dataclasses import replace as replaced
    from functools import partial

    from hidewright.store.write_pack import refuse_target, write_pack
    from hidewright.workshop.article import pack as packed
    from hidewright.workshop.cutting.choice import choice_for
    from hidewright.workshop.cutting.in_pack import pack_layouts
    from hidewright.workshop.graph import Cache
    from hidewright.workshop.in_units import remarks_for

    size, written = on_paper(paper, units)
    rates = rates_of(None, book)
    choice = replaced(
        choice_for(design.specification.brief.name, layouts),
        rates=rates.rates,
        prices=rates.prices,
        written=written,
    )
    refuse_target(target, replace=replace)
    with Working() as progress:
        try:
            own = by_book(book, design.specification, progress)
            if own:
                choice = replaced(choice, bench=own.bench)
            files, findings = packed(
                own.spec if own else design.specification,
                Cache(),
                paper=size,
                choice=choice,
                believed=own.believed if own else None,
                told=own.remarks if own else (),
                anyway=anyway,
                layouts=partial(pack_layouts, choice.layouts, written=choice.written),
                progress=progress,
                beside=beside,
            )
        except RequestError as refused:
            raise design.located(refused) from None
    lengths = choice.written.lengths
    print_remarks(remarks_for(design.specification, findings.remarks, lengths))
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
    reading = read_outlines(bytes_of(drawing, MAX_BYTES), name=drawing.name, unit=unit)
    spec, told = begin_from_outlines(reading, shelf, name=name, things=things)
    for sentence in told:
        typer.echo(sentence, err=True)
    return spec


def _counted(text: str) -> tuple[str, int]:
    """Return (thing, count) of ``bank card (ID-1) x 4``."""
    name, times, count = text.rpartition(" x ")
    if not times:
        return text.strip(), 1
    if not count.strip().isdecimal() or int(count) < 1:
        raise RequestError(
            f"{count.strip()!r} of {name.strip()}",
            mend="Give a whole number from 1 on behind the x",
        )
    return name.strip(), int(count)


def _print_json(remarks: tuple[Remark, ...]) -> None:
    from dataclasses import asdict

    typer.echo(json.dumps([asdict(r) for r in remarks], indent=2, ensure_ascii=False))
