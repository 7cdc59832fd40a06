"""Everything made for an article, looked over by checkers that share nothing with the makers."""

from collections.abc import Sequence
from dataclasses import replace

from hidewright.design.choices import ToolingChoice
from hidewright.design.fault import Fault
from hidewright.design.piece import Piece
from hidewright.design.pose import Assembly
from hidewright.design.seam import Seam, SewnSeam
from hidewright.errors import Remark
from hidewright.stitching.acceptance import accept_assembled, accept_seam
from hidewright.tooling.acceptance.cut import Pair, accept_cut
from hidewright.tooling.acceptance.mould import accept_mould
from hidewright.tooling.acceptance.sheet_part import accept_part
from hidewright.tooling.acceptance.templates import accept_templates
from hidewright.tooling.sheets import TOO_LARGE, Sheet
from hidewright.workshop.graph import Node
from hidewright.workshop.sewing_chain import Sewn
from hidewright.workshop.tooling_chain import Leathers, Mouldings, Parts

#: Faults that a remark has told the maker about, and the codes of those remarks.
TOLD = (
    (
        "web-too-thin",
        ("stitch-holes-too-near", "stitch-hole-near-template-edge", "template-leg-narrow"),
    ),
    ("part-too-thin", ("template-leg-narrow", "piece-too-thin-for-template")),
    ("cut-not-at-true-size", ("slit-narrower-than-beam",)),
)

#: Parts that belong to no mould.
_LOOSE = ("trim templates", "pricking templates", "blocks", "jigs")


def untold(faults: Sequence[Fault], remarks: Sequence[Remark]) -> tuple[Fault, ...]:
    """Return the faults that no remark has told the maker about."""
    return tuple(fault for fault in faults if not _is_told(fault, remarks))


def _is_told(fault: Fault, remarks: Sequence[Remark]) -> bool:
    codes = dict(TOLD).get(fault.code, ())
    return any(
        r.code in codes and fault.part.startswith(r.place.partition("/")[0]) for r in remarks
    )


def faults_of_seams(
    pieces: Sequence[Piece],
    seams: Sequence[Seam],
    assembly: Assembly,
    leathers: Leathers,
    sewn: Sequence[SewnSeam],
) -> tuple[Fault, ...]:
    """Return every fault of the seams, on their pieces and in the closed article."""
    thickness_of = {p.name: dict(leathers)[p.role].thickness_mm for p in pieces}
    faults: list[Fault] = []
    for seam, holes in zip(seams, sewn, strict=True):
        faults += accept_seam(seam, pieces, holes)
        faults += accept_assembled(assembly, holes, pieces, thickness_of)
    return tuple(faults)


def faults_of_tools(
    pieces: Sequence[Piece],
    seams: Sequence[Seam],
    leathers: Leathers,
    sewn: Sewn,
    mouldings: Mouldings,
    trims: Parts,
    pricks: Parts,
    blocks: Parts,
    jigs: Parts,
    tooling: ToolingChoice,
) -> tuple[Fault, ...]:
    """Return every fault of moulds, templates and blocks."""
    of = dict(leathers)
    faults: list[Fault] = []
    for one in mouldings[0]:
        faults += accept_mould(
            one.blank, pieces, of[one.blank.role], tooling, one.tool, one.drying, one.edge
        )
    faults += accept_templates(
        [(piece, of[piece.role]) for piece in pieces],
        list(zip(seams, sewn[0], strict=True)),
        tooling,
        (*trims[0], *pricks[0]),
    )
    for block in (*blocks[0], *jigs[0]):
        faults += accept_part(block)
    return tuple(faults)


def faults_of_sheets(
    sheets: tuple[tuple[Sheet, ...], tuple[Remark, ...]], mouldings: Mouldings, *others: Parts
) -> tuple[Fault, ...]:
    """Return every fault of the beam's paths, each part's once, and parts that are not cut."""
    left_out = {r.place for r in sheets[1] if r.code == TOO_LARGE}
    made = [part for moulding in mouldings[0] for part in moulding.tool.parts]
    made += [part for parts in others for part in parts[0]]
    by_name = {part.name: part for part in made if part.name not in left_out}
    times = dict.fromkeys(by_name, 0)
    known: dict[Pair, float] = {}
    faults: list[Fault] = []
    for sheet in sheets[0]:
        for placed in sheet.placed:
            cut, times[placed.cut.part] = placed.cut, times[placed.cut.part] + 1
            if times[cut.part] == 1:
                part = replace(by_name[cut.part], board=sheet.board)
                turned = cut.face_up == "bottom"
                faults += accept_cut(part, cut.cuts, turned_over=turned, known=known)
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


NODES = (
    Node(
        name="seam faults",
        needs=("pieces", "seams", "assembly", "all leathers", "sewn"),
        compute=lambda pieces, seams, closed, of, sewn: faults_of_seams(
            pieces, seams, closed, of, sewn[0]
        ),
    ),
    Node(
        name="tool faults",
        needs=("pieces", "seams", "all leathers", "sewn", "mouldings", *_LOOSE, "tooling"),
        compute=faults_of_tools,
        seconds=0.18,
    ),
    Node(
        name="sheet faults",
        needs=("sheets", "mouldings", *_LOOSE),
        compute=faults_of_sheets,
        seconds=0.12,
    ),
)
#: Names of these: their values are faults.
FAULTS = tuple(node.name for node in NODES)
