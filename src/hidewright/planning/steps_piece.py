"""Steps of a piece: cut or trimmed, skived, punched, pricked, dyed, and its fittings set."""

import math
from collections.abc import Sequence

from hidewright.design.cover import Cover
from hidewright.design.design import Design
from hidewright.design.fitting import FittingPlace, MagnetPlace
from hidewright.design.piece import MouldedZone, Piece, PunchedHole
from hidewright.design.seam import SewnSeam
from hidewright.design.step import Reading, Step
from hidewright.planning.steps_choice import Facts
from hidewright.planning.steps_maker import Maker, between, figures, mm
from hidewright.planning.steps_mould import measured

#: What is said of a cover at the step that it is glued on at.
COVERING = (
    " Then cut the cover from an offcut, pare it thin from the flesh side, its edge to nothing, "
    "and glue it over what stands out on the flesh side, flesh to flesh: contact glue, both faces."
)


def cut_flat(maker: Maker, design: Design, piece: Piece, facts: Facts) -> tuple[Step, ...]:
    """Return the cutting and skiving of a piece that is not moulded."""
    leather = design.leather(piece.role)
    box = piece.outline
    template = f"{piece.name} trim template"
    by = f"{template}, knife along its outside" if facts.has(template) else "paper pattern"
    cut = maker.step(
        "cut piece",
        "piece",
        piece.name,
        "Cut it dry to its template, grain up, the arrow along the backbone. Leave out scars, "
        "veins and loose places.",
        units=box.length / 100.0,
        after=(measured(piece.role),) if maker.choice.new else (),
        cautions=("knife",),
        figures=figures(
            ("Leather", leather.name),
            ("By", by),
            ("Size", f"{box.width:.1f} x {box.height:.1f} mm"),
        ),
    )
    return (cut, *_skive(maker, piece, (cut.name,)))


def trim_moulded(
    maker: Maker, design: Design, piece: Piece, facts: Facts, after: Sequence[str]
) -> tuple[Step, ...]:
    """Return the cutting of a moulded piece to its dry outline, and what is done to it at once."""
    steps: list[Step] = []
    for zone in piece.zones:
        if zone.mouths:
            steps.append(_cut_mouth(maker, piece, zone, tuple(after)))
            after = (steps[-1].name,)
    walls = [zone for zone in piece.zones if zone.cut_height_mm is not None]
    for zone in walls:
        steps.append(_cut_at_height(maker, piece, zone, facts, tuple(after)))
        after = (steps[-1].name,)
    if not walls:
        steps.append(_trim(maker, piece, facts, tuple(after)))
        after = (steps[-1].name,)
    return (*steps, *_skive(maker, piece, tuple(after)))


def punch(maker: Maker, piece: Piece, after: Sequence[str]) -> tuple[Step, ...]:
    """Return the punching of a piece's holes; nothing when it has none."""
    if not piece.holes:
        return ()
    return (
        maker.step(
            "punch",
            "piece",
            piece.name,
            "Punch the marked holes square through, on a board of end grain."
            + (
                " Cut the slits from the hole outwards." if any(h.slit for h in piece.holes) else ""
            ),
            units=len(piece.holes),
            after=after,
            cautions=("punch",),
            figures=figures(
                *(
                    (
                        f"Hole for the {hole.name}",
                        f"{mm(hole.diameter_mm)}{_slit(hole)}",
                    )
                    for hole in piece.holes
                )
            ),
        ),
    )


def _slit(hole: PunchedHole) -> str:
    """Return how long the slit of a hole is from its edge, in words; nothing without one."""
    if hole.slit is None:
        return ""
    return f", with a slit of {mm(math.dist(hole.at, hole.slit) - hole.diameter_mm / 2)}"


def prick(maker: Maker, piece: Piece, sewn: SewnSeam, facts: Facts, after: Sequence[str]) -> Step:
    """Return the pricking of one layer of a seam through its template."""
    low, high = sewn.pitch_mm
    return maker.step(
        "prick",
        "piece",
        piece.name,
        "Lay the template flush with the trimmed edge, mark every hole, take it off and set the "
        "slant of each hole by hand; do not go through yet.",
        name=f"prick {piece.name} for {sewn.name}",
        units=sewn.count,
        after=after,
        cautions=("awl",),
        figures=figures(
            ("By", facts.pricked_by(piece.name)),
            ("Holes", f"{sewn.count}"),
            ("Pitch", between(low, high, 2)),
            ("Mark", facts.slit),
        ),
        readings=(
            Reading(
                what=f"ten stitches of {sewn.name}",
                where=f"on {piece.name}, along its straightest stretch",
                tool="ruler",
                expected=between(10 * low, 10 * high, 1),
                into=f"seam {sewn.name}, pitch as pricked",
            ),
        ),
    )


def set_fitting(
    maker: Maker,
    place: FittingPlace,
    through: Sequence[str],
    cover: Cover | None,
    after: Sequence[str],
) -> Step:
    """Return the setting of one fitting through pieces, and the gluing of the cover over it."""
    fitting = place.fitting
    return maker.step(
        "set fitting",
        "fitting",
        place.name,
        (
            "Put the post through from the flesh side and set it on its anvil; it must not turn."
            if fitting.kind != "ring"
            else "Lay the ring in its loop and close the loop."
        )
        + (COVERING if cover else ""),
        name=f"set {place.name}",
        units=1 if cover else 0,
        after=after,
        cautions=("setting", *(("knife", "glue") if cover else ())),
        figures=figures(
            ("Fitting", fitting.name),
            ("On" if len(through) == 1 else "Through", ", then ".join(through)),
            ("Holds", f"{place.stack_mm:.1f} mm of leather"),
            ("Post", mm(fitting.post_length_mm) if fitting.post_length_mm else ""),
            *_of_cover(cover),
        ),
    )


