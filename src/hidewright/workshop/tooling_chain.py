"""From blanks and pieces to moulds, templates, blocks and the sheets they are cut from."""

from dataclasses import dataclass, replace

from hidewright.catalogue.boards import Board
from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Blank
from hidewright.design.carried import Carried
from hidewright.design.choices import ToolingChoice
from hidewright.design.drying import BlankDrying
from hidewright.design.fitting import MagnetPlace
from hidewright.design.part import MouldTool, Part
from hidewright.design.piece import Piece
from hidewright.design.pose import Assembly
from hidewright.design.pressed_zone import PressedZone
from hidewright.design.seam import Seam
from hidewright.design.size_change import Change
from hidewright.design.states import CutOutline, FormedOutline, SoakedOutline, cut_from_soaked
from hidewright.errors import Remark
from hidewright.tooling.blocks import (
    height_trim_block,
    mouth_cut_block,
    support_block,
    trial_block,
)
from hidewright.tooling.gap import gap_for
from hidewright.tooling.hands import for_both_hands
from hidewright.tooling.jigs import glue_jig, magnet_jig
from hidewright.tooling.mould import mould_tool
from hidewright.tooling.pricking_template import pricking_templates
from hidewright.tooling.sheets import Sheet, lay_on_sheets
from hidewright.tooling.trim_template import trim_template
from hidewright.workshop.forming_chain import OnePressed
from hidewright.workshop.forming_floor import closing_force
from hidewright.workshop.gathering import joined_with_remarks, with_remarks
from hidewright.workshop.graph import Node
from hidewright.workshop.sewing_chain import Sewn

