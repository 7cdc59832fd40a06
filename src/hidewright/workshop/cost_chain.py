"""From the pressed blanks, seams, sheets and steps of an article to its cost and price."""

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Any

from hidewright.catalogue.prices import Price
from hidewright.costing.asking import Asked, asked
from hidewright.costing.charges import WhatIf
from hidewright.costing.cost import Cost, cost_of
from hidewright.costing.ladder import Rung, ladder
from hidewright.costing.needs import Material, MaterialGroup, Needs, ToolSet, Use
from hidewright.costing.tornado import Swing, tornado
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.cover import covers_of
from hidewright.design.design import Design
from hidewright.design.step import Step
from hidewright.planning.steps import LINING
from hidewright.planning.steps_choice import CARD, BenchChoice, Facts
from hidewright.planning.steps_edges import Edge, open_edges
from hidewright.planning.steps_maker import maker_for
from hidewright.planning.steps_seam import GLUE_PAST_HOLES_MM, sewn_edge
from hidewright.tooling.sheets import EDGE_MM, Sheet
from hidewright.workshop.cut_leather import cut_leather
from hidewright.workshop.forming_chain import PressedBlanks
from hidewright.workshop.graph import Node
from hidewright.workshop.sewing_chain import Sewn
from hidewright.workshop.steps_chain import steps

#: Kinds of work that put a coat of conditioner on, and a coat of paint.
CONDITIONING = ("condition", "condition again")
PAINTING = ("paint edges", "last coat on edges")
GLUING = "glue with "
MM2_PER_M2 = 1e6

Yields = tuple[tuple[str, float], ...]


def all_steps(
    design: tuple[Design, Any], sewn: Sewn, facts: Facts, bench: BenchChoice
) -> tuple[Step, ...]:
    """Return the steps with those that make the tools, whether or not they are made already."""
    return steps(design, sewn, facts, replace(bench, new=True))


def needs_of(
    design: tuple[Design, Any],
    pressed: PressedBlanks,
    sewn: Sewn,
    sheets: tuple[tuple[Sheet, ...], Any],
    every: tuple[Step, ...],
    bench: BenchChoice,
    rates: WorkshopRates,
) -> Needs:
    """Return all that one article takes, as measured on what is cut, sewn and done.

    Args:
        design: The article.
        pressed: Its blanks with their outlines as cut.
        sewn: Its seams.
        sheets: What its tools are cut from.
        every: Its steps, those that make tools among them.
        bench: How the maker works.
        rates: What a coat takes.
    """
    of = design[0]
    materials = (
        *_leather(of, pressed),
        *_thread(of, sewn),
        *_glue(of, every, rates),
        *_dye(of, pressed, every, rates),
        *_conditioner(of, every, rates),
        *_edge_paint(of, sewn, every, bench, rates),
        *_fittings(of),
    )
    return Needs(
        materials=tuple(materials),
        tools=tuple(_tools(of, sheets[0], every)),
        steps=tuple(
            step
            for step in every
            if step.place_kind != "tooling" and (bench.new or not step.first_off)
        ),
    )


def cost(
    needs: Needs,
    rates: WorkshopRates,
    prices: tuple[Price, ...],
    batch: int,
    yields: Yields,
    what_if: WhatIf,
) -> Cost:
    """Return the cost of a batch."""
    return cost_of(needs, rates, prices, batch, dict(yields), what_if)


def price(cost: Cost, rates: WorkshopRates) -> Asked:
    """Return what to ask for one of a batch."""
    return asked(cost.each_minor, rates)


def rungs(
    needs: Needs,
    rates: WorkshopRates,
    prices: tuple[Price, ...],
    yields: Yields,
    what_if: WhatIf,
) -> tuple[Rung, ...]:
    """Return cost and price of one for every batch size of the ladder."""
    return ladder(needs, rates, prices, dict(yields), what_if)


def swings(
    needs: Needs,
    rates: WorkshopRates,
    prices: tuple[Price, ...],
    batch: int,
    yields: Yields,
    what_if: WhatIf,
) -> tuple[Swing, ...]:
    """Return what moves the price most."""
    return tornado(needs, rates, prices, batch, dict(yields), what_if)


