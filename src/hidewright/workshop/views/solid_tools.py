"""A mould closed and drawn apart: plates of plug and frame, and the leather between them."""

from collections.abc import Sequence

from hidewright.catalogue.leathers import Leather
from hidewright.design.part import Part
from hidewright.geometry.segment import Floats
from hidewright.workshop.forming_chain import Layer
from hidewright.workshop.tooling_chain import Moulding
from hidewright.workshop.views.solid_formed import formed_sheet
from hidewright.workshop.views.solid_group import SolidGroup
from hidewright.workshop.views.solid_plates import plate, solid
from hidewright.workshop.views.solid_sheet import mirrored, thickened

#: Clear height between parts drawn apart, mm.
CLEAR_MM = 18.0


def tool_groups(
    moulding: Moulding, layers: Sequence[tuple[Layer, Leather]], poses: Floats
) -> list[SolidGroup]:
    """Return a closed tool with its leather, each part with how far it moves up to stand clear.

    Args:
        moulding: The tool. What is not in its closed stack is left out.
        layers: The leather in it, the layer on the plug first.
        poses: Where the tool stands.
    """
    tool = moulding.tool
    standing = [part for part in tool.parts if part.bottom_mm is not None]
    frames = [part for part in standing if _is_frame(part)]
    plugs = [p for p in standing if p.role in ("plug", "shim") and p not in frames]
    rise, over_plug = _risen(plugs, CLEAR_MM)
    over_plug += tool.plug_height_mm
    above = over_plug + CLEAR_MM * len(layers) + tool.plug_height_mm
    rise |= _risen(frames, above)[0]
    groups = [solid(plate(p), p.name, "board", poses, rise.get(p.name, 0.0)) for p in standing]
    for k, (layer, leather) in enumerate(layers):
        sheet = formed_sheet(layer, leather)
        if not moulding.zones[0].grain_out:  # met grain down, in a tool that is mirrored
            sheet = mirrored(sheet)
        name = f"{moulding.blank.name}, {layer.role}"
        groups.append(thickened(sheet, name, "leather", poses, apart_mm=over_plug + CLEAR_MM * k))
    return groups


def _is_frame(part: Part) -> bool:
    """Whether it belongs to the frame; a shim does when it has a window."""
    is_shim = part.role == "shim" and bool(part.holes_for("window"))
    return is_shim or part.role in ("frame", "cavity floor", "divider block")


def _risen(parts: Sequence[Part], first_mm: float) -> tuple[dict[str, float], float]:
    """How far parts move up by name, and what comes over them: those of one height move alike."""
    levels = sorted({round(part.bottom_mm or 0.0, 3) for part in parts})
    rise = {
        part.name: first_mm + CLEAR_MM * levels.index(round(part.bottom_mm or 0.0, 3))
        for part in parts
    }
    return rise, first_mm + CLEAR_MM * len(levels)
