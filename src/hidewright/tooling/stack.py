"""A block of a wanted height: a stack of plates, marked, pinned and eased at its crown."""

from collections.abc import Callable, Sequence
from itertools import pairwise

from hidewright.catalogue.boards import Board
from hidewright.design.choices import ToolingChoice
from hidewright.design.part import Easing, Part, PartHole, PartRole
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import bounds_of, line
from hidewright.geometry.shapes import circle
from hidewright.tooling.dowels import dowel_places, pin_places
from hidewright.tooling.marks import clearances, marked
from hidewright.tooling.stacks import LEAST_SHIM_MM, Layer, packing

#: Board round a window for a knife or clamps to lie on, mm; common practice.
REST_MM = 25.0
#: Outer edge and holes of one sheet of a stack.
Plan = tuple[Outline, tuple[PartHole, ...]]


def stacked(
    name: str,
    role: PartRole,
    layers: Sequence[Layer],
    plan: Callable[[Layer], Plan],
    *,
    crown_mm: float = 0.0,
    note: str = "",
) -> tuple[Part, ...]:
    """Return the parts of a stack, numbered from the bottom, marked, the crown's easing on top.

    Args:
        name: Of the stack; the parts are ``name plate 1 of 2`` and so on, ``name shim``.
        role: Of its plates, or of the card where there are none; a shim has its own.
        layers: From the bottom up.
        plan: Outer edge and holes of a layer, mm.
        crown_mm: Radius of the top edge, 0 for none.
        note: What the maker must know about it.
    """
    plates = [layer for layer in layers if not layer.is_shim]
    parts = []
    for layer in layers:
        outline, holes = plan(layer)
        packs = layer.is_shim and bool(plates)
        if layer.is_shim:
            number = "shim" if packs else "of card"
        else:
            number = f"plate {plates.index(layer) + 1} of {len(plates)}"
        marks = marked(outline, [h.outline for h in holes], (name, f"{number}, this side up"))
        eased = layer is layers[-1] and crown_mm > 0
        parts.append(
            Part(
                name=f"{name} {number}",
                role="shim" if packs else role,
                board=layer.board,
                outline=outline,
                holes=holes,
                scores=marks.scores,
                labels=marks.labels,
                bottom_mm=layer.bottom_mm,
                easings=(_crown(crown_mm, layer.board),) if eased else (),
                note=note,
            )
        )
    return tuple(parts)


def filling(height_mm: float, choice: ToolingChoice, bottom_mm: float = 0.0) -> tuple[Layer, ...]:
    """Return layers, lowest first, that come as near to a height as boards and card can.

    Plates of the mould's board and of the templates' clear sheet are mixed so that the least is
    left over, which is made up with card at the bottom. The stack is never higher than asked for,
    and lower by less than 0.05 mm.

    Args:
        height_mm: Wanted height.
        choice: Gives the two sheets.
        bottom_mm: Height of the lowest face over the plane of the flange's lower face.
    """
    main, other = choice.mould_board, choice.template_board
    ways = []
    for n in range(int(height_mm / main.thickness_mm + 1e-9) + 1):
        left = height_mm - n * main.thickness_mm
        m = int(left / other.thickness_mm + 1e-9)
        rest = max(left - m * other.thickness_mm, 0.0)
        ways.append((round(rest, 6), n + m, -n, m, rest))
    _, _, negative, m, rest = min(ways)
    shims = [packing(main, rest)] if rest >= LEAST_SHIM_MM else []
    layers, at = [], bottom_mm
    for k, board in enumerate((*shims, *[other] * m, *[main] * -negative)):
        layers.append(Layer(board=board, bottom_mm=at, is_shim=k < len(shims)))
        at += board.thickness_mm
    return tuple(layers)


def widest_web_mm(layers: Sequence[Layer]) -> float:
    """Return the web that the layers' boards ask for, the most of any, mm."""
    return max(layer.board.min_web_mm for layer in layers)


def pins(
    outline: Outline, taken: Sequence[Outline], diameter_mm: float, web_mm: float
) -> tuple[PartHole, ...]:
    """Return the dowel holes that line the plates of a block up in one way only.

    Args:
        outline: The smallest plate of the stack, mm.
        taken: Holes that are there already; the block is glued without pins where they meet them.
        diameter_mm: Of the dowels.
        web_mm: Board to be left round each.
    """
    places = pin_places(outline, diameter_mm, web_mm)
    if not places:
        return ()
    if clearances(outline, taken, places).min() < diameter_mm / 2 + web_mm:
        return ()
    return tuple(
        PartHole(outline=circle(diameter_mm / 2, at, ""), purpose="dowel") for at in places
    )


def rest_round(
    windows: Sequence[Outline], choice: ToolingChoice
) -> tuple[Outline, tuple[PartHole, ...]]:
    """Return a rectangle round windows, wide enough for a knife to lie on, and its dowel holes."""
    left, bottom, right, top = bounds_of(s for window in windows for s in window.segments)
    border = max(REST_MM, choice.plate_border_mm)
    x0, y0, x1, y1 = left - border, bottom - border, right + border, top + border
    sides = pairwise(((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)))
    dowels = tuple(
        PartHole(outline=circle(choice.dowel_mm / 2, at, ""), purpose="dowel")
        for at in dowel_places((x0, y0, x1, y1), border, choice.dowel_mm)
    )
    return Outline(tuple(line(a, b) for a, b in sides)), dowels


def _crown(radius_mm: float, board: Board) -> Easing:
    first = "after gluing the stack, " if radius_mm > board.thickness_mm else ""
    return Easing(
        radius_mm=radius_mm,
        face="top",
        edge="outline",
        how=f"{first}round-over cutter or file, then 180 grit",
    )
