"""What a buyer is told of an article: sizes, weight, what it is made of, how to keep it."""

from collections.abc import Iterator, Sequence

import numpy as np

from hidewright.design.design import Design
from hidewright.design.step import Step
from hidewright.drawing.cards import CareCard
from hidewright.drawing.data_sheet import DataSheet
from hidewright.drawing.drawing import Drawing, Stroke
from hidewright.geometry.segment import Floats
from hidewright.units.written import METRIC, Written
from hidewright.workshop.build_sheet_closed import SEEN, closed_article
from hidewright.workshop.forming_chain import Leathers, PressedBlanks
from hidewright.workshop.views.solid_group import SolidGroup
from hidewright.workshop.views.solid_view import pieces_solid

LEATHER = ("leather", "lining")
#: How the mesh of a bent strip is called after its panel.
FOLD = "'s fold"
VEGETABLE_KEEP = (
    "Keep it dry. Let wet leather dry slowly at room temperature, not by a heater or in the sun.",
    "A little leather conditioner once or twice a year; brush dust off first.",
    "It darkens with light and use, as vegetable-tanned leather does.",
)
VEGETABLE_NOT = (
    "Soaking, hot water and heat above about 40 °C.",
    "Bare wet iron and steel: they stain it blue-black.",
    "Solvents, bleach and household cleaners.",
)
DYED = "Dye can rub off a little while new: keep it from pale cloth."
MAGNETS_NOT = (
    "It holds strong magnets: keep it from heart pacemakers and other implants, striped cards, "
    "watches and compasses, and from children who could swallow a loose magnet."
)
SHARP_KEEP = "Sharp tools go in dry and oiled, with their points covered; not for long storage."


def outside_mm(design: Design, pressed: PressedBlanks, leathers: Leathers) -> Floats:
    """Return the size of the closed article, mm, largest first: (3,) float."""
    return _outside(_leather(design, pressed, leathers))


def _outside(groups: Sequence[SolidGroup]) -> Floats:
    points = np.concatenate([group.placed(-1) for group in groups])
    size: Floats = np.sort(points.max(axis=0) - points.min(axis=0))[::-1]
    return size


def leather_g(design: Design, pressed: PressedBlanks, leathers: Leathers) -> float:
    """Return the mass of an article's leather, g: volume as formed, dry, by density.

    The volume of each closed mesh is the sum of its tetrahedra about the origin (Gauss); holes,
    skived edges and thread are not counted.
    """
    return _grams(_leather(design, pressed, leathers), design, leathers)


def _grams(groups: Sequence[SolidGroup], design: Design, leathers: Leathers) -> float:
    by_panel = {
        panel.name: dict(leathers)[design.piece(panel.piece).role].density_g_cm3
        for panel in design.assembly.panels
    }
    return sum(
        volume_mm3(group) / 1000.0 * by_panel[group.name.removesuffix(FOLD)] for group in groups
    )


