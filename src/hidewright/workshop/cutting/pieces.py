"""What the pieces of a design ask of the leather they are cut from."""

from collections.abc import Sequence
from dataclasses import replace
from math import degrees, radians

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.asked_piece import AskedPiece
from hidewright.design.blank import PiecePlace
from hidewright.design.design import Design
from hidewright.design.hide import Corners
from hidewright.design.piece import Piece
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point, turn
from hidewright.planning.steps_mould import layers_of
from hidewright.workshop.cutting.shows import Where, covered_areas, where_it_shows
from hidewright.workshop.forming_chain import PressedBlank, PressedBlanks

#: An arc is cut as chords no further from it than this, mm.
CHORD_MM = 0.02
#: The worst grade for a piece by where it shows in the closed article, the mildest flaw it must
#: keep clear of, and that in words. From memory.
ASKS: dict[Where, tuple[int, int, str]] = {
    "front": (1, 3, "shows in front"),
    "behind": (2, 2, "shows behind"),
    "inside": (2, 1, "hidden by other parts, so a scar may lie there"),
    "lining": (3, 1, "lining"),
}
#: The mildest flaw it must keep clear of where another part lies over it: as hidden pieces.
COVERED_CLEAR_OF = ASKS["inside"][1]
UNDER = "; a scar may lie under other parts"
#: How far a piece may be turned off its stretch direction, degrees: moulded, flat, lining. Common
#: practice, no source.
TOLERANCE_MOULDED, TOLERANCE_FLAT, TOLERANCE_LINING = 10.0, 15.0, 30.0


def asked_pieces(
    design: Design, pressed: PressedBlanks, spacing_mm: float
) -> tuple[AskedPiece, ...]:
    """Return all that is cut for a design: rough blanks, layer by layer, then flat pieces.

    Args:
        design: The article.
        pressed: Its blanks with their outlines as cut: pull-in and the margin that is held are in.
        spacing_mm: Room between mates that are cut from one place.
    """
    found: list[AskedPiece] = []
    on_blanks: set[str] = set()
    for one in pressed[0]:
        blank = one.blank
        on_blanks |= {place.piece for place in blank.places} | set(blank.over)
        for layer, role in enumerate(layers_of(design, blank)):
            found.append(_of_blank(design, one, role, layer))
    for piece in design.pieces:
        if piece.name not in on_blanks:
            found.append(_of_piece(design, piece))
    return _with_mates(design, found, spacing_mm)


def _of_blank(design: Design, one: PressedBlank, role: str, layer: int) -> AskedPiece:
    blank = one.blank
    names = [place.piece for place in blank.places] if layer == 0 else [blank.over[layer - 1]]
    shows = [where_it_shows(design, design.piece(name)) for name in names]
    grade, clear_of, where = min((ASKS[one] for one in shows), key=lambda ask: (ask[0], -ask[1]))
    first = blank.places[0]
    lie = design.piece(first.piece).stretch_angle + first.turn
    leather = design.leather(role)
    several = len(layers_of(design, blank)) > 1
    bears_less = clear_of > COVERED_CLEAR_OF and not several
    covered = _covered_on(design, one) if bears_less else ()
    return AskedPiece(
        article=design.name,
        piece=f"{blank.name} ({role})" if several else blank.name,
        material=leather.name,
        outline=corners_of(one.cut),
        articles=blank.articles,
        grade=grade,
        clear_of=clear_of,
        lie_deg=(90.0 + degrees(lie)) % 180.0,
        tolerance_deg=TOLERANCE_MOULDED,
        thickness_mm=_range(leather),
        mates=len(blank.places) > 1,
        covered=covered,
        covered_clear_of=COVERED_CLEAR_OF if covered else None,
        why=f"moulded; {where}{UNDER if covered else ''}; its gap takes {_words(leather)}",
    )


