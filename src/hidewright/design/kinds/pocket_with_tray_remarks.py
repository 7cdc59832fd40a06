"""What is to be said of a pocket with a tray: gaps, hinge, fold, magnets."""

from collections.abc import Callable

from hidewright.catalogue.magnets import Magnet
from hidewright.design.carried import Carried
from hidewright.design.kinds.limits import grown_by
from hidewright.design.kinds.pocket_with_tray_closed import (
    ClosedSection,
    ClosedState,
    full_and_empty,
)
from hidewright.design.kinds.pocket_with_tray_measures import PocketWithTrayMeasures
from hidewright.design.magnets import weak_pair
from hidewright.errors import Remark, Remedy

#: Flanges nearer than this count as lying on one another, mm.
MEET_MM = 0.05


def remarks_on(
    m: PocketWithTrayMeasures,
    carried: tuple[Carried, ...],
    section: ClosedSection,
    magnet: Magnet | None,
    sized: Callable[[], PocketWithTrayMeasures],
) -> tuple[Remark, ...]:
    """Return what is to be said of the closed article, full and empty.

    Args:
        m: The measures.
        carried: What it holds.
        section: The article, closed.
        magnet: Of the closure, if one closes it.
        sized: Gives the measures that fit what is carried; asked where these do not.
    """
    t = section.height_mm - section.gap_mm
    full, empty = full_and_empty(m, section, t, carried, magnet)
    return (
        *_about_gaps(m, full, empty),
        *_about_full(m, sized, full),
        *_about_empty(m, section, empty, magnet),
        *_about_fold(m, section, t),
        *_about_proud(m, carried),
        *(_about_magnets(m, carried, section, magnet) if magnet else ()),
    )


def _about_gaps(
    m: PocketWithTrayMeasures, full: ClosedState, empty: ClosedState
) -> tuple[Remark, ...]:
    if full.gap_mm <= MEET_MM:
        return ()
    return (
        Remark(
            code="open-side-gaps",
            severity="note",
            place="outer/tray",
            amount=full.gap_mm,
            limit=0.0,
            sentence=(
                f"Closed over its things, the tray's flange stays {full.gap_mm:.1f} mm over the "
                f"pocket's, open at both sides and the end; empty and pressed, {empty.gap_mm:.1f} "
                "mm. A gusset or a tray as deep as pocket and slide closes it; the fold is then as "
                "tight as its leather, and no magnet goes between"
            ),
            remedies=(
                Remedy(field="measures.tray_depth", value=f"{m.depth_mm + m.slide_mm:.2f} mm"),
            ),
        ),
    )


def _about_full(
    m: PocketWithTrayMeasures, sized: Callable[[], PocketWithTrayMeasures], full: ClosedState
) -> tuple[Remark, ...]:
    """Forbid a hinge that is too short to close over what is carried."""
    if full.spare_mm >= -MEET_MM:
        return ()
    return (
        Remark(
            code="hinge-short-when-full",
            severity="forbids",
            place="pocket",
            amount=-full.spare_mm,
            limit=0.0,
            sentence=(
                "What is carried is thicker than the pocket and holds the tray "
                f"{full.height_mm:.1f} mm over the back: the hinge is {-full.spare_mm:.1f} mm too "
                "short to climb over it"
            ),
            remedies=grown_by(m, sized()),
        ),
    )


def _about_empty(
    m: PocketWithTrayMeasures, section: ClosedSection, empty: ClosedState, magnet: Magnet | None
) -> tuple[Remark, ...]:
    """Say how much longer than its way the hinge is when nothing holds the tray up."""
    if empty.spare_mm <= MEET_MM:
        return ()
    onto = "its magnet" if magnet else "the pocket's flange"
    return (
        Remark(
            code="hinge-slack-when-empty",
            severity="note",
            place="outer",
            amount=empty.spare_mm,
            limit=0.0,
            sentence=(
                f"Empty and pressed down onto {onto}, the tray sinks by "
                f"{section.height_mm - empty.height_mm:.1f} mm; the hinge is then "
                f"{empty.spare_mm:.1f} mm longer than its way and bulges"
            ),
            remedies=(
                Remedy(
                    field="measures.tray_depth",
                    value=f"{m.depth_mm + m.slide_mm - empty.gap_mm:.2f} mm",
                ),
            ),
        ),
    )


def _about_fold(
    m: PocketWithTrayMeasures, section: ClosedSection, thickness_mm: float
) -> tuple[Remark, ...]:
    radius = section.strip.inside_radius_mm
    if radius >= thickness_mm - MEET_MM:
        return ()
    shallower = m.depth_mm + m.slide_mm - thickness_mm
    higher = m.fold_radius_mm >= thickness_mm and shallower >= 2.0
    return (
        Remark(
            code="tight-fold",
            severity="warning",
            place="outer",
            amount=radius,
            limit=thickness_mm,
            sentence=(
                f"The hinge is bent to an inside radius of {radius:.2f} mm, less than its leather "
                f"of {thickness_mm:.2f} mm: the grain may crack. Thin the strip to half, fold it "
                "damp round a rod, or take a shallower tray"
            ),
            remedies=(Remedy(field="measures.tray_depth", value=f"{shallower:.2f} mm"),)
            if higher
            else (),
        ),
    )


def _about_proud(m: PocketWithTrayMeasures, carried: tuple[Carried, ...]) -> tuple[Remark, ...]:
    """Forbid what stands so far out of the pocket that the tray does not close over it."""
    proud = max((-c.mouth_clearance_mm for c in carried), default=0.0)
    room = m.mouth_room_mm - m.slide_mm
    if proud <= room:
        return ()
    return (
        Remark(
            code="proud-of-the-tray",
            severity="forbids",
            place="outer/tray",
            amount=proud,
            limit=room,
            sentence=(
                f"What is carried stands {proud:.1f} mm out of the pocket, and the tray has room "
                f"for {room:.1f} mm there"
            ),
            remedies=(Remedy(field="measures.mouth_room", value=f"{proud + m.slide_mm:.1f} mm"),),
        ),
    )


def _about_magnets(
    m: PocketWithTrayMeasures,
    carried: tuple[Carried, ...],
    section: ClosedSection,
    magnet: Magnet,
) -> tuple[Remark, ...]:
    found: list[Remark] = []
    thick = magnet.thickness_mm + m.cover_mm
    if thick > section.gap_mm + MEET_MM:
        depth = m.depth_mm + m.slide_mm - thick
        found.append(
            Remark(
                code="no-room-for-magnet",
                severity="warning",
                place="outer/tray",
                amount=section.gap_mm,
                limit=thick,
                sentence=(
                    f"The tray's magnet and its cover are {thick:.1f} mm thick and the flanges "
                    f"only {section.gap_mm:.1f} mm apart: they would hold the tray open"
                ),
                remedies=(Remedy(field="measures.tray_depth", value=f"{depth:.2f} mm"),)
                if depth >= 2.0
                else (),
            )
        )
    apart = max(section.height_mm - magnet.thickness_mm, 0.0)
    found += weak_pair("pocket magnet", (magnet, magnet), apart, carried)
    return tuple(found)
