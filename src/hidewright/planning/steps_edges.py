"""Steps on edges: sanded, bevelled, dyed, burnished or painted in coats."""

from collections.abc import Sequence
from dataclasses import dataclass

from hidewright.design.design import Design
from hidewright.design.piece import EdgeFinish, Piece
from hidewright.design.step import PlaceKind, Step
from hidewright.planning.steps_maker import Maker, figures, mm, span_of_time

#: Grits for edges that are burnished, and for those that are painted (a trade page on edges).
BURNISH_GRIT, PAINT_GRIT, BETWEEN_GRIT = "180, then 220", "150, then 320", "400 to 800"


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """A stretch of edge that is finished alike.

    Attributes:
        place_kind: Of a piece, or sewn.
        place: Name of the piece or seam.
        words: What it is called, such as ``open edges of front``.
        spans: Names of its spans, for the eye.
        length_mm: All of it.
        thickness_mm: Of the leather at it.
        finish: What it gets.
    """

    place_kind: PlaceKind
    place: str
    words: str
    spans: tuple[str, ...]
    length_mm: float
    thickness_mm: float
    finish: EdgeFinish


def open_edges(maker: Maker, design: Design, piece: Piece) -> tuple[Edge, ...]:
    """Return the edges of a piece that no seam runs along, one entry for each finish."""
    sewn = {e.span for s in design.seams for e in s.edges if e.piece == piece.name}
    spans = [s for s in piece.outline.spans if s not in sewn]
    finishes = [(span, finish_of(maker, piece, span)) for span in spans]
    wanted = tuple(dict.fromkeys(finish for _, finish in finishes if finish != "raw"))
    found: list[Edge] = []
    for finish in wanted:
        own = tuple(span for span, one in finishes if one == finish)
        words = f"open edges of {piece.name}"
        if len(wanted) > 1:
            words = f"{words} to be {finish}"
        found.append(
            Edge(
                place_kind="piece",
                place=piece.name,
                words=words,
                spans=own,
                length_mm=sum(piece.outline.span_path(span).length for span in own),
                thickness_mm=design.leather(piece.role).thickness_mm,
                finish=finish,
            )
        )
    return tuple(found)


def finish_of(maker: Maker, piece: Piece, span: str) -> EdgeFinish:
    """Return the finish of a span: the piece's own, else the maker's usual one."""
    return dict(piece.finishes).get(span, maker.choice.edges)


def prepare_edge(maker: Maker, edge: Edge, after: Sequence[str]) -> tuple[Step, ...]:
    """Return the steps before any dye: sanded flush where layers meet, and bevelled."""
    steps: list[Step] = []
    units = edge.length_mm / 100.0
    grit = PAINT_GRIT if edge.finish == "painted" else BURNISH_GRIT
    if edge.place_kind == "seam":
        steps.append(
            maker.step(
                "sand flush",
                edge.place_kind,
                edge.place,
                "Sand the layers flush and square, always in one direction.",
                name=f"sand flush {edge.words}",
                units=units,
                after=after,
                cautions=("sanding dust",),
                figures=figures(("Grit", grit), ("Edge", mm(edge.length_mm, 0))),
            )
        )
        after = (steps[-1].name,)
    if edge.finish == "bevelled and burnished":
        steps.append(
            maker.step(
                "bevel",
                edge.place_kind,
                edge.place,
                "Take the corners off on both faces, then sand the edge round.",
                name=f"bevel {edge.words}",
                units=units,
                after=after,
                cautions=("knife",),
                figures=figures(
                    ("Edges", ", ".join(edge.spans)),
                    ("Length", mm(edge.length_mm, 0)),
                    ("Bevel", mm(bevel_mm(edge.thickness_mm))),
                    ("Grit", grit),
                ),
            )
        )
    return tuple(steps)


def close_edge(maker: Maker, edge: Edge, after: Sequence[str]) -> tuple[Step, ...]:
    """Return the steps after any dye: edge dye, then burnished, or painted coat by coat."""
    if edge.finish == "painted":
        return _coats(maker, edge, after)
    steps: list[Step] = []
    if edge.finish == "bevelled and burnished":
        units = edge.length_mm / 100.0
        if maker.choice.dye != "none":
            steps.append(
                maker.step(
                    "dye edges",
                    edge.place_kind,
                    edge.place,
                    "Run edge dye along the edge only, and let it dry.",
                    name=f"dye {edge.words}",
                    units=units,
                    after=after,
                    cautions=("dye",),
                    figures=figures(("Colour", maker.choice.colour)),
                )
            )
            after = (steps[-1].name,)
        steps.append(
            maker.step(
                "burnish",
                edge.place_kind,
                edge.place,
                "Damp the edge, rub it with wood until it shines, wax it, rub again; finish with "
                "canvas.",
                name=f"burnish {edge.words}",
                units=units,
                after=after,
                figures=figures(
                    ("Edges", ", ".join(edge.spans)), ("Length", mm(edge.length_mm, 0))
                ),
            )
        )
    return tuple(steps)


def bevel_mm(thickness_mm: float) -> float:
    """Return the width of a bevel: a third of the leather, 0.6 to 1.2 mm.

    Common practice, no source.
    """
    return min(max(thickness_mm / 3.0, 0.6), 1.2)


def _coats(maker: Maker, edge: Edge, after: Sequence[str]) -> tuple[Step, ...]:
    """Return the coats of paint, sanded lightly between; the last one cures."""
    steps: list[Step] = []
    names = coat_names(maker.choice.paint_coats)
    for number, coat in enumerate(names):
        last = coat == names[-1]
        work = "last coat on edges" if last else "paint edges"
        rest = maker.rest(work)
        sanded = "Sand the coat before lightly, wipe it clean, then paint " if number else "Paint "
        steps.append(
            maker.step(
                work,
                edge.place_kind,
                edge.place,
                sanded + "a thin, even coat on the edge only. Keep it upright until it is dry.",
                name=f"paint {coat} coat on {edge.words}",
                units=edge.length_mm / 100.0,
                after=after,
                cautions=("paint", "sanding dust") if number else ("paint",),
                figures=figures(
                    ("Coat", f"{number + 1} of {len(names)}"),
                    ("Grit", BETWEEN_GRIT if number else PAINT_GRIT),
                    ("Length", mm(edge.length_mm, 0)),
                    ("Then dry", span_of_time(rest) if rest else ""),
                ),
            )
        )
        after = (steps[-1].name,)
    return tuple(steps)


def coat_names(count: int) -> tuple[str, ...]:
    """Return what coats are called: the first and the last keep their names when others come.

    Example:
        >>> coat_names(3), coat_names(1)
        (('first', 'middle 1', 'last'), ('last',))
    """
    if count == 1:
        return ("last",)
    return ("first", *(f"middle {i}" for i in range(1, count - 1)), "last")
