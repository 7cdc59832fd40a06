"""From the design and what the crafts found about it to the steps at the bench."""

import math
from collections.abc import Iterator, Sequence
from typing import Any

from hidewright.catalogue.leathers import Leather
from hidewright.design.choices import SewingChoice
from hidewright.design.design import Design
from hidewright.design.part import Part
from hidewright.design.piece import Piece
from hidewright.design.step import Step
from hidewright.forming.answers import pull_in
from hidewright.forming.bottoming import off_the_middle, on_floor
from hidewright.forming.drying_time import (
    DryingStage,
    dryness_path,
    hours_until,
    soak_remarks,
    stage_remarks,
)
from hidewright.forming.on_blank import behaviour_of, soaked_mm
from hidewright.forming.set import DryingBehaviour, dryness_to_unmould
from hidewright.planning.step_times import times_with
from hidewright.planning.steps import steps_of
from hidewright.planning.steps_choice import (
    CARD,
    BenchChoice,
    BlankFacts,
    BoardFacts,
    Facts,
    SeamFacts,
)
from hidewright.tooling.sheets import Sheet
from hidewright.workshop.forming_chain import Leathers, PressedBlank, PressedBlanks
from hidewright.workshop.forming_papers import LOST_MM
from hidewright.workshop.graph import Node
from hidewright.workshop.laser import cut_mm, laser_minutes
from hidewright.workshop.sewing_chain import Sewn, Tools
from hidewright.workshop.tooling_chain import Moulding, Mouldings, Parts

#: Drying times are told to full minutes of this, upwards.
ROUND_MINUTES = 5


def blank_facts(
    pressed: PressedBlanks,
    mouldings: Mouldings,
    pieces: tuple[Piece, ...],
    leathers: Leathers,
    bench: BenchChoice,
) -> tuple[BlankFacts, ...]:
    """Return what the steps of each blank go by: its hours on the plug, its size and its tool."""
    return tuple(
        _facts_of(one, moulding, pieces, leathers, bench)
        for one, moulding in zip(pressed[0], mouldings[0], strict=True)
    )


def plug_minutes(
    leathers: Sequence[Leather], closed: DryingStage, open_air: DryingStage, dryness: float
) -> int:
    """Return how long leather dries on its plug, pressed closed before, in full five minutes.

    Layers pressed together dry as one, as thick as all of them; the slowest law counts.

    Args:
        leathers: Of the layers.
        closed: How it lay in the press.
        open_air: How it lies on the plug.
        dryness: Asked for, share of the water that it has to give off.
    """
    thick = math.fsum(soaked_mm(leather) for leather in leathers)
    hours = 0.0
    for leather in leathers:
        law = behaviour_of(leather).time
        begun = float(dryness_path((closed,), thick, law)[-1])
        hours = max(hours, hours_until(dryness, open_air, thick, law, begun))
    return ROUND_MINUTES * math.ceil(60.0 * hours / ROUND_MINUTES - 1e-9)


def stages(
    bench: BenchChoice, closed_minutes: float, edge_to_edge_mm: float
) -> tuple[DryingStage, DryingStage]:
    """Return how leather lies in the press and then on its plug, in the maker's air."""
    air: dict[str, Any] = {
        "temperature_C": bench.air_C,
        "humidity": bench.humidity,
        "air_speed_m_s": bench.air_speed_m_s,
    }
    return (
        DryingStage(
            name="pressed closed",
            hours=closed_minutes / 60.0,
            faces="edges",
            edge_to_edge_mm=edge_to_edge_mm,
            **air,
        ),
        DryingStage(name="open on the plug", hours=0.0, faces="one", **air),
    )


def seam_facts(tools: Tools, sewn: Sewn) -> tuple[SeamFacts, ...]:
    """Return the names of what each seam is sewn with."""
    return tuple(
        SeamFacts(seam=seam.name, thread=one.thread.name, needle=one.needle.name, awl=one.awl.name)
        for seam, one in zip(sewn[0], tools[0], strict=True)
    )


def board_facts(
    sheets: tuple[tuple[Sheet, ...], Any], laser_speed: float
) -> tuple[BoardFacts, ...]:
    """Return what is cut on the laser at its speed, by kind of board, card as one."""
    by_board: dict[str, list[Sheet]] = {}
    for sheet in sheets[0]:
        board = CARD if sheet.board.material == CARD else sheet.board.name
        by_board.setdefault(board, []).append(sheet)
    return tuple(
        BoardFacts(
            board=board,
            sheets=len(some),
            cut_m=math.fsum(cut_mm(one) for one in some) / 1000.0,
            laser_minutes=math.fsum(laser_minutes(one, laser_speed) for one in some),
        )
        for board, some in by_board.items()
    )


