"""What the tooling of a design is reckoned with: gaps, kerf and boards with their likely ranges."""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from hidewright.catalogue.boards import Board
from hidewright.catalogue.leathers import Leather
from hidewright.design.interval import Interval
from hidewright.design.specification import Specification
from hidewright.learning.belief import Belief, Values
from hidewright.learning.priors import leather_prior
from hidewright.workshop.form import Unit
from hidewright.workshop.learned_beliefs import Beliefs
from hidewright.workshop.learned_words import told
from hidewright.workshop.pressing_report import BlankReport
from hidewright.workshop.tooling_chain import Moulding


def gap_range(leather: Leather, gap_factor: float, belief: Belief) -> Interval:
    """Return the gap that a leather wants: the factor times its thickest, soaked.

    Args:
        leather: Gives how much thicker than the middle its thickest is.
        gap_factor: Gap over the thickest, soaked.
        belief: Of the leather.
    """
    more = leather.thickness_max_mm - leather.thickness_mm

    def wanted(values: Values) -> float:
        return gap_factor * (values["thickness_mm"] + more) * (1 + values["soak_growth_thickness"])

    return belief.foretold(wanted)


def dry_ranges(reports: Sequence[BlankReport]) -> Mapping[str, str]:
    """Return by ``hollow of PIECE`` and ``depth of PIECE`` how far it is likely to be off."""
    found: dict[str, str] = {}
    for size in (size for one in reports for size in one.spread.dry):
        across, along, height = (
            50.0 * (way.high - way.low) / way.likely
            for way in (size.across, size.along, size.height)
        )
        for place in size.places:
            piece = place.partition("/")[0]
            found[f"hollow of {piece}"] = (
                f"; likely within {across:.1f} % across, {along:.1f} % along the backbone"
            )
            found[f"depth of {piece}"] = f"; give or take {height:.1f} %"
    return found


def dry_lines(reports: Sequence[BlankReport], lengths: Unit = "mm") -> tuple[str, ...]:
    """Return what each hollow dries to, a line each."""
    return tuple(
        f"dry size, {_joined(size.places)}: along the backbone "
        f"{told(size.along, 'mm', lengths=lengths)}; across "
        f"{told(size.across, 'mm', lengths=lengths)}"
        for one in reports
        for size in one.spread.dry
    )


def _joined(places: Sequence[str]) -> str:
    """Return the hollows that dry together in words, each once with how many there are.

    Of a pair the size is that of both and of the waste between their mouths.
    """
    count = Counter(places)
    names = " and ".join(one if n == 1 else f"{n} x {one}" for one, n in count.items())
    return names if len(places) == 1 else f"{names} with the waste between"


def tooling_ranges(
    spec: Specification[Any],
    mouldings: Sequence[Moulding],
    believed: Beliefs,
    unit: Unit = "mm",
) -> tuple[tuple[str, str], ...]:
    """Return the gap of each mould, and kerf and thickness of each board that the beam cuts."""
    leathers, beliefs = dict(spec.brief.leathers), dict(believed.leathers)
    rows = []
    for one in mouldings:
        leather = leathers[one.blank.role]
        belief = beliefs.get(one.blank.role) or leather_prior(leather)
        gap = gap_range(leather, spec.tooling.gap_factor, belief)
        rows.append((f"Gap, {one.blank.name}", told(gap, "mm", lengths=unit)))
    boards: dict[str, Board] = {
        board.name: board for board in (spec.tooling.mould_board, spec.tooling.template_board)
    }
    for name, belief in believed.boards:
        if boards[name].kerf_mm > 0.0:
            rows.append((f"Kerf, {name}", told(belief.interval("kerf_mm"), "mm", lengths=unit)))
        thickness = belief.interval("thickness_mm")
        rows.append((f"Thickness, {name}", told(thickness, "mm", lengths=unit)))
    return tuple(dict(rows).items())
