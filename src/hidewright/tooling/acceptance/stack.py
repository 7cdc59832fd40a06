"""The parts of a tool as a checker sees them: sorted by what they are and where they stand."""

from collections.abc import Sequence
from dataclasses import dataclass

from hidewright.design.part import HolePurpose, MouldTool, Part
from hidewright.geometry.outline import Outline
from hidewright.geometry.probe import overlap, signed
from hidewright.geometry.segment import Floats


@dataclass(frozen=True, eq=False, kw_only=True)
class PlugStack:
    """The plates of one plug, lowest first."""

    plates: tuple[Part, ...]

    @property
    def foot(self) -> Outline:
        """Outline of its lowest plate."""
        return self.plates[0].outline

    @property
    def top_mm(self) -> float:
        """Height of its upper face."""
        return top_of(self.plates[-1])


@dataclass(frozen=True, eq=False, kw_only=True)
class Seen:
    """A tool's parts by what they are.

    Attributes:
        plugs: Each plug's plates.
        frame: Plates with windows over the flange, lowest first, shims among them.
        floors, bases, rings, stops, gauges: As their roles say.
    """

    plugs: tuple[PlugStack, ...]
    frame: tuple[Part, ...]
    floors: tuple[Part, ...]
    bases: tuple[Part, ...]
    rings: tuple[Part, ...]
    stops: tuple[Part, ...]
    gauges: tuple[Part, ...]

    @property
    def plates(self) -> tuple[Part, ...]:
        """All plates that go over the dowels."""
        return (*self.bases, *self.frame, *self.floors, *self.rings)


def seen(tool: MouldTool) -> Seen:
    """Return the parts of a tool sorted; a shim with windows belongs to the frame."""
    standing = [p for p in tool.parts if p.bottom_mm is not None]
    standing.sort(key=lambda p: p.bottom_mm or 0.0)
    plug_like = [p for p in standing if p.role == "plug" or (p.role == "shim" and not _framed(p))]
    return Seen(
        plugs=_stacks(plug_like),
        frame=tuple(p for p in standing if p.role == "frame" or (p.role == "shim" and _framed(p))),
        floors=tuple(p for p in standing if p.role == "cavity floor"),
        bases=tuple(p for p in standing if p.role == "base"),
        rings=tuple(p for p in tool.parts if p.role == "hold-down ring"),
        stops=tuple(p for p in tool.parts if p.role == "stop block"),
        gauges=tuple(p for p in tool.parts if p.role == "radius gauge"),
    )


def top_of(part: Part) -> float:
    """Return the height of a part's upper face, mm."""
    return (part.bottom_mm or 0.0) + part.board.thickness_mm


def holds(outline: Outline, middle: Floats) -> bool:
    """Whether a point, (1, 2) mm, lies in an outline."""
    return bool(signed(outline, middle)[0] < 0.0)


def bored(part: Part, *purposes: HolePurpose) -> tuple[Outline, ...]:
    """Return a part's holes for some purposes."""
    return tuple(hole.outline for hole in part.holes if hole.purpose in purposes)


def _framed(part: Part) -> bool:
    return any(hole.purpose in ("window", "dowel") for hole in part.holes)


def _stacks(parts: Sequence[Part]) -> tuple[PlugStack, ...]:
    stacks: list[list[Part]] = []
    for part in parts:
        for stack in stacks:
            if overlap(stack[0].outline, part.outline):
                stack.append(part)
                break
        else:
            stacks.append([part])
    return tuple(PlugStack(plates=tuple(stack)) for stack in stacks)
