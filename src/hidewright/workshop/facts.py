"""The numbers a maker looks for first, as rows of the contents page."""

from collections.abc import Mapping
from typing import Any

from hidewright.catalogue.leathers import MEASURED, Leather
from hidewright.design.design import Design
from hidewright.drawing.contents import Chapter
from hidewright.units.length import format_length
from hidewright.units.written import Written


def chapters_of(design: Design, values: Mapping[str, Any], written: Written) -> tuple[Chapter, ...]:
    """Return chapters of facts on what is carried, the leather, the moulds and the seams."""
    return (
        Chapter(title="What goes in", facts=carried_facts(design)),
        Chapter(title="Leather", facts=leather_facts(design, values, written)),
        *(
            Chapter(title=f"Mould for the {m.blank.name}", facts=mould_facts(m))
            for m in values["mouldings"][0]
        ),
        Chapter(title="Seams", facts=seam_facts(design, values)),
    )


def carried_facts(design: Design) -> tuple[tuple[str, str], ...]:
    """Return what goes in, the room there is for it and what holds it in."""
    rows = [(c.thing.name, f"{c.count}, {c.arrangement}") for c in design.carried]
    for hollow in design.hollows:
        box = hollow.outline
        rows.append(
            (
                f"Room inside, {hollow.name}",
                f"{box.width:.1f} x {box.height:.1f} x {hollow.depth_mm:.1f} mm, dry",
            )
        )
    rows.append(("Held in by", design.held_by or "nothing named"))
    return tuple(rows)


def leather_facts(
    design: Design, values: Mapping[str, Any], written: Written
) -> tuple[tuple[str, str], ...]:
    """Return each leather, and the size of each rough blank of ``mouldings``."""
    moulded = {b.role for b in design.blanks} | {p.role for p in design.pieces if p.zones}
    rows = [
        (
            role,
            f"{leather.name}: "
            f"{written.leather((leather.thickness_min_mm, leather.thickness_max_mm))}; "
            + (_shrinks(leather) if role in moulded else "used dry"),
        )
        for role, leather in design.leathers
    ]
    for m in values["mouldings"][0]:
        rows.append(
            (
                f"Blank, {m.blank.name}",
                f"{m.cut.width:.0f} x {m.cut.height:.0f} mm cut dry, makes the pieces of "
                f"{m.blank.articles} article{'s' if m.blank.articles > 1 else ''}",
            )
        )
    return tuple(rows)


def _shrinks(leather: Leather) -> str:
    measured = "shrinkage" in leather.source and MEASURED in leather.source
    known = MEASURED if measured else "assumed until measured"
    return (
        f"reckoned to shrink {leather.shrinkage_along:.1%} along and "
        f"{leather.shrinkage_across:.1%} across the backbone as it dries ({known})"
    )


def mould_facts(moulding: Any) -> tuple[tuple[str, str], ...]:
    """Return a mould's gap, heights and force, and its parts."""
    tool = moulding.tool
    return (
        ("Gap between plug and frame", f"{tool.gap_mm:.2f} mm on every wall"),
        ("Plug height over the base", f"{tool.plug_height_mm:.2f} mm"),
        ("Space for the flange", f"{tool.flange_gap_mm:.2f} mm, set by the stop blocks"),
        ("Closed height, base to top", f"{tool.closed_height_mm:.2f} mm"),
        (
            "Force on the vise",
            f"about {tool.force_N[0]:.0f} to {tool.force_N[1]:.0f} N (an estimate; the closed "
            "height is what counts)",
        ),
        *(
            (
                f"{part.count} x {part.name}" if part.count > 1 else part.name,
                f"{part.board.name}, {part.outline.width:.1f} x {part.outline.height:.1f} mm"
                + (f". {part.note}" if part.note else ""),
            )
            for part in tool.parts
        ),
    )


def seam_facts(design: Design, values: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    """Return holes, pitch, thread, needle and awl of each seam of ``sewn``, ``sewing tools``."""
    if not design.seams:
        return (("Seams", "none"),)
    rows: list[tuple[str, str]] = []
    for sewn, tools in zip(values["sewn"][0], values["sewing tools"][0], strict=True):
        rows.append(
            (
                sewn.name,
                f"{sewn.count} holes in each of {len(sewn.layers)} layers, "
                f"{_range(*sewn.pitch_mm)} mm apart; {sewn.reverse_stitches} stitches sewn back at "
                f"each end; {format_length(round(sewn.thread_mm, -1))} of {tools.thread.name}, "
                f"needle {tools.needle.name}, awl {tools.awl.name}",
            )
        )
    return tuple(rows)


def _range(low: float, high: float) -> str:
    """Return a range in hundredths, one number where its ends are written alike."""
    return "-".join(dict.fromkeys(f"{value:.2f}" for value in (low, high)))
