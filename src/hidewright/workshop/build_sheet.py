"""From the steps of an article to its build sheet and first-off sheet, on paper and as pages."""

from collections.abc import Callable, Iterable
from functools import partial
from typing import Any

from hidewright.design.design import Design
from hidewright.design.step import Step
from hidewright.drawing.build_sheet import SheetStep, Stamp, build_sheet_pdf
from hidewright.drawing.build_sheet_page import build_sheet_html, first_off_html
from hidewright.drawing.first_off_sheet import FirstOffRow, first_off_pdf
from hidewright.drawing.tiles import Paper
from hidewright.planning.steps_choice import Facts
from hidewright.planning.steps_maker import span_of_time
from hidewright.tooling.sheets import Sheet
from hidewright.units.minutes import format_minutes
from hidewright.units.written import Written
from hidewright.workshop.build_sheet_cautions import CAUTIONS
from hidewright.workshop.build_sheet_notes import Row, notes_of
from hidewright.workshop.build_sheet_pictures import Bench, bench_of, picture_of
from hidewright.workshop.graph import Node
from hidewright.workshop.in_units import drawing_in, names_told
from hidewright.workshop.learned_facts import dry_ranges
from hidewright.workshop.papers_chain import Files
from hidewright.workshop.pressing_report import BlankReport
from hidewright.workshop.sewing_chain import Sewn
from hidewright.workshop.tooling_chain import Leathers, Mouldings, Parts

Sheets = tuple[tuple[Sheet, ...], Any]

FOLDER = "papers/"
LEAD = (
    "The steps of this article in bench order. Tick each one; write in what you measure. Times are "
    "hands-on and for one; until you have measured your own they are a place to start from."
)
FIRST_OFF_LEAD = (
    "Every new tool, leather lot or thickness begins with one first-off: made, measured, typed in. "
    "Only then is the leather of the batch cut. Numbers in the first column are those of the build "
    "sheet."
)


def sheet_steps(
    steps: tuple[Step, ...],
    design: tuple[Design, Any],
    sewn: Sewn,
    mouldings: Mouldings,
    leathers: Leathers,
    facts: Facts,
    sheets: Sheets,
    trims: Parts,
    blocks: Parts,
    written: Written,
) -> tuple[SheetStep, ...]:
    """Return every step as it is shown, with its picture, cautions and what to write in."""
    bench = bench_of(design[0], sewn[0], mouldings, leathers, facts.parts)
    names = names_told(steps) | {sheet.board.name for sheet in sheets[0]}
    remarks = (*mouldings[1], *trims[1], *blocks[1])
    return tuple(
        _shown(
            step, bench, notes_of(step, bench, sheets[0], remarks), _saying(step, written, names)
        )
        for step in steps
    )


def first_off_rows(
    steps: tuple[Step, ...], written: Written, reports: tuple[BlankReport, ...]
) -> tuple[FirstOffRow, ...]:
    """Return every reading with the number and name of its step on the build sheet."""
    names = names_told(steps)
    ranges = dry_ranges(reports)
    rows: list[FirstOffRow] = []
    for number, step in enumerate(steps, start=1):
        say = _saying(step, written, names)
        for reading in step.readings:
            row = FirstOffRow(
                step=f"{number}  {step.name}",
                what=say(reading.what),
                where=say(reading.where),
                tool=reading.tool,
                expected=say(reading.expected + ranges.get(reading.what.partition(",")[0], "")),
                into=_kept_in(reading.into),
            )
            rows.append(row)
    return tuple(rows)


def _kept_in(into: str) -> str:
    """Return where a reading goes: into the book, the design, or no further than the sheet."""
    if into.startswith("book: "):
        return into
    if into.startswith("carried, "):
        return f"the design, if it does not fit: {into}"
    return "this sheet"


def sheet_files(
    shown: tuple[SheetStep, ...],
    rows: tuple[FirstOffRow, ...],
    name: str,
    revision: str,
    day: str,
    paper: Paper,
) -> Files:
    """Return build sheet and first-off sheet as PDF and as pages; none of a sheet without rows."""
    stamp = Stamp(title=name, revision=revision, day=day)
    files: Files = {}
    if shown:
        files[f"{FOLDER}build sheet {paper}.pdf"] = build_sheet_pdf(stamp, LEAD, shown, paper)
        files[f"{FOLDER}build sheet.html"] = build_sheet_html(stamp, LEAD, shown)
    if rows:
        pdf = first_off_pdf(stamp, FIRST_OFF_LEAD, rows, paper)
        files[f"{FOLDER}first-off sheet {paper}.pdf"] = pdf
        files[f"{FOLDER}first-off sheet.html"] = first_off_html(stamp, FIRST_OFF_LEAD, rows)
    return files


def _saying(step: Step, written: Written, names: frozenset[str]) -> Callable[[str], str]:
    """Return how the words of a step are written; a leather's own measures are thicknesses."""
    return partial(written.words, names=names, of_leather=step.place_kind == "leather")


def _shown(step: Step, bench: Bench, notes: Iterable[Row], say: Callable[[str], str]) -> SheetStep:
    span = span_of_time(step.rest) if step.rest else ""
    told = any(f.value.startswith(span) for f in step.figures)
    picture = picture_of(step, bench)
    return SheetStep(
        title=step.name[:1].upper() + step.name[1:],
        time=_time(step),
        how=say(step.how),
        figures=(
            *((f.label, say(f.value)) for f in step.figures),
            *((label, say(words)) for label, words in notes),
        ),
        cautions=tuple(say(CAUTIONS[key]) for key in step.cautions),
        wait=f"{step.rest.what}, {span}" if step.rest and not told else "",
        measured=tuple((say(r.what), say(r.expected)) for r in step.readings),
        picture=drawing_in(picture, say) if picture else None,
        once=step.first_off,
    )


def _time(step: Step) -> str:
    """Return hands-on minutes for one thing, and how many articles it serves."""
    told = format_minutes(step.minutes(1))
    return f"{told} for {step.articles} articles" if step.articles > 1 else told


NODES = (
    Node(
        name="build steps",
        needs=(
            "steps",
            "design",
            "sewn",
            "mouldings",
            "all leathers",
            "bench facts",
            "sheets",
            "trim templates",
            "blocks",
            "written",
        ),
        compute=sheet_steps,
        seconds=0.05,
    ),
    Node(
        name="first-off rows", needs=("steps", "written", "pressing report"), compute=first_off_rows
    ),
    Node(
        name="build sheet files",
        needs=("build steps", "first-off rows", "name", "revision", "day", "paper"),
        compute=sheet_files,
        seconds=0.12,
    ),
)