def volume_mm3(group: SolidGroup) -> float:
    """Return the volume of a closed mesh, mm3."""
    a, b, c = (group.points[group.triangles[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0


def seen(design: Design) -> tuple[Stroke, ...]:
    """Return the lines of the closed article that a buyer sees."""
    return tuple(stroke for stroke in closed_article(design) if stroke.layer == SEEN)


def data_sheet(
    design: Design,
    pressed: PressedBlanks,
    leathers: Leathers,
    steps: Sequence[Step],
    written: Written = METRIC,
) -> DataSheet:
    """Return what a shop tells of an article."""
    formed = _leather(design, pressed, leathers)
    outside = _outside(formed)
    grams = _grams(formed, design, leathers) + sum(m.magnet.mass_g for m in design.magnets)
    sizes = [("outside, closed", written.size(outside, 0))]  # largest first, as inside
    for hollow in design.hollows:
        box = hollow.outline
        room = sorted((box.width, box.height, hollow.depth_mm), reverse=True)
        of = f", {hollow.name.partition('/')[0]}" if len(design.hollows) > 1 else ""
        # what fits is a matter of half a millimetre; in inches a size for the ruler tells that
        sizes.append((f"inside{of}", written.size(room, 1 if written.lengths == "mm" else 0)))
    with_fittings = ", fittings not counted" if design.fittings else ""
    sizes.append(("weight", f"about {written.weight(_round(grams))}{with_fittings}"))
    fits = tuple(
        (one.thing.name, f"{one.count}" if one.count > 1 else "one") for one in design.carried
    )
    used = {leather.name: leather for _, leather in leathers}
    densities = sorted({leather.density_g_cm3 for leather in used.values()})
    return DataSheet(
        picture=Drawing(title=design.name, strokes=seen(design)),
        chapters=(
            ("Sizes", tuple(sizes)),
            ("Made of", (*made_of(design, leathers, steps), *_thick(design, leathers, written))),
            ("What fits", fits or (("by its inside size", ""),)),
        ),
        notes=(
            "Sizes are those of the design; leather varies, so measure the first one made.",
            "Weight: volume of the formed leather times an assumed density of "
            f"{' and '.join(f'{d:g}' for d in densities)} g/cm³ (from memory); weigh your own.",
        ),
    )


def _thick(design: Design, leathers: Leathers, written: Written) -> Iterator[tuple[str, str]]:
    """Yield how thick each leather is that pieces are cut from: (which, in words)."""
    roles = {piece.role for piece in design.pieces}
    for role, leather in leathers:
        if role in roles:
            thick = (leather.thickness_min_mm, leather.thickness_max_mm)
            yield f"{role}, thickness", written.leather(thick)


def made_of(design: Design, leathers: Leathers, steps: Sequence[Step]) -> Iterator[tuple[str, str]]:
    """Yield what an article is made of: (what, in words)."""
    roles = {piece.role for piece in design.pieces}
    for role, leather in leathers:
        if role in roles:
            tannage = "tannage unknown" if leather.tannage == "unknown" else ""
            told = leather.name if leather.tannage in leather.name else f"{leather.name} {tannage}"
            yield role, told.strip()
    if design.seams:
        yield "thread", design.thread.name
    for name in dict.fromkeys(place.fitting.name for place in design.fittings):
        yield "fittings", name
    for name in dict.fromkeys(place.magnet.name for place in design.magnets):
        yield "magnets", f"magnet, {name}"
    colours = dict.fromkeys(step.setup for step in steps if step.work == "dye" and step.setup)
    if colours:
        yield "dyed", ", ".join(colours)


def care_card(
    design: Design,
    leathers: Leathers,
    steps: Sequence[Step],
    maker: str = "",
    written: Written = METRIC,
) -> CareCard:
    """Return what the buyer is told: from the article's own leathers, magnets and dyes."""
    roles = {piece.role for piece in design.pieces}
    tanned = {leather.tannage for role, leather in leathers if role in roles}
    keep = list(VEGETABLE_KEEP if "vegetable" in tanned else VEGETABLE_KEEP[:2])
    never = list(VEGETABLE_NOT if "vegetable" in tanned else (VEGETABLE_NOT[0], VEGETABLE_NOT[2]))
    if any(step.work == "dye" for step in steps):
        never.append(DYED)
    if design.magnets:
        never.append(MAGNETS_NOT)
    if any(one.thing.sharp_points for one in design.carried):
        keep.append(SHARP_KEEP)
    of = "; ".join(dict.fromkeys(words for _, words in made_of(design, leathers, steps)))
    return CareCard(
        title=design.name,
        parts=(
            ("Made of", (f"{of}.",)),
            ("Care", tuple(map(written.words, keep))),
            ("Keep it from", tuple(map(written.words, never))),
        ),
        maker=maker,
    )


def _leather(design: Design, pressed: PressedBlanks, leathers: Leathers) -> list[SolidGroup]:
    solid = pieces_solid(design, pressed[0], leathers)
    return [group for group in solid.groups if group.material in LEATHER]


def _round(grams: float) -> float:
    """Return a weight told no finer than it is known: about a twentieth of it."""
    step = 1.0 if grams < 20.0 else 5.0 if grams < 200.0 else 10.0
    return max(step * round(grams / step), step)
