"""From sheets, pieces and moulds to the files of a pack."""

import re
from functools import partial

from hidewright.design.cover import Cover
from hidewright.design.fitting import MagnetPlace
from hidewright.design.piece import Piece
from hidewright.drawing.drawing import Drawing
from hidewright.drawing.dxf import to_dxf
from hidewright.drawing.pdf import patterns_to_pdf
from hidewright.drawing.stl import to_stl
from hidewright.drawing.svg import to_svg
from hidewright.drawing.tiles import Paper
from hidewright.errors import RequestError
from hidewright.tooling.solids import divider_solid, frame_solid, plug_solid
from hidewright.units.written import Written
from hidewright.workshop.cover_patterns import covers_drawing
from hidewright.workshop.cut_files import sheet_drawings
from hidewright.workshop.graph import Node
from hidewright.workshop.in_units import drawing_in
from hidewright.workshop.patterns import blank_drawing, piece_drawing
from hidewright.workshop.sewing_chain import Sewn
from hidewright.workshop.tool_patterns import left_out, tool_drawings
from hidewright.workshop.tooling_chain import Leathers, Mouldings, Parts

#: Contents by path in the pack.
Files = dict[str, bytes]


def piece_drawings(
    pieces: tuple[Piece, ...], sewn: Sewn, leathers: Leathers, magnets: tuple[MagnetPlace, ...]
) -> tuple[Drawing, ...]:
    """Return the pattern of each piece."""
    names = {role: leather.name for role, leather in leathers}
    return tuple(piece_drawing(piece, sewn[0], names[piece.role], magnets) for piece in pieces)


def blank_drawings(mouldings: Mouldings, leathers: Leathers) -> tuple[Drawing, ...]:
    """Return the pattern of each rough blank as it is cut."""
    names = {role: leather.name for role, leather in leathers}
    return tuple(
        blank_drawing(m.blank, m.cut, names[m.blank.role], m.soaking.angle) for m in mouldings[0]
    )


def cover_drawings(
    covers: tuple[Cover, ...], leathers: Leathers, written: Written
) -> tuple[Drawing, ...]:
    """Return the pattern of all covers together; nothing when there are none."""
    names = {role: leather.name for role, leather in leathers}
    kept = frozenset(names.values())
    say = partial(written.words, names=kept)
    return (drawing_in(covers_drawing(covers, names), say),) if covers else ()


def cut_file(drawing: Drawing, ending: str) -> str:
    """Return where a pack has a sheet."""
    return f"cut/{file_stem(drawing.title)}.{ending}"


def cut_files(drawings: tuple[Drawing, ...]) -> Files:
    """Return SVG and DXF of each sheet."""
    files: Files = {}
    for drawing in drawings:
        files[cut_file(drawing, "svg")] = to_svg(drawing)
        files[cut_file(drawing, "dxf")] = to_dxf(drawing)
    return files


def pattern_files(
    pieces: tuple[Drawing, ...],
    covers: tuple[Drawing, ...],
    blanks: tuple[Drawing, ...],
    paper: Paper,
    name: str,
    written: Written,
) -> Files:
    """Return pieces, covers and blanks as one PDF at full size, and each as SVG and DXF."""
    drawings = (*pieces, *covers, *blanks)
    files: Files = {
        f"patterns/patterns {paper}.pdf": patterns_to_pdf(
            drawings, paper, f"{name}: patterns", written
        )
    }
    for drawing in drawings:
        files[f"patterns/{file_stem(drawing.title)}.svg"] = to_svg(drawing)
        files[f"patterns/{file_stem(drawing.title)}.dxf"] = to_dxf(drawing)
    return files


