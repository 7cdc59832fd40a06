"""What is done to make an article, in bench order: the steps that its design asks for.

Leather and wet work first, blank by blank; then pieces, each trimmed, punched, its open edges
bevelled, pricked, dyed if that is when the maker dyes, its open edges finished; then fittings and
magnets, because sewing closes them off; then the seams, those within others first; then their
edges, and what is done to the whole article. A step comes after whatever it needs and nothing
else, so that the plan may use the rest of the freedom.
"""

from collections.abc import Iterable, Mapping, Sequence

from hidewright.design.cover import covers_of
from hidewright.design.design import Design
from hidewright.design.piece import Piece
from hidewright.design.seam import Seam, SewnSeam
from hidewright.design.step import Reading, Step, must_be_in_order
from hidewright.errors import RequestError
from hidewright.planning.own_step import with_own_steps
from hidewright.planning.steps_choice import BenchChoice, Facts
from hidewright.planning.steps_dye import blank_of, dye_article, dye_piece
from hidewright.planning.steps_edges import Edge, close_edge, open_edges, prepare_edge
from hidewright.planning.steps_maker import Maker, figures, maker_for, span_of_time
from hidewright.planning.steps_mould import blank_steps, leather_steps, tooling_steps
from hidewright.planning.steps_piece import (
    cut_flat,
    prick,
    punch,
    set_fitting,
    set_magnet,
    trim_moulded,
)
from hidewright.planning.steps_seam import (
    glue_lining,
    glue_seam,
    in_sewing_order,
    sew,
    sewn_edge,
    through_from_front,
)

#: Role of leather that is glued in where no seam holds it.
LINING = "lining"
THROUGH = "glued, trimmed flush, pricked from the front"


def steps_of(
    design: Design, sewn: Sequence[SewnSeam], facts: Facts, choice: BenchChoice
) -> tuple[Step, ...]:
    """Return the steps of one article in bench order.

    Args:
        design: The article.
        sewn: Its seams with their holes, by name.
        facts: What forming, tooling and stitching have found about it.
        choice: How the maker works.

    Raises:
        RequestError: When a time is given for work that there is not, or something forbids a
            change of the maker's.
    """
    bench = _Bench(design, {one.name: one for one in sewn}, facts, maker_for(choice))
    if choice.new:
        bench.add(tooling_steps(bench.maker, design, facts))
        bench.add(leather_steps(bench.maker, design))
    bench.flat_and_moulded()
    bench.linings()
    bench.pieces()
    bench.fittings()
    edges = [bench.seam(seam) for seam in in_sewing_order(design.seams)]
    bench.whole([edge for edge in edges if edge is not None])
    must_be_in_order(bench.steps)
    try:
        return with_own_steps(bench.steps, choice.own_steps)
    except RequestError as refused:
        raise RequestError(
            f"your own changes of the steps, on the page of the batch: {refused.what}",
            because=refused.because,
            mend=refused.mend,
        ) from None


