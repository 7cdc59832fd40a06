"""What pressing a layer comes to, each figure with its likely range, by warm solves."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Literal, get_args

from hidewright.catalogue.leathers import Leather
from hidewright.design.interval import Interval
from hidewright.errors import RequestError
from hidewright.forming.answers import press_force_N, pull_in, stretch_in_triangles
from hidewright.forming.drying_time import DryingStage, hours_until
from hidewright.forming.limits import use_of
from hidewright.forming.on_blank import behaviour_of, dried, soaked_mm, wet_law
from hidewright.forming.pressing import Pressing
from hidewright.forming.solve import pressed
from hidewright.forming.solved import Pressed, Warm
from hidewright.learning.belief import Belief
from hidewright.learning.priors import leather_with
from hidewright.learning.ranges import Shifted, likely_ranges

#: Figures that go together: those of the sheet alone, and others by what they hang on besides.
Part = Literal["form", "pull-in", "use", "drying", "dry"]
PARTS: tuple[Part, ...] = get_args(Part)
#: From piece to piece a dry size varies by this deviation, mm; common practice, no source.
PIECE_MM = 0.15
#: What leather bears varies by this share from place to place; assumed.
BEARS = 0.12
#: Quantities for which the sheet is solved anew ...
SOLVED = ("stiffness", "wet_friction", "thickness_mm", "soak_growth_thickness")
#: ... on triangles this many times as wide: only the difference of its two ends is wanted, which a
#: coarse mesh gives nearly as well (ranges within a tenth of their width on the demo's articles).
ENDS_COARSER = 2.0
#: ... and to this balance, by which they are off less than a thousandth.
ENDS_BALANCE = 1e-4
#: The others change what is made of it: by quantity, which figures.
READ_OFF: Mapping[str, Part] = {
    **dict.fromkeys(("set_ratio", "held_shrinkage", "shrinkage_along", "shrinkage_across"), "dry"),
    "pull_in_factor": "pull-in",
    **dict.fromkeys(("stretch_limit", "grain_limit"), "use"),
    "drying_hours": "drying",
}
#: Dryness by which drying times are compared: hours to it over hours to it.
COMPARED_AT = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class DryHollow:
    """What a hollow dries to over its plug, the next piece's own scatter within the range.

    Attributes:
        places: ``piece/zone`` of each hollow that is pressed there.
        along: Along the backbone, mm.
        across: Across it, mm.
        height: Of the wall, mm.
    """

    places: tuple[str, ...]
    along: Interval
    across: Interval
    height: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranges:
    """Figures of one layer with their likely ranges.

    Attributes:
        force_N: What presses on the plugs together.
        thinnest: Least thickness formed over thickness laid in.
        largest_stretch: Largest stretch of the middle of the sheet.
        most_pull_in_mm: Where the edge is drawn in furthest.
        use: Largest share of a limit of the leather that is used.
        drying: Hours of drying over those that are reckoned with.
        dry: What each hollow dries to.
    """

    force_N: Interval
    thinnest: Interval
    largest_stretch: Interval
    most_pull_in_mm: Interval
    use: Interval
    drying: Interval
    dry: tuple[DryHollow, ...]


def ranges_of(
    sheet: Pressed,
    leather: Leather,
    grain_out: Sequence[bool],
    places: Sequence[tuple[str, ...]],
    belief: Belief,
) -> Ranges:
    """Return what a solved layer comes to, with likely ranges.

    What is believed of the leather is carried through by the slopes between a deviation more and a
    deviation less of each quantity. An end that no sheet reaches tells nothing.

    Args:
        sheet: Solved at the middle of the belief.
        leather: Likewise.
        grain_out: For each hollow, whether the grain faces away from the plug.
        places: For each hollow, its ``piece/zone``.
        belief: Of the leather.
    """
    sizes = _plug_sizes(sheet)
    likely = _figures(sheet, leather, grain_out, sizes)
    off = {f"{way} {k}": PIECE_MM for k in range(len(sizes)) for way in ("along", "across")}

    def figures(solved: Pressed, own: Leather, parts: Sequence[Part]) -> Mapping[str, float]:
        return _figures(solved, own, grain_out, sizes, parts)

    ends = _ends(_coarser(sheet), leather, belief, figures)
    told = likely_ranges(belief, likely, ends, off | {"use": BEARS * likely["use"]})
    plain = ("force_N", "thinnest", "largest_stretch", "most_pull_in_mm", "use")
    return Ranges(
        **{name: told[name] for name in plain},
        drying=told["drying"].times(1.0 / told["drying"].likely),
        dry=tuple(
            DryHollow(
                places=one,
                along=told[f"along {k}"],
                across=told[f"across {k}"],
                height=told[f"height {k}"],
            )
            for k, one in enumerate(places)
        ),
    )


def _ends(
    sheet: Pressed,
    leather: Leather,
    belief: Belief,
    figures: Callable[[Pressed, Leather, Sequence[Part]], Mapping[str, float]],
) -> Iterator[Shifted]:
    """Yield figures with each quantity a deviation off either way, one at a time.

    Where one of the two ends is beyond any sheet, those in the middle stand in for it.
    """
    middle = figures(sheet, leather, PARTS)
    for name in (*SOLVED, *READ_OFF):
        row = belief.place(name)
        deviation = float(belief.deviations[row])
        found = []
        start = sheet.warm
        for step in (-deviation, deviation) if deviation else ():
            value = belief.quantities[row].from_log(float(belief.mean[row]) + step)
            with suppress(RequestError):
                own = leather_with(leather, {name: value})
                if name in SOLVED:
                    end = _solved(sheet, own, start)
                    start = sheet.warm.opposite(end.warm)
                    told = figures(end, own, PARTS)
                else:
                    told = {**middle, **figures(_read(sheet, own), own, (READ_OFF[name],))}
                found.append(Shifted(name=name, step=step, figures=told))
        yield from found
        if len(found) == 1:
            yield Shifted(name=name, step=0.0, figures=middle)


def _coarser(sheet: Pressed) -> Pressed:
    """Return a sheet solved on the coarser mesh of the ends; itself when that finds no balance."""
    try:
        return pressed(sheet.pressing, sheet.conditions, ENDS_COARSER * sheet.warm.size_mm)
    except RequestError:
        return sheet


def _solved(sheet: Pressed, leather: Leather, start: Warm) -> Pressed:
    pressing = sheet.pressing
    assert isinstance(pressing, Pressing)
    thickness_mm = soaked_mm(leather)
    form = replace(
        pressing,
        thickness_mm=thickness_mm,
        hollows=tuple(
            replace(one, tools=replace(one.tools, thickness_mm=thickness_mm))
            for one in pressing.hollows
        ),
    )
    law, friction = wet_law(leather), leather.wet_friction
    conditions = replace(sheet.conditions, law=law, friction=friction)
    return pressed(form, conditions, start.size_mm, start, balance=ENDS_BALANCE)


def _read(sheet: Pressed, leather: Leather) -> Pressed:
    """Return a sheet that lies as it does and is drawn in as another leather is."""
    factor = leather.pull_in_factor
    return replace(sheet, conditions=replace(sheet.conditions, pull_in_factor=factor))


def _plug_sizes(sheet: Pressed) -> tuple[tuple[float, float, float], ...]:
    """Return (along the backbone, across it, height) of each plug, mm."""
    pressing = sheet.pressing
    assert isinstance(pressing, Pressing)
    turned = [one.outline.rotated(-pressing.backbone) for one in pressing.hollows]
    return tuple(
        (plug.width, plug.height, one.tools.depth_mm)
        for plug, one in zip(turned, pressing.hollows, strict=True)
    )


def _figures(
    sheet: Pressed,
    leather: Leather,
    grain_out: Sequence[bool],
    sizes: Sequence[tuple[float, float, float]],
    parts: Sequence[Part] = PARTS,
) -> Mapping[str, float]:
    """Return figures by name: those of some parts, as not all change with every quantity."""
    found: dict[str, float] = {}
    if "form" in parts:
        found["force_N"] = sum(press_force_N(sheet))
        found["thinnest"] = float(sheet.thickness.min()) / sheet.pressing.thickness_mm
        found["largest_stretch"] = float(stretch_in_triangles(sheet).largest.max())
    if "pull-in" in parts:
        found["most_pull_in_mm"] = float(pull_in(sheet)[1].max())
    if "use" in parts:
        found["use"] = max(
            float(use_of(sheet, leather, out).most.max()) for out in sorted(set(grain_out))
        )
    if "drying" in parts:
        on_plug = DryingStage(name="open on the plug", hours=0.0, faces="one")
        time = behaviour_of(leather).time
        found["drying"] = hours_until(COMPARED_AT, on_plug, soaked_mm(leather), time)
    if "dry" in parts:
        scales = dried(sheet, leather, sheet.pressing.backbone - math.pi / 2.0).scales
        for k, plug in enumerate(sizes):
            for way, size, scale in zip(
                ("along", "across", "height"), plug, scales[k + 1].tolist(), strict=True
            ):
                found[f"{way} {k}"] = size * scale
    return found