def gathered(
    blanks: tuple[BlankFacts, ...],
    seams: tuple[SeamFacts, ...],
    boards: tuple[BoardFacts, ...],
    trims: Parts,
    pricks: Parts,
    blocks: Parts,
    jigs: Parts,
    sewing: SewingChoice,
) -> Facts:
    """Return all that the steps must know from other crafts."""
    parts: tuple[Part, ...] = (*trims[0], *pricks[0], *blocks[0], *jigs[0])
    return Facts(
        blanks=blanks,
        seams=seams,
        boards=boards,
        parts=parts,
        tail_mm=sewing.tail_mm,
        slit=f"slit of {sewing.slit_mm:g} mm at {math.degrees(sewing.slant):.0f}° to the line"
        if sewing.mark == "slanted"
        else f"round hole of {sewing.slit_mm:g} mm",
    )


def steps(
    design: tuple[Design, Any], sewn: Sewn, facts: Facts, bench: BenchChoice
) -> tuple[Step, ...]:
    """Return the steps of the article in bench order."""
    return steps_of(design[0], sewn[0], facts, bench)


def _facts_of(
    one: PressedBlank,
    moulding: Moulding,
    pieces: Sequence[Piece],
    leathers: Leathers,
    bench: BenchChoice,
) -> BlankFacts:
    by_name = {piece.name: piece for piece in pieces}
    roles = [by_name[name].role for name in (one.blank.places[0].piece, *one.blank.over)]
    layers = [dict(leathers)[role] for role in roles]
    closed_minutes = times_with(bench.times)["press"].rest_least_minutes
    closed, on_plug = stages(bench, closed_minutes, min(one.edge.width, one.edge.height))
    wet, _ = stages(bench, 0.0, min(one.edge.width, one.edge.height))
    along, across = _sizes(one, by_name)
    needed = max(_needed(behaviour_of(x), along, across) for x in layers)
    dry = max(bench.dry_share, needed)
    drawn_in = [pull_in(layer.sheet)[1] for layer in one.layers[:1]]
    return BlankFacts(
        blank=one.blank.name,
        plug_minutes=plug_minutes(layers, closed, on_plug, dry),
        dry_share=dry,
        earliest_minutes=plug_minutes(layers, closed, on_plug, needed),
        earliest_share=needed,
        wet_again_minutes=plug_minutes(layers, wet, on_plug, dry),
        soaked_mm=tuple((r, soaked_mm(x)) for r, x in zip(roles, layers, strict=True)),
        cut_mm=(one.cut.width, one.cut.height),
        pull_in_mm=(float(drawn_in[0].min()), float(drawn_in[0].max())) if drawn_in else None,
        tool=moulding.tool,
        floors_off_mm=tuple(_floors_off(one, moulding)),
        hours_measured=all(leather.is_measured("drying_hours") for leather in layers),
        soak_says=tuple(r.sentence for r in soak_remarks(bench.water_C, one.blank.name)),
        drying_says=tuple(r.sentence for r in stage_remarks((closed, on_plug), one.blank.name)),
    )


def _floors_off(one: PressedBlank, moulding: Moulding) -> Iterator[tuple[str, float]]:
    """Yield how far the middle of each floor may stand off its plug when it has dried, mm.

    A floor of the cavity lets it stand off by what the gap leaves over the leather, no more.
    """
    floored = any(part.role == "cavity floor" for part in moulding.tool.parts)
    for layer in one.layers[:1]:
        for k, zone in enumerate(layer.zones):
            off = off_the_middle(layer.sheet, k)
            if floored:
                room = on_floor(layer.sheet, k, moulding.tool.gap_mm)
                off = min(off, max(room.room_mm - room.thinnest_mm, 0.0))
            for piece, name in zone.sources:
                yield f"{piece}/{name}", off * one.drying.zone(piece, name).height


def _needed(behaviour: DryingBehaviour, along: float, across: float) -> float:
    return dryness_to_unmould(behaviour, along, across, LOST_MM)


def _sizes(one: PressedBlank, pieces: dict[str, Piece]) -> tuple[float, float]:
    """Return the largest size of a blank's hollows along the backbone and across it, mm."""
    first = one.blank.places[0]
    backbone = pieces[first.piece].stretch_angle + first.turn
    turned = [zone.plug.rotated(-backbone) for zone in one.zones]
    return max(o.height for o in turned), max(o.width for o in turned)


NODES = (
    Node(
        name="blank facts",
        needs=("pressed blanks", "mouldings", "pieces", "all leathers", "bench"),
        compute=blank_facts,
    ),
    Node(name="seam facts", needs=("sewing tools", "sewn"), compute=seam_facts),
    Node(name="board facts", needs=("sheets", "laser speed"), compute=board_facts),
    Node(
        name="bench facts",
        needs=(
            "blank facts",
            "seam facts",
            "board facts",
            "trim templates",
            "pricking templates",
            "blocks",
            "jigs",
            "sewing",
        ),
        compute=gathered,
    ),
    Node(name="steps", needs=("design", "sewn", "bench facts", "bench"), compute=steps),
)