def _of_cover(cover: Cover | None) -> tuple[tuple[str, str], ...]:
    if cover is None:
        return ()
    box = cover.outline
    return (
        ("Cover", f"{box.width:.0f} x {box.height:.0f} mm, pattern “covers”"),
        ("Pared to", mm(cover.thickness_mm)),
        ("Over", " and ".join(cover.over)),
    )


def set_magnet(
    maker: Maker, place: MagnetPlace, cover: Cover | None, facts: Facts, after: Sequence[str]
) -> Step:
    """Return the setting of one magnet in its seat, and the gluing of its cover."""
    jig = f"{place.piece} magnet"
    return maker.step(
        "set magnet",
        "fitting",
        place.name,
        "Glue it in its seat on the flesh side, the marked pole towards the leather, and hold it "
        "with the keeper; a magnet that jumps out is the wrong way round."
        + (COVERING if cover else ""),
        name=f"set {place.name}",
        units=1 if cover else 0,
        after=after,
        cautions=("magnets", "glue", *(("knife",) if cover else ())),
        figures=figures(
            ("Magnet", place.magnet.name),
            ("On", place.piece),
            ("Pole outwards", place.pole_out),
            ("Meets", place.partner),
            ("Jig", f"{jig} seats and keepers" if facts.has(jig) else ""),
            *_of_cover(cover),
        ),
        readings=(
            Reading(
                what="poles",
                where=f"{place.name} against {place.partner}, before it is covered",
                tool="a marked magnet",
                expected="they draw one another",
                into=f"{place.name}: checked",
            ),
        ),
    )


def _cut_mouth(maker: Maker, piece: Piece, zone: MouldedZone, after: tuple[str, ...]) -> Step:
    return maker.step(
        "cut the mouth",
        "piece",
        piece.name,
        "Fill the hollow with the mouth-cut block, clamp it, and cut across wall and crown along "
        "the block's square end; the knife moves away from the holding hand.",
        name=f"cut the mouth of {piece.name}"
        if len(piece.zones) == 1
        else f"cut the mouth of {zone.name} in {piece.name}",
        after=after,
        cautions=("knife",),
        figures=figures(
            ("Block", f"{piece.name} mouth cut base and plates"), ("Depth", mm(zone.depth_mm))
        ),
    )


def _cut_at_height(
    maker: Maker, piece: Piece, zone: MouldedZone, facts: Facts, after: tuple[str, ...]
) -> Step:
    height = zone.cut_height_mm or 0.0
    inside = zone.depth_mm - height
    off = facts.floor_off_mm(piece.name, zone.name)
    around = zone.outline.length
    return maker.step(
        "cut at height",
        "piece",
        piece.name,
        "Stand the piece on its flange over the support block, crown up, and cut the wall round "
        "with the blade flat on the height-trim block.",
        name=f"cut {piece.name} at its height"
        if len(piece.zones) == 1
        else f"cut {zone.name} of {piece.name} at its height",
        units=around / 100.0,
        after=after,
        cautions=("knife",),
        figures=figures(
            ("Above the flange", mm(height)),
            ("Inside depth left", mm(inside)),
            ("Block", f"{piece.name} height trim and support"),
        ),
        readings=(
            Reading(
                what=f"inside depth of {piece.name}, rim to floor",
                where="from a ruler across the rim down to the middle of the floor",
                tool="depth gauge",
                expected=between(inside, inside + off, 1),
                into=f"piece {piece.name}, depth",
            ),
        ),
    )


def _trim(maker: Maker, piece: Piece, facts: Facts, after: tuple[str, ...]) -> Step:
    template = f"{piece.name} trim template"
    box = piece.outline
    return maker.step(
        "trim",
        "piece",
        piece.name,
        "Set the template over the moulded wall, bolt it down through the waste, and cut along its "
        "outside in a few passes, fingers behind the fence.",
        units=box.length / 100.0,
        after=after,
        cautions=("knife", "acrylic"),
        figures=figures(
            ("By", template if facts.has(template) else "paper pattern"),
            ("Size", f"{box.width:.1f} x {box.height:.1f} mm"),
        ),
        readings=(
            Reading(
                what=f"{piece.name}, width x height as trimmed",
                where="across the widest and the highest place",
                tool="calliper",
                expected=f"{box.width:.1f} x {box.height:.1f} mm",
                into=f"piece {piece.name}, size",
            ),
        ),
    )


def _skive(maker: Maker, piece: Piece, after: Sequence[str]) -> tuple[Step, ...]:
    if not piece.skives:
        return ()
    return (
        maker.step(
            "skive",
            "piece",
            piece.name,
            "Thin the edge from the flesh side in long, flat strokes.",
            units=len(piece.skives),
            after=after,
            cautions=("knife",),
            figures=figures(
                *(
                    (s.span, f"{mm(s.width_mm)} wide, {mm(s.left_mm)} left at the edge")
                    for s in piece.skives
                )
            ),
        ),
    )
