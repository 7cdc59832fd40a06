"""Everything made for an article, looked over by checkers that share nothing with the makers."""

from collections.abc import Sequence
from dataclasses import replace

from hidewright.design.choices import ToolingChoice
from hidewright.design.design import Design
from hidewright.design.fault import Fault
from hidewright.design.part import Part
from hidewright.design.seam import SewnSeam
from hidewright.stitching.acceptance import accept_assembled, accept_seam
from hidewright.tooling.acceptance.cut import accept_cut
from hidewright.tooling.acceptance.mould import accept_mould
from hidewright.tooling.acceptance.sheet_part import accept_part
from hidewright.tooling.acceptance.templates import accept_templates
from hidewright.tooling.sheets import Sheet
from hidewright.workshop.tooling_chain import Moulding


def faults_of_seams(design: Design, sewn: Sequence[SewnSeam]) -> tuple[Fault, ...]:
    """Return every fault of the seams, on their pieces and in the closed article."""
    thickness_of = {p.name: design.leather(p.role).thickness_mm for p in design.pieces}
    faults: list[Fault] = []
    for seam, holes in zip(design.seams, sewn, strict=True):
        faults += accept_seam(seam, design.pieces, holes)
        faults += accept_assembled(design.assembly, holes, design.pieces, thickness_of)
    return tuple(faults)


def faults_of_tools(
    design: Design,
    sewn: Sequence[SewnSeam],
    mouldings: Sequence[Moulding],
    templates: Sequence[Part],
    blocks: Sequence[Part],
    tooling: ToolingChoice,
) -> tuple[Fault, ...]:
    """Return every fault of moulds, templates and blocks."""
    faults: list[Fault] = []
    for one in mouldings:
        leather = design.leather(one.blank.role)
        faults += accept_mould(one.blank, design.pieces, leather, tooling, one.tool)
    faults += accept_templates(
        [(piece, design.leather(piece.role)) for piece in design.pieces],
        list(zip(design.seams, sewn, strict=True)),
        tooling,
        templates,
    )
    for block in blocks:
        faults += accept_part(block)
    return tuple(faults)


def faults_of_sheets(sheets: Sequence[Sheet], parts: Sequence[Part]) -> tuple[Fault, ...]:
    """Return every fault of the beam's paths, each part's once, and parts that are not cut."""
    by_name = {part.name: part for part in parts}
    times = dict.fromkeys(by_name, 0)
    faults: list[Fault] = []
    for sheet in sheets:
        for placed in sheet.placed:
            cut, times[placed.cut.part] = placed.cut, times[placed.cut.part] + 1
            if times[cut.part] == 1:
                part = replace(by_name[cut.part], board=sheet.board)
                faults += accept_cut(part, cut.cuts, turned_over=cut.face_up == "bottom")
    for name, part in by_name.items():
        if times[name] != part.count:
            faults.append(
                Fault(
                    code="part-not-cut",
                    part=name,
                    measured=times[name],
                    allowed=part.count,
                    sentence=f"{name} is cut {times[name]} times, not {part.count}",
                )
            )
    return tuple(faults)
