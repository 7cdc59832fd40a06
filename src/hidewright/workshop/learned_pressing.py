"""What pressed leather should measure for what is believed of it: fitted to a few warm solves."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.bench_reading import Cracks
from hidewright.forming.answers import pull_in
from hidewright.forming.limits import use_of
from hidewright.forming.on_blank import PLATE_MPA, dried, soaked_mm, wet_law
from hidewright.forming.pressing import Hollow, Pressing
from hidewright.forming.profile import Tools
from hidewright.forming.solve import pressed
from hidewright.forming.solved import Conditions, Pressed
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats
from hidewright.geometry.shapes import circle
from hidewright.learning.belief import Belief, Predict, Values
from hidewright.learning.priors import leather_with
from hidewright.learning.surrogate import Surrogate, fitted
from hidewright.tooling.bench_pieces import CROWN_MM, DISC_RADIUS_MM, LIP_MM, PLUG_RADIUS_MM
from hidewright.tooling.gap import USUAL_GAP_FACTOR, soaked_thickness_mm

#: Side of a triangle of its mesh, mm: 1,300 of them, pull-in to a few hundredths.
MESH_MM = 4.0
#: Depths at which it is solved to foretell how much of its limits leather uses, mm; between and
#: beyond them a straight line of logarithms.
CRACK_DEPTHS_MM = (2.0, 4.0, 6.0, 8.0, 10.0, 14.0, 18.0)
#: Quantities that decide how the sheet lies, and those that decide what it dries to.
LIE = ("stiffness", "wet_friction")
DRY = ("set_ratio", "held_shrinkage", "shrinkage_along", "shrinkage_across")


@dataclass(frozen=True, kw_only=True, eq=False)
class SheetForetold:
    """A solved sheet with its predictions as functions of a leather's quantities.

    Attributes:
        names: Of the hollows, in order.
        surrogate: ``along 0``, ``across 0``, ``height 0`` (dry over plug, for hollow 0), ``pull-in
            along``, ``pull-in across`` (mm), ``log stretch use`` (of what the sheet bears, 0 is
            all) and ``log grain strain``, ln of the grain's largest logarithmic strain.
    """

    names: tuple[str, ...]
    surrogate: Surrogate

    def prediction(self, name: str) -> Callable[[Values], float]:
        """Return one of the predictions as a function of the quantities.

        The leather's own factor multiplies the pull-in that is solved.
        """
        if name.startswith("pull-in"):
            return lambda values: values["pull_in_factor"] * self.surrogate.predict(name, values)
        return lambda values: self.surrogate.predict(name, values)


def plug_sheet(leather: Leather, depth_mm: float, crown_mm: float = CROWN_MM) -> Pressed:
    """Return the disc of the round test plug, pressed to a depth.

    Args:
        leather: Of the disc.
        depth_mm: Of the plug.
        crown_mm: Rounding of its top.

    Raises:
        RequestError: When it cannot be pressed.
    """
    thickness = soaked_mm(leather)
    plug = Hollow(
        name="plug",
        outline=circle(PLUG_RADIUS_MM),
        tools=Tools(
            depth_mm=depth_mm,
            crown_radius_mm=crown_mm,
            lip_radius_mm=LIP_MM,
            gap_mm=USUAL_GAP_FACTOR * soaked_thickness_mm(leather),
            thickness_mm=thickness,
        ),
    )
    pressing = Pressing(
        hollows=(plug,),
        edge=circle(DISC_RADIUS_MM),
        thickness_mm=thickness,
        hold="plate",
        backbone=math.pi / 2.0,
    )
    conditions = Conditions(
        law=wet_law(leather),
        friction=leather.wet_friction,
        plate_pressure_MPa=PLATE_MPA,
        level=3,
        pull_in_factor=leather.pull_in_factor,
    )
    return pressed(pressing, conditions, MESH_MM, blank=disc())


def disc() -> Outline:
    """Return the flat leather of the test plug, its edge held under the frame."""
    return circle(DISC_RADIUS_MM)


def sheet_foretold(
    sheet: Pressed, leather: Leather, belief: Belief, blank: Outline | None = None
) -> SheetForetold:
    """Return a solved sheet's predictions, fitted about what is believed.

    The sheet is solved anew, from where it is, for each pair of stiffness and friction; set and
    shrinkage only change how it dries.

    Args:
        sheet: Solved in the middle of the belief.
        leather: The row that the belief is about.
        belief: Of that leather.
        blank: The flat blank, when that was given instead of the formed edge.
    """
    solved: dict[tuple[float, ...], Pressed] = {}

    def at(values: Values) -> Mapping[str, float]:
        own = leather_with(leather, values)
        lie = tuple(values[name] for name in LIE)
        if lie not in solved:
            conditions = replace(
                sheet.conditions,
                law=wet_law(own),
                friction=own.wet_friction,
                pull_in_factor=1.0,
            )
            solved[lie] = pressed(sheet.pressing, conditions, sheet.warm.size_mm, sheet.warm, blank)
        return measures_of(solved[lie], own)

    over = (*LIE, *DRY, "stretch_limit")
    return SheetForetold(
        names=tuple(one.name for one in sheet.pressing.hollows),
        surrogate=fitted(belief, over, at, plain=DRY),
    )


def used_at(
    plug: Callable[[float], SheetForetold], depth_mm: float, of: Cracks = "either"
) -> Predict:
    """Return ln of the share of a limit that leather uses on the test plug; 0 is all of it.

    It is a straight line of ln of the depth between two depths that are solved. The grain's strain
    does not depend on what the grain bears, so its share is exact in that.

    Args:
        plug: Returns the plug solved at one of ``CRACK_DEPTHS_MM``.
        depth_mm: Of the plug in question.
        of: Which limit; of either, the one that is used more.
    """
    depths = CRACK_DEPTHS_MM
    k = min(max(int(np.searchsorted(depths, depth_mm)), 1), len(depths) - 1)
    ends = plug(depths[k - 1]), plug(depths[k])
    along = math.log(depth_mm / depths[k - 1]) / math.log(depths[k] / depths[k - 1])

    def at(end: SheetForetold, values: Values) -> float:
        sheet = end.surrogate.predict("log stretch use", values)
        strain = end.surrogate.predict("log grain strain", values)
        grain = strain - math.log(math.log(values["grain_limit"]))
        return {"grain": grain, "sheet": sheet}.get(of, max(grain, sheet))

    def used(values: Values) -> float:
        low, high = (at(end, values) for end in ends)
        return low + along * (high - low)

    return used


def measures_of(sheet: Pressed, leather: Leather) -> dict[str, float]:
    """Return what can be read on a solved sheet, by the names of ``SheetForetold``."""
    dry = dried(sheet, leather, sheet.pressing.backbone - math.pi / 2.0)
    found: dict[str, float] = {}
    for k in range(len(sheet.pressing.hollows)):
        along, across, height = dry.scales[k + 1].tolist()
        found |= {f"along {k}": along, f"across {k}": across, f"height {k}": height}
    at, drawn = pull_in(sheet)
    for name, turn in (("along", 0.0), ("across", math.pi / 2.0)):
        found[f"pull-in {name}"] = _in_direction(at, drawn, sheet.pressing.backbone + turn)
    used = use_of(sheet, leather)
    found["log stretch use"] = math.log(max(float(used.stretch.max()), 1e-6))
    found["log grain strain"] = math.log(max(math.log(float(used.grain_stretch.max())), 1e-6))
    return found


def _in_direction(at: Floats, drawn: Floats, angle: float) -> float:
    """Return the mean pull-in at the two ends of a line through the middle."""
    away = at - at.mean(axis=0)
    along = away @ np.array([math.cos(angle), math.sin(angle)])
    aside = np.abs(away @ np.array([-math.sin(angle), math.cos(angle)]))
    near = aside <= np.partition(aside, 7)[7]
    ends = [float(drawn[near & side].mean()) for side in (along > 0.0, along < 0.0)]
    return sum(ends) / 2.0