def _leather(design: Design, pressed: PressedBlanks) -> Iterator[Material]:
    """Yield the blanks, every layer of them, flat pieces and covers, as cut."""
    for one in cut_leather(design, pressed):
        group: MaterialGroup = "lining" if one.role == LINING else "leather"
        use = Use(
            what=one.what,
            kind="leather",
            name=design.leather(one.role).name,
            quantity=one.outline.area / MM2_PER_M2,
            unit="m2",
            articles=one.articles,
        )
        yield Material(group=group, use=use)


def _thread(design: Design, sewn: Sewn) -> Iterator[Material]:
    for seam in sewn[0]:
        use = Use(
            what=seam.name,
            kind="thread",
            name=design.thread.name,
            quantity=seam.thread_mm / 1000.0,
            unit="m",
        )
        yield Material(group="consumables", use=use)


def _glue(design: Design, every: Iterable[Step], rates: WorkshopRates) -> Iterator[Material]:
    """Yield the glue of every joint: contact glue goes on both faces, other glue on one."""
    g_m2 = {
        "water-based glue": rates.water_based_glue_g_m2,
        "contact glue": 2.0 * rates.contact_glue_g_m2,
    }
    for step in every:
        if step.work.startswith(GLUING):
            name = step.work.removeprefix(GLUING)
            yield _consumed(step.place, name, _land_m2(design, step) * g_m2[name], "g")
    for cover in covers_of(design):
        glued = cover.outline.area / MM2_PER_M2 * g_m2["contact glue"]
        yield _consumed(cover.name, "contact glue", glued, "g")


def _land_m2(design: Design, step: Step) -> float:
    """Return the area that a step glues together, once for each pair of faces, m2."""
    if step.place_kind == "piece":
        return design.piece(step.place).outline.area / MM2_PER_M2
    seam = next(one for one in design.seams if one.name == step.place)
    front = design.piece(seam.edges[0].piece)
    length = front.outline.span_path(seam.edges[0].span).length
    return (len(seam.edges) - 1) * length * (seam.inset_mm + GLUE_PAST_HOLES_MM) / MM2_PER_M2


def _dye(
    design: Design, pressed: PressedBlanks, every: Iterable[Step], rates: WorkshopRates
) -> Iterator[Material]:
    blanks = {one.blank.name: one.cut.area for one in pressed[0]}
    for step in every:
        if step.work != "dye":
            continue
        if step.place_kind == "blank":
            area = blanks[step.place]
        elif step.place_kind == "piece":
            area = design.piece(step.place).outline.area
        else:
            area = math.fsum(piece.outline.area for piece in design.pieces)
        ml = area / MM2_PER_M2 * rates.dye_coats * rates.dye_ml_m2
        yield _consumed(step.place, "dye", ml, "ml", step.articles)


def _conditioner(design: Design, every: Iterable[Step], rates: WorkshopRates) -> Iterator[Material]:
    """Yield conditioner on the grain of all that is not lining, once for each coat."""
    coats = sum(step.work in CONDITIONING for step in every)
    area = math.fsum(p.outline.area for p in design.pieces if p.role != LINING) / MM2_PER_M2
    if coats:
        yield _consumed("grain side", "conditioner", coats * area * rates.conditioner_ml_m2, "ml")


def _edge_paint(
    design: Design,
    sewn: Sewn,
    every: Iterable[Step],
    bench: BenchChoice,
    rates: WorkshopRates,
) -> Iterator[Material]:
    """Yield edge paint by length: a coat for each step that paints an edge."""
    coats: dict[tuple[str, str], int] = {}
    for step in every:
        if step.work in PAINTING:
            key = (step.place_kind, step.place)
            coats[key] = coats.get(key, 0) + 1
    for edge in _edges(design, sewn, bench):
        times = coats.get((edge.place_kind, edge.place), 0)
        if times and edge.finish == "painted":
            ml = times * edge.length_mm / 1000.0 * rates.edge_paint_ml_m
            yield _consumed(edge.words, "edge paint", ml, "ml")


