"""From an article and the workshop's choices to its lists, labels, care cards and data sheet."""

from typing import Any

from hidewright.costing.needs import Needs
from hidewright.costing.shopping import shopping
from hidewright.design.cover import covers_of
from hidewright.design.design import Design
from hidewright.design.step import Step
from hidewright.drawing.build_sheet import Stamp
from hidewright.drawing.cards import ToolLabel, care_cards_pdf, tool_labels_pdf
from hidewright.drawing.data_sheet import data_sheet_pdf
from hidewright.drawing.table_sheet import table_sheet_pdf
from hidewright.drawing.tiles import Paper
from hidewright.tooling.sheets import Sheet
from hidewright.units.written import Written
from hidewright.workshop.build_sheet import FOLDER
from hidewright.workshop.cut_leather import cut_leather
from hidewright.workshop.forming_chain import Leathers, PressedBlanks
from hidewright.workshop.graph import Node
from hidewright.workshop.lists import (
    cutting_table,
    parts_on,
    plug_table,
    shopping_tables,
    tooling_table,
)
from hidewright.workshop.paper_choice import PaperChoice
from hidewright.workshop.papers_chain import Files
from hidewright.workshop.product import care_card, data_sheet
from hidewright.workshop.tooling_chain import Mouldings

CUTTING_LEAD = (
    "Cut dry, grain side up, after the first-off has been measured. Sizes are the bounds of the "
    "outline as cut, for a batch of {batch}; {spare}rejects are not counted."
)
TOOLING_LEAD = (
    "One file a sheet in the folder cut. Laser minutes are the length of all cuts at your own "
    "speed in the rates ({speed:g} mm a second at 3 mm, slower in proportion to thickness); moves "
    "between cuts are not counted."
)
SHOPPING_LEAD = (
    "For a batch of {batch} good articles and the tools to make them, with the waste of the hide "
    "and {rejects:.0%} that cannot be sold. In stock is what the book says; of leather "
    "that is the area of the hides and rests there."
)


def bench_lists(
    design: tuple[Design, Any],
    pressed: PressedBlanks,
    mouldings: Mouldings,
    sheets: tuple[tuple[Sheet, ...], Any],
    needs: Needs,
    choice: PaperChoice,
    name: str,
    revision: str,
    paper: Paper,
) -> Files:
    """Return cutting list, tooling list, shopping list and labels as PDF."""
    stamp = Stamp(title=name, revision=revision, day=choice.day)
    rates, batch = choice.rates, choice.batch
    cut = tuple(cut_leather(design[0], pressed))
    spare = "a blank that serves two is cut whole; " if any(o.articles > 1 for o in cut) else ""
    files: Files = {}

    def put(what: str, data: bytes) -> None:
        files[f"{FOLDER}{what} {paper}.pdf"] = data

    spare += "covers come out of offcuts; " if covers_of(design[0]) else ""
    lead = CUTTING_LEAD.format(batch=batch, spare=spare)
    table = cutting_table(design[0], cut, batch, choice.written)
    put("cutting list", table_sheet_pdf(stamp, "Cutting list", lead, (table,), paper))
    if sheets[0]:
        lead = choice.written.words(TOOLING_LEAD.format(speed=rates.laser_speed))
        tooling = tooling_table(sheets[0], rates.laser_speed, choice.written)
        plugs = plug_table(mouldings[0], choice.written)
        told = [one for one in (tooling, plugs) if one.rows]
        put("tooling list", table_sheet_pdf(stamp, "Tooling list", lead, told, paper))
    wanted = shopping(needs, rates, choice.prices, batch, dict(choice.stock), dict(choice.yields))
    lead = SHOPPING_LEAD.format(batch=batch, rejects=rates.rejects)
    tables = shopping_tables(wanted, rates.currency, choice.written)
    put("shopping list", table_sheet_pdf(stamp, "Shopping list", lead, tables, paper))
    if choice.address and sheets[0]:
        put(
            "labels",
            tool_labels_pdf(_labels(name, sheets[0], choice.address, choice.written), stamp, paper),
        )
    return files


def buyers_papers(
    design: tuple[Design, Any],
    pressed: PressedBlanks,
    leathers: Leathers,
    steps: tuple[Step, ...],
    choice: PaperChoice,
    name: str,
    revision: str,
    paper: Paper,
) -> Files:
    """Return care cards and data sheet as PDF."""
    stamp = Stamp(title=name, revision=revision, day=choice.day)
    card = care_card(design[0], leathers, steps, choice.maker, choice.written)
    sheet = data_sheet(design[0], pressed, leathers, steps, choice.written)
    return {
        f"{FOLDER}care cards {paper}.pdf": care_cards_pdf(card, stamp, paper),
        f"{FOLDER}data sheet {paper}.pdf": data_sheet_pdf(sheet, stamp, paper),
    }


def _labels(
    name: str, sheets: tuple[Sheet, ...], address: str, written: Written
) -> tuple[ToolLabel, ...]:
    """Return a label for the mould's bag, one for that of the clear templates, and a spare."""
    labels: list[ToolLabel] = []
    for what, clear in (("mould and blocks", False), ("templates", True)):
        some = [sheet for sheet in sheets if sheet.board.transparent == clear]
        if some:
            parts = tuple(written.words(part) for sheet in some for part in parts_on(sheet))
            labels.append(ToolLabel(title=f"{name}: {what}", holds=parts, address=address))
    return (*labels, ToolLabel(title=name, holds=(), address=address))


NODES = (
    Node(
        name="bench list files",
        needs=(
            "design",
            "pressed blanks",
            "mouldings",
            "sheets",
            "needs",
            "paper choice",
            "name",
            "revision",
            "paper",
        ),
        compute=bench_lists,
    ),
    Node(
        name="buyer files",
        needs=(
            "design",
            "pressed blanks",
            "all leathers",
            "steps",
            "paper choice",
            "name",
            "revision",
            "paper",
        ),
        compute=buyers_papers,
        seconds=0.09,
    ),
)
