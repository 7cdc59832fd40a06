"""Commands that press leather: how it stretches over a plug, and how deep it may go."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, get_args

import typer

from hidewright.cli.root import (
    FORBIDDEN,
    Json,
    Own,
    Rows,
    Working,
    by_book,
    bytes_of,
    catalogue_with,
    print_remarks,
    read,
    write_text,
)
from hidewright.errors import RequestError

if TYPE_CHECKING:
    from hidewright.design.interval import Interval
    from hidewright.forming.case import CaseAnswer
    from hidewright.units.written import Written
    from hidewright.workshop.depth_chart import DepthChart
    from hidewright.workshop.pressing_report import BlankReport

commands = typer.Typer()


@commands.command()
def press(
    file: Annotated[Path | None, typer.Argument(help="Design file.")] = None,
    zone: Annotated[
        str, typer.Option(help="Only blanks with a moulded zone whose name holds this.")
    ] = "",
    case: Annotated[
        Path | None, typer.Option(help="Case file instead: a single pressing, fully defined.")
    ] = None,
    book: Own = None,
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
        _press_article(file, zone, book, as_json=as_json)


def _press_article(file: Path, zone: str, book: Path | None, *, as_json: bool) -> None:
    from dataclasses import asdict

    from hidewright.units.written import Written
    from hidewright.workshop.article import press as pressed
    from hidewright.workshop.graph import Cache
    from hidewright.workshop.in_units import remarks_for

    design = read(file)
    with Working() as progress:
        try:
            own = by_book(book, design.specification, progress)
            spec = own.spec if own else design.specification
            believed = own.believed if own else None
            reports, remarks = pressed(spec, Cache(), zone, progress, believed)
        except RequestError as refused:
            raise design.located(refused) from None
    if as_json:
        told = {"blanks": [asdict(r) for r in reports], "remarks": [asdict(r) for r in remarks]}
        typer.echo(json.dumps(told, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        for one in reports:
            _print_report(one, Written(lengths=design.lengths))
        said = (*remarks, *(own.remarks if own else ()))
        print_remarks(remarks_for(spec, said, design.lengths))
    if any(r.severity == "forbids" for r in remarks):
        raise typer.Exit(FORBIDDEN)


def _press_case(case: Path, *, as_json: bool) -> None:
    from hidewright.forming.case import answer
    from hidewright.store.case_file import LARGEST_BYTES, read_case

    try:
        pressed = answer(read_case(bytes_of(case, LARGEST_BYTES), name=case.name))
    except RequestError as refused:
        if as_json:
            typer.echo(json.dumps({"converged": False, "because": str(refused)}))
        raise refused.at(case.name) from None
    if as_json:
        from dataclasses import asdict

        typer.echo(json.dumps(asdict(pressed), allow_nan=False))
    else:
        _print_pressed(pressed)


@commands.command()
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
        find(catalogue_with(rows).leathers, leather),
        width_mm=width,
        lip_radius_mm=lip,
        hold=held,
        crowns_mm=crown or CROWNS,
        corners_mm=corner or (),
    )
    with Working() as progress:
        chart = depth_chart(hollows, Cache(), progress=progress)
    if svg is not None:
        write_text(svg, to_svg(chart_drawing(chart)).decode())
    _print_chart(chart, as_json=as_json)
    if chart.missing:
        raise RequestError(
            f"the chart was stopped: {chart.missing} of {len(hollows)} depths are missing"
        )


def _print_report(one: "BlankReport", written: "Written") -> None:
    from hidewright.workshop.learned_words import told, told_reading

    def words(value: "Interval", unit: str) -> str:
        again = unit == "N" and written.lengths == "in"
        return written.words(told(value, unit, lengths=written.lengths, again=again))

    layer = f", layer {one.layer + 1} over the plug" if one.layer else ""
    typer.echo(f"{one.blank}{layer}: {', '.join(dict.fromkeys(one.zones))}, {one.leather}")
    spread = one.spread
    for name, figure, unit in (
        ("force on the plugs", spread.force_N, "N"),
        ("thinnest", spread.thinnest, "%"),
        ("most stretched", spread.largest_stretch, "x"),
        ("pull-in at most", spread.most_pull_in_mm, "mm"),
        ("used of its limits", spread.use, "%"),
    ):
        typer.echo(f"  {name:20}{words(figure, unit)}")
    for size in spread.dry:
        for way, figure in (("along", size.along), ("across", size.across)):
            typer.echo(f"  {f'dries to, {way}':20}{words(figure, 'mm')}")

    def length(mm: float) -> str:
        return told_reading(mm, "mm", written.lengths)

    typer.echo(f"  {'pull-in at least':20}{length(one.least_pull_in_mm)}")
    typer.echo(f"  {'thinnest, dry':20}{length(one.thinnest_dry_mm)}")
    typer.echo(f"  {'on plate or ring':20}{written.words(f'{one.plate_N:.0f} N')}")
    typer.echo(f"  {'dry hollow off by':20}{length(one.dry_miss_mm)}")


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