def _edges(design: Design, sewn: Sewn, bench: BenchChoice) -> Iterator[Edge]:
    maker = maker_for(bench)
    for piece in design.pieces:
        yield from open_edges(maker, design, piece)
    for seam, one in zip(design.seams, sewn[0], strict=True):
        yield sewn_edge(maker, design, seam, one)


def _consumed(what: str, name: str, quantity: float, unit: Any, articles: int = 1) -> Material:
    use = Use(
        what=what, kind="consumable", name=name, quantity=quantity, unit=unit, articles=articles
    )
    return Material(group="consumables", use=use)


def _fittings(design: Design) -> Iterator[Material]:
    for fitting in design.fittings:
        use = Use(
            what=fitting.name, kind="fitting", name=fitting.fitting.name, quantity=1, unit="piece"
        )
        yield Material(group="fittings", use=use)
    for magnet in design.magnets:
        use = Use(
            what=magnet.name, kind="magnet", name=magnet.magnet.name, quantity=1, unit="piece"
        )
        yield Material(group="fittings", use=use)


def _tools(design: Design, sheets: Iterable[Sheet], every: Iterable[Step]) -> Iterator[ToolSet]:
    """Yield the moulds with their blocks and the clear templates, each with its sheets."""
    sheets = tuple(sheets)
    clear = {sheet.board.name for sheet in sheets if sheet.board.transparent}
    making = [step for step in every if step.place_kind == "tooling"]
    for name, is_clear in (("moulds and blocks", False), ("templates", True)):
        some = [sheet for sheet in sheets if (sheet.board.name in clear) == is_clear]
        if some:
            yield ToolSet(
                name=name,
                wears_as="template" if is_clear else "mould",
                sheets=tuple(_used(some, _used_share)),
                laid=tuple(_used(some, lambda sheet: 1.0)),
                minutes=math.fsum(
                    step.load_minutes + step.thing_minutes
                    for step in making
                    if (step.place in clear) == is_clear
                ),
                articles=1 if is_clear else _articles(design),
            )


def _articles(design: Design) -> int:
    """Return how many articles a pressing of every mould serves at least."""
    return min((blank.articles for blank in design.blanks), default=1)


def _used(sheets: Iterable[Sheet], of: Callable[[Sheet], float]) -> Iterator[Use]:
    """Yield what is used of each board, by the share of each sheet.

    Card goes by the area of its parts and by thickness, since it is built up from what there is.
    """
    amounts: dict[str, float] = {}
    for sheet in sheets:
        board = sheet.board
        if board.material == CARD:
            area = _used_share(sheet) * board.sheet_width_mm * board.sheet_height_mm / MM2_PER_M2
            amounts[CARD] = amounts.get(CARD, 0.0) + area * board.thickness_mm
        else:
            amounts[board.name] = amounts.get(board.name, 0.0) + of(sheet)
    for name, amount in amounts.items():
        yield Use(
            what="tools",
            kind="board",
            name=name,
            quantity=amount,
            unit="m2" if name == CARD else "sheet",
        )


def _used_share(sheet: Sheet) -> float:
    """Return the share of a sheet that is used up across its whole width."""
    top = max(p.cut.outer.rotated(p.turn).bounds[3] + p.shift[1] for p in sheet.placed)
    return min(1.0, (top + EDGE_MM) / sheet.board.sheet_height_mm)


NODES = (
    Node(name="all steps", needs=("design", "sewn", "bench facts", "bench"), compute=all_steps),
    Node(
        name="needs",
        needs=("design", "pressed blanks", "sewn", "sheets", "all steps", "bench", "rates"),
        compute=needs_of,
    ),
    Node(
        name="cost",
        needs=("needs", "rates", "prices", "batch", "yields", "what if"),
        compute=cost,
    ),
    Node(name="asked", needs=("cost", "rates"), compute=price),
    Node(name="ladder", needs=("needs", "rates", "prices", "yields", "what if"), compute=rungs),
    Node(
        name="tornado",
        needs=("needs", "rates", "prices", "batch", "yields", "what if"),
        compute=swings,
    ),
)