def tool_files(
    mouldings: Mouldings,
    trims: Parts,
    pricks: Parts,
    blocks: Parts,
    jigs: Parts,
    paper: Paper,
    name: str,
    written: Written,
) -> Files:
    """Return all tools at full size on paper, for those without a laser; nothing without tools."""
    moulds = (part for moulding in mouldings[0] for part in moulding.tool.parts)
    parts = (*moulds, *trims[0], *pricks[0], *blocks[0], *jigs[0])
    names = frozenset(part.board.name for part in parts)
    drawings = tool_drawings(parts, paper, partial(written.words, names=names))
    if not drawings:
        return {}
    title, subject = f"{name}: tools", "full-size paper patterns of tools"
    jig = " glue jig"
    short = (f"{of.partition(jig)[0]}{jig}" if jig in of else of for of in left_out(parts))
    helps = ", ".join(dict.fromkeys(short))
    note = f"Not drawn, they can be done without; in the cut files: {helps}." if helps else ""
    pdf = patterns_to_pdf(drawings, paper, title, written, subject, note)
    return {f"patterns/tools {paper}.pdf": pdf}


def solid_files(mouldings: Mouldings) -> Files:
    """Return plug, frame and dividers' blocks of each hollow as STL, to print or mill.

    Those of a hollow that must not be made are left out where they cannot be drawn.
    """
    files: Files = {}
    forbidden = {r.place for r in mouldings[1] if r.severity == "forbids"}
    for moulding in mouldings[0]:
        tool = moulding.tool
        frames = [p for p in tool.parts if p.role == "frame" and p.bottom_mm is not None]
        bottom = min(p.bottom_mm or 0.0 for p in frames)
        top = max((p.bottom_mm or 0.0) + p.board.thickness_mm for p in frames)
        for zone in moulding.zones:
            stem = file_stem(f"{moulding.blank.name} {zone.name}")
            try:
                plug = plug_solid(zone)
                frame = frame_solid(zone, tool.gap_mm, frames[0].outline, (bottom, top))
            except RequestError as refused:
                if zone.place not in forbidden:
                    raise refused.at(zone.place) from None
                continue  # its radii do not go round it, as is told; the rest can be looked at
            files[f"solids/{stem} plug.stl"] = to_stl(plug, f"{stem} plug")
            files[f"solids/{stem} frame.stl"] = to_stl(frame, f"{stem} frame")
            floors = [p.bottom_mm or 0.0 for p in tool.parts if p.role == "cavity floor"]
            for island in zone.islands if floors else ():
                own = f"{stem} {file_stem(island.name)}"
                high = floors[0] - (zone.height_mm + tool.gap_mm - island.height_mm)
                block = divider_solid(island, tool.gap_mm, high)
                files[f"solids/{own} block.stl"] = to_stl(block, f"{own} block")
    return files


def file_stem(title: str) -> str:
    """Return a title as a file name that every system takes."""
    return re.sub(r"[^A-Za-z0-9 ._-]+", "-", title).strip(" .")


NODES = (
    Node(
        name="piece drawings",
        needs=("pieces", "sewn", "all leathers", "magnets"),
        compute=piece_drawings,
    ),
    Node(name="blank drawings", needs=("mouldings", "all leathers"), compute=blank_drawings),
    Node(
        name="cover drawings", needs=("covers", "all leathers", "written"), compute=cover_drawings
    ),
    Node(name="sheet drawings", needs=("sheets",), compute=lambda s: sheet_drawings(s[0])),
    Node(name="cut files", needs=("sheet drawings",), compute=cut_files, seconds=0.08),
    Node(
        name="pattern files",
        needs=("piece drawings", "cover drawings", "blank drawings", "paper", "name", "written"),
        compute=pattern_files,
        seconds=0.06,
    ),
    Node(
        name="tool files",
        needs=(
            "mouldings",
            "trim templates",
            "pricking templates",
            "blocks",
            "jigs",
            "paper",
            "name",
            "written",
        ),
        compute=tool_files,
        seconds=0.16,
    ),
    Node(name="solid files", needs=("mouldings",), compute=solid_files, seconds=0.03),
)
