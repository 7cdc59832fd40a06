"""Can one part be cut from its sheet: closed loops, holes inside it and apart, no thin webs."""

from itertools import combinations

from hidewright.design.fault import Fault
from hidewright.design.part import Part, PartHole
from hidewright.geometry.probe import dense_points, lies_within, overlap, pieces_left, signed
from hidewright.geometry.probe import web_between as web_of

#: A web may be narrower than the board's least by this rounding, mm.
WEB_WITHIN_MM = 0.02
#: Marks on a part may touch its edge by this, mm.
MARK_MM = 0.01


def accept_part(part: Part) -> tuple[Fault, ...]:
    """Return what keeps a part from being cut whole.

    Outlines are closed and do not cross themselves, or they could not have been made; here holes
    must lie inside the part, apart from one another, with the board's least web between long cuts
    and its least feature beside the small holes an awl goes through. What is left of the part must
    not fall apart when a feature's width is taken off.
    """
    faults: list[Fault] = []
    board = part.board
    for hole in part.holes:
        if not lies_within(hole.outline, part.outline):
            faults.append(_fault("hole-outside", part, hole.purpose, 0.0, 0.0))
            continue
        least = _least(part, hole)
        web = web_of(hole.outline, part.outline, least)
        if web < least - WEB_WITHIN_MM:
            faults.append(_fault("web-too-thin", part, f"{hole.purpose} to edge", web, least))
    for one, two in combinations(part.holes, 2):
        if _boxes_apart(one, two) > board.min_web_mm:
            continue
        if overlap(one.outline, two.outline):
            faults.append(_fault("holes-overlap", part, f"{one.purpose}, {two.purpose}", 0.0, 0.0))
            continue
        least = min(_least(part, one), _least(part, two))
        web = web_of(one.outline, two.outline, least)
        if web < least - WEB_WITHIN_MM:
            where = f"{one.purpose} to {two.purpose}"
            faults.append(_fault("web-too-thin", part, where, web, least))
    left = pieces_left(part.outline, [h.outline for h in part.holes], board.min_feature_mm / 2.2)
    if left != 1:
        faults.append(_fault("part-too-thin", part, "somewhere", left, 1.0))
    for score in part.scores:
        out = float(signed(part.outline, dense_points(score.segments, 1.0)).max())
        if out > MARK_MM:
            faults.append(_fault("score-outside", part, "a scored line", out, MARK_MM))
    for label in part.labels:
        if not part.outline.contains(label.at) or any(
            hole.outline.contains(label.at) for hole in part.holes
        ):
            faults.append(_fault("words-outside", part, label.words, 0.0, 0.0))
    return tuple(faults)


def _boxes_apart(one: PartHole, two: PartHole) -> float:
    """Return how far the boxes round two holes are apart along x or y, mm; they are no nearer."""
    (a, b, c, d), (p, q, r, s) = one.outline.bounds, two.outline.bounds
    return max(p - c, a - r, q - d, b - s)


def _least(part: Part, hole: PartHole) -> float:
    """Return the least web beside a hole.

    Small holes for an awl carry no load; a bolt needs one diameter from its middle to an edge
    (common practice for bolts), which is no long cut.
    """
    board = part.board
    if hole.purpose in ("stitch hole", "mark"):
        return board.min_feature_mm
    if hole.purpose == "bolt":
        return min(board.min_web_mm, hole.outline.width / 2.0)
    return board.min_web_mm


def _fault(code: str, part: Part, where: str, measured: float, allowed: float) -> Fault:
    return Fault(
        code=code,
        part=part.name,
        measured=measured,
        allowed=allowed,
        sentence=f"{part.name}, {where}: {code}, {measured:.2f} of {allowed:.2f}",
    )
