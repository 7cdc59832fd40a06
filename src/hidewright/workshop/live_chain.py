"""The chain while a slider moves: pressing on wide triangles, begun from the last answer."""

from collections.abc import MutableMapping
from dataclasses import replace

from hidewright.design.blank import Blank
from hidewright.design.piece import Piece
from hidewright.forming.answers import plate_force_N, press_force_N, pull_in
from hidewright.forming.on_blank import soaked_mm
from hidewright.workshop.forming_chain import (
    Leathers,
    OnePressed,
    PressedBlank,
    PressedBlanks,
    press_blank,
)
from hidewright.workshop.forming_line import shares_used
from hidewright.workshop.graph import Node

#: Triangles are this many times as wide as the standard ones.
COARSENESS = 1.8
#: How far the arcs of a blank's outline soaked, and as pressed and cut, may be off, mm.
EDGE_MM = (0.5, 0.05)

Last = MutableMapping[str, PressedBlank]


def with_live_pressing(nodes: tuple[Node, ...], last: Last) -> tuple[Node, ...]:
    """Return a graph that presses coarsely, from what it pressed last.

    Args:
        nodes: The whole graph.
        last: The last answer for each blank, by its name; read and written.
    """

    def press(
        blank: Blank, pieces: tuple[Piece, ...], leathers: Leathers, gap_factor: float
    ) -> OnePressed:
        before = last.get(blank.name)
        alike = before is not None and _has_zones(before, blank, pieces)
        one, about = press_blank(
            blank,
            pieces,
            leathers,
            gap_factor,
            before.layers[0].sheet.warm if before else None,
            COARSENESS,
            before.drying if before and alike else None,
            EDGE_MM,
        )
        if one.layers:
            last[blank.name] = one
        return one, about

    return tuple(
        replace(node, compute=press) if node.name == "pressed blanks" else node for node in nodes
    )


def _has_zones(before: PressedBlank, blank: Blank, pieces: tuple[Piece, ...]) -> bool:
    """Whether an earlier answer knows how every zone now on the blank dries."""
    own = {place.piece for place in blank.places}
    now = {(piece.name, zone.name) for piece in pieces if piece.name in own for zone in piece.zones}
    return now == {(dries.piece, dries.zone) for dries in before.drying.zones}


def live_figures(pressed: PressedBlanks, leathers: Leathers) -> tuple[tuple[str, str], ...]:
    """Return what pressing comes to as likely figures, without their ends."""
    rows: list[tuple[str, str]] = []
    for one in pressed[0]:
        for layer in one.layers:
            leather = dict(leathers)[layer.role]
            sheet = layer.sheet
            of = f", {one.blank.name}" if len(pressed[0]) > 1 or len(one.layers) > 1 else ""
            used = float(shares_used(layer, leather).max())
            rows += [
                (f"Used of what it bears{of}", f"{used:.0%}"),
                (
                    f"Thinnest, wet{of}",
                    f"{float(sheet.thickness.min()):.2f} mm of {soaked_mm(leather):.2f} mm laid in",
                ),
                (f"Edge drawn in{of}", f"{float(pull_in(sheet)[1].max()):.1f} mm at most"),
                (
                    f"Force to close{of}",
                    f"about {sum(press_force_N(sheet)) + plate_force_N(sheet):.0f} N",
                ),
            ]
        rows.append(
            (
                f"Blank to cut, {one.blank.name}",
                f"{one.cut.width:.0f} x {one.cut.height:.0f} mm, dry",
            )
        )
    return tuple(rows)