class _Bench:
    """The article as it lies on the bench: the steps so far, and which of them each piece is at."""

    def __init__(
        self, design: Design, sewn: Mapping[str, SewnSeam], facts: Facts, maker: Maker
    ) -> None:
        self.design, self.sewn, self.facts, self.maker = design, sewn, facts, maker
        self.steps: list[Step] = []
        self.at: dict[str, tuple[str, ...]] = {p.name: () for p in design.pieces}

    def add(self, steps: Iterable[Step]) -> tuple[Step, ...]:
        """Put steps at the end and return them."""
        found = tuple(steps)
        self.steps += found
        return found

    def on(self, piece: str, steps: Iterable[Step]) -> None:
        """Put steps at the end that end with a piece being at the last of them."""
        found = self.add(steps)
        if found:
            self.at[piece] = (found[-1].name,)

    def before(self, pieces: Iterable[str]) -> tuple[str, ...]:
        """Return all that must be done before several pieces can go on together."""
        return tuple(dict.fromkeys(name for piece in pieces for name in self.at[piece]))

    def flat_and_moulded(self) -> None:
        """Cut flat pieces; press the blanks; trim what comes of them; punch holes."""
        design = self.design
        skived = sorted(
            (p for p in design.pieces if blank_of(design, p) is None), key=lambda p: not p.skives
        )
        for piece in skived:
            self.on(piece.name, cut_flat(self.maker, design, piece, self.facts))
        for blank in design.blanks:
            last = self.add(blank_steps(self.maker, design, blank, self.facts))[-1]
            for name in (*(place.piece for place in blank.places), *blank.over):
                self.at[name] = (last.name,)
        for piece in design.pieces:
            if blank_of(design, piece) is not None:
                self.on(
                    piece.name,
                    trim_moulded(self.maker, design, piece, self.facts, self.at[piece.name]),
                )
        for piece in design.pieces:
            self.on(piece.name, punch(self.maker, piece, self.at[piece.name]))

    def linings(self) -> None:
        """Glue in linings that no seam holds."""
        for lining in self._loose():
            into = [p for p in self.design.pieces if p.role != LINING]
            after = self.before([lining.name, *(p.name for p in into)])
            last = self.add(glue_lining(self.maker, lining, into, after))[-1]
            for piece in (lining, *into):
                self.at[piece.name] = (last.name,)

    def pieces(self) -> None:
        """Bevel open edges, prick, dye if that is when, and finish the edges, piece by piece."""
        loose = {p.name for p in self._loose()}
        pieces = [p for p in self.design.pieces if p.name not in loose]
        edges = {p.name: open_edges(self.maker, self.design, p) for p in pieces}
        ready: dict[str, list[str]] = {p.name: [] for p in pieces}
        for piece in pieces:
            for edge in edges[piece.name]:
                made = self.add(prepare_edge(self.maker, edge, self.at[piece.name]))
                ready[piece.name] += [made[-1].name] if made else []
        for piece in pieces:
            ready[piece.name] += [step.name for step in self.add(self._pricked(piece))]
            self.at[piece.name] = tuple(ready[piece.name]) or self.at[piece.name]
        for piece in pieces:
            if self._dyes_here(piece):
                dyed = dye_piece(self.maker, self.design, piece, self.facts, self.at[piece.name])
                self.on(piece.name, dyed)
        for piece in pieces:
            self._close(piece, edges[piece.name])

    def _dyes_here(self, piece: Piece) -> bool:
        """Whether a piece is dyed by itself; a flat one also where blanks are dyed flat.

        Leather of other tannage is bought in its colour.
        """
        if self.design.leather(piece.role).tannage != "vegetable":
            return False
        dye = self.maker.choice.dye
        is_flat = blank_of(self.design, piece) is None
        return dye == "pieces" or (dye == "before moulding" and is_flat)

    def _close(self, piece: Piece, edges: Sequence[Edge]) -> None:
        """Burnish or paint open edges, each after all that came before on the piece."""
        ends = [
            made[-1].name
            for edge in edges
            if (made := self.add(close_edge(self.maker, edge, self.at[piece.name])))
        ]
        self.at[piece.name] = tuple(ends) or self.at[piece.name]

    def _pricked(self, piece: Piece) -> tuple[Step, ...]:
        return tuple(
            prick(self.maker, piece, self.sewn[seam.name], self.facts, self.at[piece.name])
            for seam in self.design.seams
            if seam.way != THROUGH and piece.name in {e.piece for e in seam.edges}
        )

    def fittings(self) -> None:
        """Set fittings and magnets: sewing closes most of them off, and none is easier later.

        A cover goes on at the last of what it covers.
        """
        cover_at = {cover.over[-1]: cover for cover in covers_of(self.design)}
        for place in self.design.fittings:
            through = [
                p.name
                for p in self.design.pieces
                if p.name == place.piece or any(h.name == place.name for h in p.holes)
            ]
            cover = cover_at.get(place.name)
            made = set_fitting(self.maker, place, through, cover, self.before(through))
            step = self.add((made,))[0]
            for name in through:
                self.at[name] = (step.name,)
        for magnet in self.design.magnets:
            cover = cover_at.get(magnet.name)
            after = self.at[magnet.piece]
            self.on(magnet.piece, (set_magnet(self.maker, magnet, cover, self.facts, after),))

    def seam(self, seam: Seam) -> Edge | None:
        """Glue and sew a seam and prepare its edge; return that edge, None where it stays raw."""
        sewn = self.sewn[seam.name]
        pieces = list(dict.fromkeys(e.piece for e in seam.edges))
        edge = sewn_edge(self.maker, self.design, seam, sewn)
        after = self.before(pieces)
        glued = self.add(glue_seam(self.maker, self.design, seam, self.facts, after))
        after = (glued[-1].name,) if glued else after
        if seam.way == THROUGH:
            made = self.add(through_from_front(self.maker, seam, sewn, self.facts, edge, after))
            after = (made[-1].name,)
        last = self.add((sew(self.maker, self.design, seam, sewn, self.facts, after),))
        if edge.finish != "raw":
            last = self.add(prepare_edge(self.maker, edge, (last[-1].name,))) or last
        for name in pieces:
            self.at[name] = (last[-1].name,)
        return edge if edge.finish != "raw" else None

    def whole(self, edges: Sequence[Edge]) -> None:
        """Do what is done to the whole article: dye, close the sewn edges, condition, check."""
        name, maker = self.design.name, self.maker
        ends = self.before(self.at)
        if maker.choice.dye == "assembled":
            ends = (self.add(dye_article(maker, self.design, self.facts, ends))[-1].name,)
        closed = [
            made[-1].name for edge in edges if (made := self.add(close_edge(maker, edge, ends)))
        ]
        ends = tuple(dict.fromkeys((*ends, *closed)))
        first, again = (maker.rest("condition"), maker.rest("condition again"))
        one = maker.step(
            "condition",
            "article",
            name,
            "Rub conditioner in thinly and evenly with a soft cloth, grain side only; no more than "
            "it takes up.",
            name="condition",
            after=ends,
            cautions=("oily rags",),
            figures=figures(("Once more after", span_of_time(first) if first else "")),
        )
        two = maker.step(
            "condition again",
            "article",
            name,
            "Once more, thinly, where it has gone dry.",
            name="condition again",
            after=(one.name,),
            cautions=("oily rags",),
            figures=figures(("Then leave it", span_of_time(again) if again else "")),
        )
        check = maker.step(
            "check",
            "article",
            name,
            "Put in what it carries, take it out with one hand, close it and shake it. Look along "
            "every seam and edge.",
            name="check",
            after=(two.name,),
            cautions=("sharp points",)
            if any(c.thing.sharp_points for c in self.design.carried)
            else (),
            figures=figures(
                *((f"{c.count} x {c.thing.name}", "in and out") for c in self.design.carried),
                ("Held by", self.design.held_by),
            ),
            readings=tuple(
                Reading(
                    what=f"fit of the {c.thing.name}",
                    where="with one hand, closed and shaken",
                    tool="the thing itself",
                    expected="snug, neither forced nor loose",
                    into=f"carried, {c.thing.name}: side clearance, depth clearance",
                )
                for c in self.design.carried
            ),
        )
        last = [check]
        if maker.choice.new:
            last.append(
                maker.step(
                    "measure the first-off",
                    "article",
                    name,
                    "Fill in the first-off sheet; what goes into the book is typed in there. When "
                    "all is as it should be, the batch may be cut; else change the design first.",
                    name="measure the first-off",
                    after=(check.name,),
                    first_off=True,
                )
            )
        packed = maker.step(
            "pack",
            "article",
            name,
            "Wrap it in paper, not in plastic; put the care card in.",
            name="pack",
            after=(last[-1].name,),
        )
        self.add((one, two, *last, packed))

    def _loose(self) -> list[Piece]:
        """Return linings that no seam holds."""
        held = {e.piece for seam in self.design.seams for e in seam.edges}
        others = [p for p in self.design.pieces if p.role != LINING]
        return [p for p in self.design.pieces if p.role == LINING and p.name not in held and others]
