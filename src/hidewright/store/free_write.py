"""The measures of a free design to lines of YAML, with how to assign seams where there are none."""

from collections.abc import Callable, Sequence
from dataclasses import fields
from typing import Any, Literal, get_origin, get_type_hints

from hidewright.design.kinds.free_measures import FreeMeasures, FreePiece
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point

#: ``field: value  # meaning`` of a noun's plain fields, some skipped.
Plain = Callable[[Any, tuple[str, ...]], list[str]]
Text = Callable[[str], str]

#: Units of coordinates, mm; a coordinate in inches is written to this many decimals.
UNITS_MM, INCH_DECIMALS = {"mm": 1.0, "in": 25.4}, 10

_HEAD = (
    "# Outlines are corners counter-clockwise, seen on the grain: span names the side that begins",
    "# there; bulge is tan(angle / 4) of an arc that begins there, left turns positive.",
)


def free_lines(
    measures: FreeMeasures, unit: Literal["mm", "in"], plain: Plain, text: Text
) -> list[str]:
    """Return the lines of the measures section.

    Args:
        measures: To write.
        unit: Of the coordinates.
        plain: Writes a noun's quantities, choices and switches.
        text: Writes a text as a scalar that reads back as itself.
    """
    out = [*_HEAD, f"unit: {unit}  # of coordinates that are written without a unit (mm | in)"]
    write = _Writer(unit, plain, text)
    for section in ("pieces", "seams", "blanks", "hollows", "fittings", "magnets"):
        nouns = getattr(measures, section)
        if section == "seams" and not nouns:
            out += _how_to_sew(measures.pieces, text)
        out += write.listed(section, nouns)
    if measures.held_by:
        out.append(f"held_by: {text(measures.held_by)}  # what keeps the things in")
    return out


class _Writer:
    """Writes nouns of a free design, a field a line, by what kind of value it holds."""

    def __init__(self, unit: Literal["mm", "in"], plain: Plain, text: Text) -> None:
        self.mm, self.plain, self.text = UNITS_MM[unit], plain, text

    def listed(self, section: str, nouns: Sequence[Any]) -> list[str]:
        """Return a list of nouns."""
        if not nouns:
            return [f"{section}: []"]
        out = [f"{section}:"]
        for noun in nouns:
            first, *rest = self.noun(noun)
            out += [f"  - {first}", *(f"    {line}" for line in rest)]
        return out

    def noun(self, noun: Any) -> list[str]:
        """Return the fields of one noun."""
        out: list[str] = []
        hints = get_type_hints(type(noun))
        every = tuple(f.name for f in fields(noun))
        for one in fields(noun):
            value, hint = getattr(noun, one.name), hints[one.name]
            says = str(one.metadata.get("says", ""))
            if value is None or (hint is str and not value):
                continue
            if hint is Outline:
                out += [f"{one.name}:  # {says}", *(f"  - {c}" for c in self.corners(value))]
            elif hint in (Point, Point | None):
                out.append(f"{one.name}: {self.point(value)}  # {says}")
            elif hint == tuple[Point, Point]:
                ends = ", ".join(map(self.point, value))
                out.append(f"{one.name}: [{ends}]  # {says}")
            elif hint == tuple[str, ...]:
                names = ", ".join(map(self.text, value))
                out.append(f"{one.name}: [{names}]  # {says}")
            elif get_origin(hint) is tuple:
                out += self.listed(one.name, value)
            elif hint is str:
                out.append(f"{one.name}: {self.text(value)}  # {says}")
            else:
                out += self.plain(noun, tuple(name for name in every if name != one.name))
        return out

    def corners(self, drawn: Outline) -> list[str]:
        """Return the corners of an outline."""
        out = []
        for s in drawn.segments:
            said = f"at: {self.point(s.start)}"
            if s.bulge:
                said += f", bulge: {s.bulge!r}"
            if s.span:
                said += f", span: {self.text(s.span)}"
            out.append(f"{{{said}}}")
        return out

    def point(self, at: Point) -> str:
        """Return a point in the unit of the file."""
        in_unit = at if self.mm == 1.0 else [round(v / self.mm, INCH_DECIMALS) for v in at]
        return "[" + ", ".join(repr(v).removesuffix(".0") for v in in_unit) + "]"


def _how_to_sew(pieces: Sequence[FreePiece], text: Text) -> list[str]:
    """Return a commented seam of the first two pieces, to copy."""
    front = pieces[0].name if pieces else "front"
    back = pieces[1].name if len(pieces) > 1 else "back"
    span = next(iter(pieces[0].outline.spans), "rim") if pieces else "rim"
    other = next(iter(pieces[1].outline.spans), "rim") if len(pieces) > 1 else "rim"
    return [
        "# No seam is assigned yet. Give each side that is sewn as one a span of one name, write",
        "# side: back for the piece that lies turned over, then take the # off these lines (and",
        "# 'seams: []' away):",
        "# seams:",
        "#   - name: rim",
        "#     inset: 4 mm",
        "#     pitch: 4 mm",
        "#     edges:",
        f"#       - {{piece: {text(front)}, span: {text(span)}}}",
        f"#       - {{piece: {text(back)}, span: {text(other)}, backwards: true}}",
    ]