def _covered_on(design: Design, one: PressedBlank) -> tuple[Corners, ...]:
    """Return where other parts lie over the grain of the pieces on a blank, in its frame as cut.

    Leather that moulding draws to there comes from elsewhere: covered places count only where they
    are twice as far within as any point of the solved sheet is drawn along the flange.
    """
    if not one.layers:
        return ()
    sheet = one.layers[0].sheet
    strays = np.hypot(*(sheet.flat - sheet.shape.points[:, :2]).T).max()
    return tuple(
        tuple(_on_blank(place, corner) for corner in ring)
        for place in one.blank.places
        for ring in covered_areas(design, design.piece(place.piece), 2.0 * float(strays))
    )


def _on_blank(place: PiecePlace, corner: Point) -> Point:
    x, y = turn(corner, place.turn)
    return x + place.shift[0], y + place.shift[1]


def _of_piece(design: Design, piece: Piece) -> AskedPiece:
    shows = where_it_shows(design, piece)
    grade, clear_of, where = ASKS[shows]
    leather = design.leather(piece.role)
    covered = covered_areas(design, piece) if clear_of > COVERED_CLEAR_OF else ()
    return AskedPiece(
        article=design.name,
        piece=piece.name,
        material=leather.name,
        outline=corners_of(piece.outline),
        holes=tuple(map(corners_of, piece.cut_outs)),
        grade=grade,
        clear_of=clear_of,
        lie_deg=(90.0 + degrees(piece.stretch_angle)) % 180.0,
        tolerance_deg=TOLERANCE_LINING if shows == "lining" else TOLERANCE_FLAT,
        thickness_mm=_range(leather),
        covered=covered,
        covered_clear_of=COVERED_CLEAR_OF if covered else None,
        why=f"flat; {where}{UNDER if covered else ''}",
    )


def corners_of(outline: Outline) -> Corners:
    """Return an outline as a polygon within 0.02 mm of it."""
    return tuple((float(x), float(y)) for x, y in outline.flat_points(CHORD_MM)[:-1])


def _range(leather: Leather) -> tuple[float, float]:
    return (leather.thickness_min_mm, leather.thickness_max_mm)


def _words(leather: Leather) -> str:
    return f"{leather.thickness_min_mm:.2g} to {leather.thickness_max_mm:.2g} mm"


def _with_mates(
    design: Design, found: Sequence[AskedPiece], spacing_mm: float
) -> tuple[AskedPiece, ...]:
    """Return the pieces, mates that are pressed from two blanks as one that is cut together."""
    names = _mated(design)
    together = [one for one in found if one.piece in names]
    alike = {(one.material, one.articles) for one in together}
    if len(together) < 2 or len(alike) > 1:
        return tuple(found)
    return (_joined(together, spacing_mm), *(one for one in found if one.piece not in names))


def _mated(design: Design) -> frozenset[str]:
    """Return the blanks of a base and its lid, or of two moulded pieces that are sewn together."""
    moulded = {piece.name for piece in design.pieces if piece.is_moulded}
    on = {place.piece: blank.name for blank in design.blanks for place in blank.places}
    if design.kind == "lidded box":
        return frozenset(on[name] for name in ("base", "lid") if name in on)
    for seam in design.seams:
        names = {edge.piece for edge in seam.edges}
        if names <= moulded and len({on[name] for name in names if name in on}) > 1:
            return frozenset(on[name] for name in names)
    return frozenset()


def _joined(mates: Sequence[AskedPiece], spacing_mm: float) -> AskedPiece:
    """Return mates side by side, turned so that the backbone runs one way through them."""
    first = mates[0]
    assert first.lie_deg is not None
    rings = [first.outline]
    right = max(x for x, _ in first.outline)
    for mate in mates[1:]:
        assert mate.lie_deg is not None
        by = radians(first.lie_deg - mate.lie_deg)
        turned = tuple(turn(corner, by) for corner in mate.outline)
        shift = right + spacing_mm - min(x for x, _ in turned)
        rings.append(tuple((x + shift, y) for x, y in turned))
        right = max(x for x, _ in rings[-1])
    return replace(
        first,
        piece=" with ".join(mate.piece for mate in mates),
        others=tuple(rings[1:]),
        grade=min(mate.grade for mate in mates),
        clear_of=max(mate.clear_of for mate in mates),
        mates=True,
        why=f"mates, from one place; {first.why}",
    )
