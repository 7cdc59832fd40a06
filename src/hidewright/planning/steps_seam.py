"""Steps of a seam: roughened, glued, clamped, sewn, and its edge made one."""

from collections.abc import Sequence

from hidewright.design.design import Design
from hidewright.design.piece import Piece
from hidewright.design.seam import Seam, SewnSeam
from hidewright.design.step import Hold, PlaceKind, Reading, Step
from hidewright.planning.steps_choice import Facts
from hidewright.planning.steps_edges import Edge, finish_of
from hidewright.planning.steps_maker import Maker, between, figures, mm, span_of_time
from hidewright.units.length import format_length

#: Glue goes in from the edge to just past the stitch line, mm; common practice, no source.
GLUE_PAST_HOLES_MM = 1.5


def in_sewing_order(seams: Sequence[Seam]) -> tuple[Seam, ...]:
    """Return seams in the order they are sewn: one within few layers before one through more.

    A seam whose pieces are all in another one (a lining to its back) would be closed off by that
    one; it has fewer pieces, so it comes first. Equals keep the design's order.
    """
    return tuple(sorted(seams, key=lambda seam: len({e.piece for e in seam.edges})))


def stitches(sewn: SewnSeam, closed: bool) -> int:
    """Return the stitches that are sewn, those sewn back included.

    An open seam of n holes has n - 1 and is sewn back at both ends; a closed one has n and is sewn
    on over its first ones.
    """
    if closed:
        return sewn.count + sewn.reverse_stitches
    return sewn.count - 1 + 2 * sewn.reverse_stitches


def is_closed(seam: Seam, front: Piece) -> bool:
    """Whether a seam runs round its whole front piece."""
    return front.outline.spans == (seam.edges[0].span,)


def sewn_edge(maker: Maker, design: Design, seam: Seam, sewn: SewnSeam) -> Edge:
    """Return the edge of a sewn seam; it is finished as the front's span is."""
    first = seam.edges[0]
    front = design.piece(first.piece)
    return Edge(
        place_kind="seam",
        place=seam.name,
        words=f"sewn edge of {seam.name}",
        spans=(first.span,),
        length_mm=front.outline.span_path(first.span).length,
        thickness_mm=sewn.stack_mm,
        finish=finish_of(maker, front, first.span),
    )


def glue_seam(
    maker: Maker, design: Design, seam: Seam, facts: Facts, after: Sequence[str]
) -> tuple[Step, ...]:
    """Return roughening, gluing and clamping of a glued seam; nothing for one that is not."""
    if not seam.glued:
        return ()
    first = seam.edges[0]
    length = design.piece(first.piece).outline.span_path(first.span).length
    wide = min(seam.inset_mm + GLUE_PAST_HOLES_MM, _room(design, seam))
    free = [
        (f"No glue on {piece.name} beside {fold.name}", between(left, right, 1))
        for piece in map(design.piece, dict.fromkeys(e.piece for e in seam.edges))
        for fold in piece.folds
        for left, right in (fold.glue_free_mm,)
    ]
    jig = f"{seam.name} glue jig"
    return joined(
        maker,
        seam.name,
        how="with the edges level and the holes meeting: put a needle through the first, the last "
        "and a middle one",
        kind="seam",
        layers=len(seam.edges),
        length_mm=length,
        shown=(("Strip from the edge", mm(wide)), *free),
        jig=jig if facts.has(jig) else "",
        after=after,
    )


def glue_lining(
    maker: Maker, lining: Piece, into: Sequence[Piece], after: Sequence[str]
) -> tuple[Step, ...]:
    """Return the gluing in of a lining that no seam holds."""
    names = " and ".join(piece.name for piece in into)
    return joined(
        maker,
        lining.name,
        how=f"into {names}, from the middle outwards, on its support block",
        kind="piece",
        layers=2,
        length_mm=lining.outline.length,
        shown=(("Glue", "over the whole face, thin"),),
        jig="",
        after=after,
    )


