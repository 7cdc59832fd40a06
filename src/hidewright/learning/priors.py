"""What the catalogue says of boards, leathers and work as beliefs; rows with what was learned."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from hidewright.catalogue.boards import Board
from hidewright.catalogue.leathers import LEAST_SET, Leather, most_shrinkage
from hidewright.learning.belief import Belief, Values, prior
from hidewright.learning.quantities import BOARD, EXPONENT, LEATHER, MINUTES

#: Of a thickness range that is sold, 90 % of the hides lie within: 1.645 deviations either way.
WITHIN = 1.645
#: A thickness is never believed better than this share before it is measured.
LEAST_SPREAD = 0.01
#: Smallest growth and shrinkage reckoned with, for a row that says none.
LEAST_SHARE = 0.001
#: Rows are written with so many decimals, which a design file keeps.
DECIMALS = 6


def board_prior(board: Board) -> Belief:
    """Return what is believed of a board: its tolerance is taken as two deviations."""
    spread = max(board.thickness_tolerance_mm / 2.0 / board.thickness_mm, LEAST_SPREAD)
    return prior(board_values(board), BOARD, thickness_mm=spread)


def leather_prior(leather: Leather) -> Belief:
    """Return what is believed of a leather; the range it is sold in says how its middle varies."""
    half = (leather.thickness_max_mm - leather.thickness_min_mm) / 2.0
    spread = max(half / WITHIN / leather.thickness_mm, LEAST_SPREAD)
    return prior(leather_values(leather), LEATHER, thickness_mm=spread)


def work_prior(works: Sequence[str], learning_share: float) -> Belief:
    """Return what is believed of minutes: one factor for each kind of work, one learning curve.

    Args:
        works: Kinds of work.
        learning_share: Mean time of a batch of twice as many over that of the batch, below 1.
    """
    factors = tuple(replace(MINUTES, name=minutes_name(work), words=work) for work in works)
    values = {one.name: 1.0 for one in factors}
    exponent = -math.log2(min(learning_share, 0.999))
    return prior(values | {EXPONENT.name: exponent}, (*factors, EXPONENT))


def minutes_name(work: str) -> str:
    """Return the name of the factor on the minutes of a kind of work."""
    return f"{MINUTES.name} {work}"


def board_values(board: Board) -> dict[str, float]:
    """Return the quantities of a board by name."""
    return {"kerf_mm": max(board.kerf_mm, 0.01), "thickness_mm": board.thickness_mm}


def leather_values(leather: Leather) -> dict[str, float]:
    """Return the quantities of a leather by name; stiffness is relative to the row itself."""
    plain = ("held_shrinkage", "set_ratio", "wet_friction", "pull_in_factor", "drying_hours")
    shares = (
        *("soak_growth_along", "soak_growth_across", "soak_growth_thickness"),
        *("shrinkage_along", "shrinkage_across"),
    )
    return {
        "thickness_mm": leather.thickness_mm,
        **{name: max(getattr(leather, name), LEAST_SHARE) for name in shares},
        **{name: getattr(leather, name) for name in plain},
        "stiffness": 1.0,
        "stretch_limit": leather.stretch_limit_across,
        "grain_limit": leather.grain_limit,
    }


def leather_with(leather: Leather, values: Values) -> Leather:
    """Return a leather with some quantities at other values.

    The range of thickness is moved with its middle, all stiffnesses by one factor, and the limit
    along by the same power as the limit across.

    Args:
        leather: The row that ``values`` begin from.
        values: Some or all of ``leather_values``, by name.
    """
    changes: dict[str, Any] = {
        name: value
        for name, value in values.items()
        if name not in ("thickness_mm", "stiffness", "stretch_limit")
    }
    if "thickness_mm" in values:
        half = (leather.thickness_max_mm - leather.thickness_min_mm) / 2.0
        changes["thickness_min_mm"] = values["thickness_mm"] - half
        changes["thickness_max_mm"] = values["thickness_mm"] + half
    if "stiffness" in values:
        for name in ("wet_matrix_MPa", "wet_fibre_along_MPa", "wet_fibre_across_MPa"):
            changes[name] = getattr(leather, name) * values["stiffness"]
    if "stretch_limit" in values:
        limit = values["stretch_limit"]
        power = math.log(leather.stretch_limit_along) / math.log(leather.stretch_limit_across)
        changes["stretch_limit_across"] = min(limit, 2.0)
        changes["stretch_limit_along"] = min(limit**power, 2.0)
    rounded = {name: round(x, DECIMALS) for name, x in _within(leather, changes).items()}
    return replace(leather, **rounded)


def board_with(board: Board, values: Values) -> Board:
    """Return a board with kerf or thickness at other values."""
    changes: dict[str, Any] = dict(values)
    return replace(board, **changes)


def _within(leather: Leather, changes: dict[str, Any]) -> dict[str, Any]:
    """Keep shares inside what a row of the catalogue may say, and what leather dries to."""
    tops = {
        "soak_growth_along": 0.2,
        "soak_growth_across": 0.2,
        "soak_growth_thickness": 0.5,
        "wet_friction": 1.0,
        "set_ratio": 0.99,
        "held_shrinkage": 0.99,
        "grain_limit": 2.0,
    }
    lows = {"set_ratio": LEAST_SET}
    inside = {
        name: min(max(value, lows.get(name, 0.0)), tops[name]) if name in tops else value
        for name, value in changes.items()
    }
    held = inside.get("held_shrinkage", leather.held_shrinkage)
    most = most_shrinkage(held)
    for name in ("shrinkage_along", "shrinkage_across"):
        if inside.get(name, getattr(leather, name)) > most:
            inside[name] = most
    return inside
