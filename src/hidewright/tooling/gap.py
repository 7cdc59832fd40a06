"""The one gap between plug and frame, and the gap over the flange, from the leather."""

from hidewright.catalogue.leathers import Leather
from hidewright.design.choices import ToolingChoice
from hidewright.errors import Remark, Remedy

#: A blank thinner than the thickest by more than this gets a card shim, mm; common practice.
EVEN_THICKNESS_MM = 0.2
#: Gap over thickest soaked leather when nothing speaks for another; common practice.
USUAL_GAP_FACTOR = 1.10
#: Below this the wall is ironed so hard that the grain tears; common practice, no source.
LEAST_GAP_FACTOR = 0.95


def gap_for(leather: Leather, choice: ToolingChoice) -> tuple[float, tuple[Remark, ...]]:
    """Return the gap between plug and frame, measured square to the wall, and remarks on it.

    One rule for every wall: gap factor x thickest leather, soaked (common practice, no source).

    Args:
        leather: Its thickest measure decides; it is taken as soaked.
        choice: Gives the gap factor.

    Returns:
        The gap, mm; and remarks where the wall is ironed or the thickness is uneven.
    """
    thickest = soaked_thickness_mm(leather)
    remarks: list[Remark] = []
    factor = choice.gap_factor
    if factor < LEAST_GAP_FACTOR - 1e-9:
        remarks.append(
            Remark(
                code="gap-too-tight",
                severity="forbids",
                place=leather.name,
                amount=factor,
                limit=LEAST_GAP_FACTOR,
                sentence=(
                    f"A gap of {factor:.2f} times the soaked thickness tears the grain off the "
                    f"wall: at least {LEAST_GAP_FACTOR:.2f} is needed for sharp detail, "
                    f"{USUAL_GAP_FACTOR:.2f} is usual"
                ),
                remedies=(
                    Remedy(field="tooling.gap_factor", value=f"{LEAST_GAP_FACTOR:.2f}"),
                    Remedy(field="tooling.gap_factor", value=f"{USUAL_GAP_FACTOR:.2f}"),
                ),
            )
        )
    elif factor < 1.0 - 1e-9:
        remarks.append(
            Remark(
                code="gap-irons-wall",
                severity="warning",
                place=leather.name,
                amount=factor,
                limit=1.0,
                sentence=(
                    f"A gap of {factor:.2f} times the thickest soaked leather, "
                    f"{factor * thickest:.2f} mm for {thickest:.2f} mm, irons the wall: sharper "
                    "detail, but it presses hard and may bruise the grain"
                ),
                remedies=(Remedy(field="tooling.gap_factor", value=f"{USUAL_GAP_FACTOR:.2f}"),),
            )
        )
    spread = leather.thickness_max_mm - leather.thickness_min_mm
    if spread > EVEN_THICKNESS_MM + 1e-9:
        remarks.append(
            Remark(
                code="thickness-uneven",
                severity="note",
                place=leather.name,
                amount=spread,
                limit=EVEN_THICKNESS_MM,
                sentence=(
                    f"The mould is made for leather of {leather.thickness_max_mm:.2f} mm: measure "
                    "each blank, and press one thinner than "
                    f"{leather.thickness_max_mm - EVEN_THICKNESS_MM:.2f} mm with a card shim "
                    f"behind the wall as thick as what it lacks, {spread:.2f} mm for the thinnest"
                ),
            )
        )
    return factor * thickest, tuple(remarks)


def soaked_thickness_mm(leather: Leather) -> float:
    """Return the thickness of the thickest leather, soaked, mm."""
    return leather.thickness_max_mm * (1.0 + leather.soak_growth_thickness)


def flange_gap_mm(leather: Leather) -> float:
    """Return the space between base and frame: the thickest soaked leather, held without crush."""
    return soaked_thickness_mm(leather)