Leathers = tuple[tuple[str, Leather], ...]
Parts = tuple[tuple[Part, ...], tuple[Remark, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moulding:
    """One blank, how it is cut and the tool that presses it.

    Attributes:
        blank: What is moulded.
        soaked: Its outline as it is laid in, flat.
        soaking: How it changes from cut to soaked.
        within_mm: How far the arcs of its outline as cut may be from what was computed.
        zones: The hollows as they are pressed.
        drying: How it changes from formed to dry.
        edge: The leather's edge as it lies pressed.
        tool: Plates and blocks.
    """

    blank: Blank
    soaked: SoakedOutline
    soaking: Change
    within_mm: float
    zones: tuple[PressedZone, ...]
    drying: BlankDrying
    edge: FormedOutline
    tool: MouldTool

    @property
    def cut(self) -> CutOutline:
        """Its outline as cut, dry and flat."""
        return cut_from_soaked(self.soaked, self.soaking, self.within_mm)


Mouldings = tuple[tuple[Moulding, ...], tuple[Remark, ...]]


def mould(
    pressed: OnePressed, leathers: Leathers, tooling: ToolingChoice
) -> tuple[Moulding, tuple[Remark, ...]]:
    """Return the tool of a blank."""
    one, _ = pressed
    leather = dict(leathers)[one.blank.role]
    gap_mm, about_gap = gap_for(leather, tooling)
    force, about_floor = closing_force(one, leather, tooling, gap_mm)
    tool, about_tool = mould_tool(one.blank, one.zones, one.soaked, leather, tooling, gap_mm, force)
    if tooling.both_hands:
        both, about_hands = for_both_hands(tool, one.zones)
        tool, about_tool = both.tool, (*about_tool, *about_hands)
    moulding = Moulding(
        blank=one.blank,
        soaked=one.soaked,
        soaking=one.soaking,
        within_mm=one.edge_mm[1],
        zones=one.zones,
        drying=one.drying,
        edge=one.edge,
        tool=tool,
    )
    return moulding, (*about_gap, *about_floor, *about_tool)


def trim(
    piece: Piece, blanks: tuple[Blank, ...], leathers: Leathers, tooling: ToolingChoice
) -> Parts:
    """Return the templates that a piece is trimmed to."""
    margins = {place.piece: blank.margin_mm for blank in blanks for place in blank.places}
    return trim_template(piece, dict(leathers)[piece.role], tooling, margins.get(piece.name))


def prick_templates(
    pieces: tuple[Piece, ...],
    seams: tuple[Seam, ...],
    sewn: Sewn,
    leathers: Leathers,
    tooling: ToolingChoice,
) -> Parts:
    """Return the templates through which stitch holes are pricked."""
    of = dict(leathers)
    return pricking_templates(
        [(piece, of[piece.role]) for piece in pieces],
        list(zip(seams, sewn[0], strict=True)),
        tooling,
    )


def blocks(
    moulded: tuple[Piece, ...],
    carried: tuple[Carried, ...],
    leathers: Leathers,
    tooling: ToolingChoice,
) -> Parts:
    """Return support, mouth-cut and height-trim blocks of each zone, and a trial block a thing."""
    made: list[Parts] = []
    for piece in moulded:
        for zone in piece.zones:
            made.append(support_block(piece, zone, tooling))
            if zone.mouths:
                made.append(mouth_cut_block(piece, zone, tooling))
            if zone.cut_height_mm is not None:
                leather = dict(leathers)[piece.role]
                made.append(height_trim_block(piece, zone, leather, tooling))
    made += [trial_block(one, tooling) for one in carried if one.thing.outline is None]
    return joined_with_remarks(made)


def jigs(
    seams: tuple[Seam, ...],
    pieces: tuple[Piece, ...],
    magnets: tuple[MagnetPlace, ...],
    assembly: Assembly,
    leathers: Leathers,
    tooling: ToolingChoice,
) -> Parts:
    """Return a glue jig for each glued seam, and one for each piece with magnets."""
    with_leather = [(piece, dict(leathers)[piece.role]) for piece in pieces]
    glued = [glue_jig(seam, with_leather, assembly, tooling) for seam in seams if seam.glued]
    held = [magnet_jig(piece, magnets, assembly, tooling) for piece in pieces]
    return joined_with_remarks((*glued, *held))


def sheets(
    mouldings: Mouldings,
    trims: Parts,
    pricks: Parts,
    more: Parts,
    held: Parts,
    boards: tuple[Board, ...],
) -> tuple[tuple[Sheet, ...], tuple[Remark, ...]]:
    """Return all parts laid on sheets of the boards as they lie in the workshop."""
    parts = (
        *(part for moulding in mouldings[0] for part in moulding.tool.parts),
        *trims[0],
        *pricks[0],
        *more[0],
        *held[0],
    )
    return lay_on_sheets(tuple(_of_stock(part, boards) for part in parts))


def _of_stock(part: Part, boards: tuple[Board, ...]) -> Part:
    """Return a part on its true board; card shims take kerf and sheet of the mould board."""
    for board in boards:
        if board.name == part.board.name:
            return replace(part, board=board)
    stock = boards[0]
    sized = replace(
        part.board,
        kerf_mm=stock.kerf_mm,
        sheet_width_mm=stock.sheet_width_mm,
        sheet_height_mm=stock.sheet_height_mm,
    )
    return replace(part, board=sized)


NODES = (
    Node(
        name="mouldings",
        needs=("pressed blanks", "all leathers", "tooling"),
        compute=mould,
        gather=with_remarks,
        seconds=0.1,
    ),
    Node(
        name="trim templates",
        needs=("pieces", "blanks", "all leathers", "tooling"),
        compute=trim,
        gather=joined_with_remarks,
        seconds=0.08,
    ),
    Node(
        name="pricking templates",
        needs=("pieces", "seams", "sewn", "all leathers", "tooling"),
        compute=prick_templates,
    ),
    Node(
        name="blocks",
        needs=("moulded", "carried", "all leathers", "tooling"),
        compute=blocks,
        seconds=0.04,
    ),
    Node(
        name="jigs",
        needs=("seams", "pieces", "magnets", "assembly", "all leathers", "tooling"),
        compute=jigs,
        seconds=0.03,
    ),
    Node(
        name="sheets",
        needs=("mouldings", "trim templates", "pricking templates", "blocks", "jigs", "boards"),
        compute=sheets,
        seconds=0.03,
    ),
)