def joined(
    maker: Maker,
    place: str,
    *,
    how: str,
    kind: PlaceKind,
    layers: int,
    length_mm: float,
    shown: Sequence[tuple[str, str]],
    jig: str,
    after: Sequence[str],
) -> tuple[Step, ...]:
    """Return roughen, glue, clamp and unclamp of one joint."""
    glue = f"glue with {maker.choice.glue} glue"
    open_time, setting = maker.rest(glue), maker.rest("clamp")
    units = length_mm / 100.0
    unclamp = f"unclamp {place}"
    roughen = maker.step(
        "roughen",
        kind,
        place,
        f"Roughen the glue land on {'both' if layers == 2 else f'all {layers}'} layers, grain and "
        "any finish off; keep inside the strip.",
        units=units * layers,
        after=after,
        cautions=("sanding dust",),
        figures=figures(*shown),
    )
    spread = maker.step(
        glue,
        kind,
        place,
        "Spread the glue thinly and evenly, no glue where the leather folds"
        + (
            ", on both faces, and let it dry until it does not string."
            if maker.choice.glue == "contact"
            else "; lay together while it is wet."
        ),
        name=f"glue {place}",
        units=units,
        after=(roughen.name,),
        cautions=("glue",),
        figures=figures(
            ("Glue", maker.choice.glue),
            *shown,
            ("Closed within", span_of_time(open_time) if open_time else ""),
        ),
    )
    clamp = maker.step(
        "clamp",
        kind,
        place,
        f"Lay the layers together {how}, then clamp evenly, smooth wood or waxed paper on the "
        "grain.",
        after=(spread.name,),
        holds=(Hold(station="clamps", until=unclamp),),
        limited_by="clamps",
        cautions=("iron",),
        figures=figures(("Jig", jig), ("Clamped", span_of_time(setting) if setting else "")),
    )
    free = maker.step(
        "unclamp",
        kind,
        place,
        "Take the clamps off and pick out glue that has come through.",
        after=(clamp.name,),
    )
    return roughen, spread, clamp, free


def sew(
    maker: Maker, design: Design, seam: Seam, sewn: SewnSeam, facts: Facts, after: Sequence[str]
) -> Step:
    """Return the sewing of one seam."""
    tools = facts.seam(seam.name)
    closed = is_closed(seam, design.piece(seam.edges[0].piece))
    count, back = stitches(sewn, closed), sewn.reverse_stitches
    blocks = [
        name for name in dict.fromkeys(e.piece for e in seam.edges) if facts.has(f"{name} support")
    ]
    start = (
        "Begin anywhere and sew on over the first stitches"
        if closed
        else f"Begin at hole {back + 1}, sew back to the first, forward to the last and back again"
    )
    return maker.step(
        "sew",
        "seam",
        seam.name,
        f"Saddle stitch with two needles, the {seam.edges[0].piece} towards you. {start}."
        + (" The support block stays in." if blocks else ""),
        units=count,
        after=after,
        cautions=("awl",),
        figures=figures(
            ("Thread to cut", format_length(round(sewn.thread_mm, -1))),
            ("Thread", tools.thread),
            ("Needles", f"2 x {tools.needle}"),
            ("Awl", tools.awl),
            ("Holes", f"{sewn.count}"),
            ("Pitch", between(*sewn.pitch_mm, 2)),
            ("Sewn back", f"{back} stitches" + ("" if closed else " at each end")),
            ("Stitches in all", f"{count}"),
            ("Through", mm(sewn.stack_mm)),
            ("Layers, front first", ", ".join(e.piece for e in seam.edges)),
            ("Support block", ", ".join(blocks)),
        ),
        readings=(
            Reading(
                what=f"thread left over from {seam.name}",
                where="each of the two ends when sewn",
                tool="ruler",
                expected=mm(facts.tail_mm, 0),
                into=f"seam {seam.name}, thread left",
            ),
            Reading(
                what=f"minutes for {seam.name}",
                where="from waxing the thread to cutting its ends",
                tool="watch",
                expected=f"{maker.times['sew'].minutes(count):.0f} min",
                into="book: minutes, sew",
            ),
        ),
    )


def through_from_front(
    maker: Maker, seam: Seam, sewn: SewnSeam, facts: Facts, edge: Edge, after: Sequence[str]
) -> tuple[Step, ...]:
    """Return trimming flush and pricking through of a seam that is glued oversize first."""
    front = seam.edges[0].piece
    flush = maker.step(
        "trim",
        "seam",
        seam.name,
        f"Cut the layers flush along the edge of {front}, square through all of them.",
        name=f"trim {seam.name} flush",
        units=edge.length_mm / 100.0,
        after=after,
        cautions=("knife",),
    )
    low, high = sewn.pitch_mm
    through = maker.step(
        "prick",
        "seam",
        seam.name,
        f"Lay the template of {front} on, prick every hole from the front and through all layers.",
        name=f"prick {seam.name} through",
        units=sewn.count,
        after=(flush.name,),
        cautions=("awl",),
        figures=figures(
            ("By", f"{front} pricking template"),
            ("Holes", f"{sewn.count}"),
            ("Pitch", between(low, high, 2)),
            ("Mark", facts.slit),
        ),
    )
    return flush, through


def _room(design: Design, seam: Seam) -> float:
    """Return the width of the land that the narrowest layer leaves beside its hollow, mm."""
    room = float("inf")
    for edge in seam.edges:
        piece = design.piece(edge.piece)
        span = piece.outline.span_path(edge.span)
        for zone in piece.zones:
            points = zone.outline.flat_points()
            room = min(room, *(span.nearest((float(x), float(y)))[1] for x, y in points))
    return max(room, 0.0)
