"""Cutting from the command line: designs and hides in, a layout for each leather out."""

import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, replace
from typing import Any

from hidewright.design.asked_piece import AskedPiece
from hidewright.design.cut_layout import CutLayout, Question
from hidewright.design.hide_presets import hide_of, preset_named
from hidewright.design.specification import Specification
from hidewright.design.stock_hide import StockHide
from hidewright.drawing.read_outlines import read_outlines
from hidewright.errors import RequestError
from hidewright.nesting.warm import compile_kernels
from hidewright.store.hides_file import read_hides
from hidewright.units.area import parse_area
from hidewright.workshop import article
from hidewright.workshop.compiling import told_if_slow
from hidewright.workshop.cutting.asked import (
    BEAM_EDGE_MM,
    BEAM_SPACING_MM,
    SPACING_MM,
    CutAsked,
)
from hidewright.workshop.cutting.hide_outline import hide_from
from hidewright.workshop.cutting.pieces import asked_pieces
from hidewright.workshop.cutting.problem import ENDLESS, check_budget, laid_piece
from hidewright.workshop.cutting.questions import answer_cut
from hidewright.workshop.cutting.sheets import (
    boards_of,
    sheet_pieces,
    whole_sheet,
)
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of

#: Stands for the leather of the pieces, where a hide does not say its own.
ANY = "any"
Designs = Sequence[tuple[Specification[Any], int]]


def preset_hide(words: str) -> StockHide:
    """Return a hide written as ``shoulder:0.8 m2``.

    Raises:
        RequestError: When it is no such preset or area.
    """
    name, _, area = words.partition(":")
    preset = preset_named(name)
    m2 = parse_area(area) if area.strip() else preset.usual_m2
    return StockHide(hide=hide_of(preset, m2, name=name), material=ANY)


def hides_in(data: bytes, name: str) -> tuple[StockHide, ...]:
    """Return the hides in a file: a list of them as JSON, or one drawn as SVG or DXF.

    Raises:
        RequestError: When it cannot be read.
    """
    if name.lower().endswith(".json"):
        return read_hides(data, name=name)
    hide, _ = hide_from(read_outlines(data, name=name), name.rpartition(".")[0])
    return (StockHide(hide=hide, material=ANY),)


def cut_designs(
    designs: Designs,
    hides: Sequence[StockHide],
    *,
    sets: int | None,
    rounds: int | None,
    seconds: float | None,
    seed: int,
    say: Callable[[str], None] = lambda _: None,
    progress: Callable[[str], None] = lambda _: None,
) -> tuple[CutLayout, ...]:
    """Return a layout for each leather that there is a hide of.

    Args:
        designs: What a set is made of, with how many of each.
        hides: What is cut from; one without a leather is of the pieces' own.
        sets: How many are wanted; None for as many as one hide holds.
        rounds: Budget of the search for each leather; None is no limit but the seconds.
        seconds: When to stop before; None is never.
        seed: Of the random numbers.
        say: Told when the kernels are being compiled.
        progress: Told what is being done.

    Raises:
        RequestError: When the request is at fault, or no layout was found.
    """
    check_budget(rounds, seconds, seed)
    if sets is not None and sets < 1:
        raise RequestError(f"{sets} sets are asked for", mend="Ask for one or more")
    pieces: list[tuple[AskedPiece, int]] = []
    for spec, count in designs:
        made, pressed = _values(spec, ("design", "pressed blanks"), progress)
        pieces += [(piece, count) for piece in asked_pieces(made[0], pressed, SPACING_MM)]
    leathers = tuple(dict.fromkeys(piece.material for piece, _ in pieces))
    with told_if_slow(say):
        compile_kernels()
    found = []
    for leather in leathers:
        own = [replace(h, material=leather) for h in hides if h.material in (ANY, leather)]
        if not own:
            say(f"no hide of {leather}: what is cut from it is left out")
            continue
        asked = CutAsked(
            question=_question(sets),
            pieces=tuple((piece, n) for piece, n in pieces if piece.material == leather),
            sets=sets or 1,
            hides=tuple((str(number), hide) for number, hide in enumerate(own)),
            rounds=ENDLESS if rounds is None else rounds,
            seed=seed,
        )
        found.append(_answered(asked, seconds, progress))
    if not found:
        raise RequestError(
            f"no hide of {' or '.join(leathers) or 'any leather'}",
            mend="Give a hide of that leather, or a preset with its area",
        )
    return tuple(found)


def cut_tooling(
    designs: Designs,
    *,
    rounds: int | None,
    seconds: float | None,
    seed: int,
    say: Callable[[str], None] = lambda _: None,
    progress: Callable[[str], None] = lambda _: None,
) -> tuple[CutLayout, ...]:
    """Return a layout for each board that the tools of some designs are cut from.

    Args:
        designs: Whose tools are cut, once each.
        rounds: Budget of the search for each board.
        seconds: When to stop before, for each.
        seed: Of the random numbers.
        say: Told when the kernels are being compiled.
        progress: Told what is being done.

    Raises:
        RequestError: When the request is at fault, or no layout was found.
    """
    check_budget(rounds, seconds, seed)
    with told_if_slow(say):
        compile_kernels()
    sheets = [(spec.brief.name, _values(spec, ("sheets",), progress)[0][0]) for spec, _ in designs]
    found = []
    for board in boards_of(sheet for _, some in sheets for sheet in some):
        parts = tuple(part for name, some in sheets for part in sheet_pieces(name, some, board))
        asked = CutAsked(
            question="fewest sheets",
            pieces=parts,
            sets=1,
            hides=(),
            offered=whole_sheet(board),
            spacing_mm=BEAM_SPACING_MM,
            edge_margin_mm=BEAM_EDGE_MM,
            rounds=ENDLESS if rounds is None else rounds,
            seed=seed,
        )
        found.append(_answered(asked, seconds, progress))
    return tuple(found)


def as_figures(layout: CutLayout) -> dict[str, Any]:
    """Return a layout for machines, its placements as those of a nesting problem."""
    placements = [laid_piece(layout, placement) for placement in layout.placements]
    return {
        "placements": [asdict(one) for one in placements],
        "material": layout.material,
        "goal": layout.question,
        "figure": layout.figure,
        "bound": layout.bound,
        "sets": layout.sets,
        "articles": [list(one) for one in layout.articles],
        "used": layout.yield_share,
        "taken_m2": layout.taken_m2,
        "pieces_m2": layout.pieces_m2,
        "rounds": layout.rounds,
        "seed": layout.seed,
        "seconds": layout.seconds,
        "checked": True,
    }


def _question(sets: int | None) -> Question:
    return "most sets" if sets is None else "least leather"


def _answered(asked: CutAsked, seconds: float | None, progress: Callable[[str], None]) -> CutLayout:
    end = float("inf") if seconds is None else time.perf_counter() + seconds
    return answer_cut(asked, called_off=lambda: time.perf_counter() >= end, say=progress)


def _values(
    spec: Specification[Any], wanted: tuple[str, ...], progress: Callable[[str], None]
) -> tuple[Any, ...]:
    values = evaluate(article.NODES, inputs_of(spec, "A4"), wanted, Cache(), progress).values
    for value in values.values():
        if isinstance(value, Missing):
            raise value.because
    return tuple(values[name] for name in wanted)
