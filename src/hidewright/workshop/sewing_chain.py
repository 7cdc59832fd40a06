"""From seams to holes, thread and needles."""

from hidewright.catalogue.awls import Awl
from hidewright.catalogue.needles import Needle
from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.catalogue.threads import Thread
from hidewright.design.choices import SewingChoice
from hidewright.design.piece import Piece
from hidewright.design.seam import Seam, SewnSeam
from hidewright.errors import Remark
from hidewright.stitching.between_seams import check_between_seams
from hidewright.stitching.lay_seam import lay_seam
from hidewright.stitching.needle_and_thread import SewingTools, tools_for
from hidewright.workshop.graph import Node

Sewn = tuple[tuple[SewnSeam, ...], tuple[Remark, ...]]
Tools = tuple[tuple[SewingTools, ...], tuple[Remark, ...]]


def sew(
    seams: tuple[Seam, ...],
    pieces: tuple[Piece, ...],
    thickness_of: dict[str, float],
    sewing: SewingChoice,
) -> Sewn:
    """Return every seam with its holes."""
    sewn: list[SewnSeam] = []
    remarks: list[Remark] = []
    for seam in seams:
        one, found = lay_seam(seam, pieces, thickness_of, sewing)
        sewn.append(one)
        remarks += found
    return tuple(sewn), (*remarks, *check_between_seams(sewn))


def choose_tools(sewn: Sewn, thread: Thread, sewing: SewingChoice) -> Tools:
    """Return needle and awl for each seam, from the built-in catalogue."""
    shelf = built_in_catalogue()
    threads: tuple[Thread, ...] = shelf.threads
    needles: tuple[Needle, ...] = shelf.needles
    awls: tuple[Awl, ...] = shelf.awls
    tools: list[SewingTools] = []
    remarks: list[Remark] = []
    for seam in sewn[0]:
        one, found = tools_for(seam, thread, threads, needles, awls, sewing)
        tools.append(one)
        remarks += found
    return tuple(tools), tuple(remarks)


NODES = (
    Node(name="sewn", needs=("seams", "pieces", "thicknesses", "sewing"), compute=sew),
    Node(name="sewing tools", needs=("sewn", "thread", "sewing"), compute=choose_tools),
)
