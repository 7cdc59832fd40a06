"""The measures of a free design to lines of YAML, with how to assign seams where there are none."""

from collections.abc import Callable, Sequence
from dataclasses import fields
from typing import Any

from hidewright.design.kinds.free_measures import FreeMeasures, FreePiece
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point

#: ``field: value  # meaning`` of a noun's plain fields, some skipped.
Plain = Callable[[Any, tuple[str, ...]], list[str]]
Text = Callable[[str], str]

_HEAD = (
    "# Outlines are corners counter-clockwise, in mm, seen on the grain: span names the side that",
    "# begins there; bulge is tan(angle / 4) of an arc that begins there, left turns positive.",
)


def free_lines(measures: FreeMeasures, plain: Plain, text: Text) -> list[str]:
    """Return the lines of the measures section.

    Args:
        measures: To write.
        plain: Writes a noun's quantities, choices and switches.
        text: Writes a text as a scalar that reads back as itself.
    """
    out = list(_HEAD)
    for section in ("pieces", "seams", "blanks", "hollows"):
        nouns = getattr(measures, section)
        if section == "seams" and not nouns:
            out += _how_to_sew(measures.pieces, text)
        out += _list(section, nouns, plain, text)
    if measures.held_by:
        out.append(f"held_by: {text(measures.held_by)}  # what keeps the things in")
    return out


def _list(section: str, nouns: Sequence[Any], plain: Plain, text: Text) -> list[str]:
    if not nouns:
        return [f"{section}: []"]
    out = [f"{section}:"]
    for noun in nouns:
        first, *rest = _noun(noun, plain, text)
        out += [f"  - {first}", *(f"    {line}" for line in rest)]
    return out


def _noun(noun: Any, plain: Plain, text: Text) -> list[str]:
    out: list[str] = []
    every = tuple(f.name for f in fields(noun))
    for one in fields(noun):
        value, says = getattr(noun, one.name), str(one.metadata.get("says", ""))
        if isinstance(value, Outline):
            out += [f"{one.name}:  # {says}", *(f"  - {c}" for c in _corners(value, text))]
        elif one.name == "at":
            out.append(f"at: {_point(value)}  # {says}")
        elif isinstance(value, tuple) and all(isinstance(v, str) for v in value):
            names = ", ".join(text(v) for v in value)
            nested = one.name in ("zones", "holes", "edges")
            out.append(f"{one.name}: [{names}]" + ("" if nested else f"  # {says}"))
        elif isinstance(value, tuple):
            out += _list(one.name, value, plain, text)
        elif isinstance(value, str) and not _is_choice(one.type):
            if value:
                out.append(f"{one.name}: {text(value)}  # {says}")
        else:
            out += plain(noun, tuple(name for name in every if name != one.name))
    return out


def _is_choice(hint: object) -> bool:
    return "Literal" in str(hint)


def _corners(drawn: Outline, text: Text) -> list[str]:
    out = []
    for s in drawn.segments:
        said = f"at: {_point(s.start)}"
        if s.bulge:
            said += f", bulge: {s.bulge!r}"
        if s.span:
            said += f", span: {text(s.span)}"
        out.append(f"{{{said}}}")
    return out


def _point(at: Point) -> str:
    return "[" + ", ".join(repr(v).removesuffix(".0") for v in at) + "]"


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
