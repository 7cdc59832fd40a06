"""The other hand: what one tool needs to press the mirrored blank as well."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from hidewright.design.part import Easing, Label, MouldTool, Part, PartHole
from hidewright.design.pressed_zone import PressedZone
from hidewright.errors import Remark
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats

#: Plugs that differ by less are the same plug, mm.
SAME_MM = 0.02
OTHER = "other hand"
#: What dividers make one-handed.
HANGING = ("cavity floor", "divider block")


@dataclass(frozen=True, slots=True, kw_only=True)
class BothHands:
    """A tool that presses a blank and its mirror image.

    Attributes:
        tool: The tool with what was added.
        same_tool: Whether it serves both as it is, its zones being their own mirror image.
        added: Names of the parts that were added or eased once more.
    """

    tool: MouldTool
    same_tool: bool
    added: tuple[str, ...]


def for_both_hands(
    tool: MouldTool, zones: Sequence[PressedZone]
) -> tuple[BothHands, tuple[Remark, ...]]:
    """Return the tool made to press the mirrored blank too, and a note on how.

    Dividers' blocks hang from the floor, so the other hand has a floor of its own. Zones that are
    their own mirror image need nothing. Upright walls need the frame eased on both
    faces, so that frame, base and ring can be turned over, and the plug's plates turned over under
    a second top plate, since the first is eased on one face only. Leaning walls need a second plug
    and frame, mirrored.
    """
    pockets = [island.pocket for zone in zones for island in zone.islands]
    if is_own_mirror([*(zone.plug for zone in zones), *pockets]):
        return _told(tool, tool, "The mould serves both hands as it is: it is its own mirror image")
    if any(zone.wall_angle for zone in zones):
        roles = ("plug", "shim", "frame", "base", *(HANGING if pockets else ()))
        leaning = [p for p in tool.parts if p.role in roles]
        more = tuple(mirrored_part(part) for part in leaning)
        return _told(
            tool,
            replace(tool, parts=(*tool.parts, *more)),
            "Walls that lean cannot be turned over: the other hand has a plug, frame and base of "
            "its own",
        )
    parts: list[Part] = []
    frames = [p for p in tool.parts if p.role == "frame"]
    for part in tool.parts:
        parts.append(eased_above(part, zones) if frames and part is frames[-1] else part)
        if (part.role == "plug" and part.easings) or (pockets and part.role in HANGING):
            parts.append(mirrored_part(part))
    return _told(
        tool,
        replace(tool, parts=tuple(parts)),
        "For the other hand turn frame, base and ring over and stack the plug turned over under "
        "its second top plate: do not glue the plug's plates to one another, screw them",
    )


def is_own_mirror(plugs: Sequence[Outline]) -> bool:
    """Whether outlines together are the same, mirrored and perhaps turned half round."""
    points = [plug.flat_points() for plug in plugs]
    low = np.min([p.min(axis=0) for p in points], axis=0)
    high = np.max([p.max(axis=0) for p in points], axis=0)
    middle = (low + high) / 2.0
    for flip in ((-1.0, 1.0), (1.0, -1.0)):
        turned = [middle + (p - middle) * np.array(flip) for p in points]
        if all(any(_lies_on(p, plug) for plug in plugs) for p in turned):
            return True
    return False


def eased_above(part: Part, zones: Sequence[PressedZone]) -> Part:
    """Return a frame plate with its windows' upper edges eased and marked as well."""
    windows = part.holes_for("window")
    more = tuple(
        Easing(
            radius_mm=zone.lip_radius_mm,
            face="top",
            edge="window",
            how="as the lower edge of the lowest plate",
        )
        for zone in zones
    )
    lines = tuple(
        offset(window, zone.lip_radius_mm).as_path()
        for window, zone in zip(windows, zones, strict=True)
    )
    alone = any(easing.face == "bottom" for easing in part.easings)
    return replace(
        part,
        easings=(*part.easings, *more),
        scores=part.scores if alone else (*part.scores, *lines),
    )


def mirrored_part(part: Part) -> Part:
    """Return a part mirrored left to right (x to -x), for the other hand; words stay readable."""
    return replace(
        part,
        name=f"{part.name} {OTHER}",
        outline=part.outline.mirrored(),
        holes=tuple(
            PartHole(outline=hole.outline.mirrored(), purpose=hole.purpose) for hole in part.holes
        ),
        scores=tuple(path.mirrored() for path in part.scores),
        labels=tuple(_mirrored_label(label) for label in part.labels),
        note=f"For the other hand. {part.note}".strip(),
    )


def _mirrored_label(label: Label) -> Label:
    words = f"{label.words} {OTHER}"
    return Label(
        words=words,
        at=(-label.at[0], label.at[1]),
        height_mm=label.height_mm * len(label.words) / len(words),
        angle=-label.angle,
    )


def _lies_on(points: Floats, plug: Outline) -> bool:
    off = np.abs(signed_distances(plug, points))
    return bool(off.max() <= SAME_MM)


def _told(
    before: MouldTool, after: MouldTool, sentence: str
) -> tuple[BothHands, tuple[Remark, ...]]:
    added = tuple(part.name for part in after.parts if not any(part is p for p in before.parts))
    both = BothHands(tool=after, same_tool=not added, added=added)
    note = Remark(code="both-hands", severity="note", place=before.blank, sentence=sentence)
    return both, (note,)
