"""A specification cut into the slices that the graph's nodes take."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from hidewright.catalogue.boards import Board
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.specification import Specification
from hidewright.drawing.tiles import Paper
from hidewright.planning.steps_choice import BenchChoice
from hidewright.units.written import METRIC, Written
from hidewright.workshop.digest import digest
from hidewright.workshop.learned_beliefs import Beliefs, beliefs_of

#: Kerf that stands in where the true kerf must not matter, mm.
_ANY_KERF_MM = 0.2


def inputs_of(
    spec: Specification[Any],
    paper: Paper,
    day: str = "",
    written: Written = METRIC,
    believed: Beliefs | None = None,
    laser_speed: float = WorkshopRates().laser_speed,
    bench: BenchChoice | None = None,
) -> Mapping[str, object]:
    """Return the graph's inputs by name; a field of the design file touches only its own slice.

    Kerf and sheet size are slices of their own, so that they reach the cut files and nothing else.

    Args:
        spec: The design file's content.
        paper: For what is printed.
        day: Written on papers; left out when empty, so that the same design gives the same bytes.
        written: How papers write measures; what is reckoned never knows of it.
        believed: Of its leathers and boards; what the catalogue says without it.
        laser_speed: Of the rates, mm/s.
        bench: How it is made at the bench, and own times; the usual way without it.
    """
    brief, tooling = spec.brief, spec.tooling
    boards = (tooling.mould_board, tooling.template_board)
    believed = believed or beliefs_of(brief.leathers, boards)
    return {
        "kind": brief.kind,
        "name": brief.name,
        "carried": brief.carried,
        "measures": brief.measures,
        "leathers": brief.leathers,
        "thread": brief.thread,
        "chosen fittings": brief.fittings,
        "chosen magnets": brief.magnets,
        "sewing": spec.sewing,
        "changes": spec.changes,
        "tooling": replace(
            tooling, mould_board=_as_plate(boards[0]), template_board=_as_plate(boards[1])
        ),
        "boards": boards,
        "gap factor": tooling.gap_factor,
        "paper": paper,
        "bench": bench or BenchChoice(),
        "laser speed": laser_speed,
        "revision": digest(spec).hex()[:8],
        "day": day,
        "written": written,
        "leather beliefs": believed.leathers,
    }


def _as_plate(board: Board) -> Board:
    return replace(board, kerf_mm=_ANY_KERF_MM)
