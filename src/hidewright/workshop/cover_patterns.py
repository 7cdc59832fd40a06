"""All covers of an article as one full-size pattern: small patches that are cut from offcuts."""

from collections.abc import Mapping, Sequence

from hidewright.design.cover import Cover
from hidewright.drawing.drawing import Drawing, Stroke, Text
from hidewright.workshop.patterns import CUT, WORDS

#: Height of capitals, from line to line, and between two covers, mm.
CAPITAL_MM, LINE_MM, APART_MM = 2.0, 4.0, 6.0


def covers_drawing(covers: Sequence[Cover], leathers: Mapping[str, str]) -> Drawing:
    """Return covers under one another, each with its words beside it.

    Args:
        covers: At least one.
        leathers: Name of the leather of each role.
    """
    strokes: list[Stroke] = []
    texts: list[Text] = []
    beside = max(cover.outline.width for cover in covers) + 4.0
    top = 0.0
    for cover in covers:
        box = cover.outline
        lines = (
            cover.name,
            f"from an offcut of {leathers[cover.role]}",
            f"pared to {cover.thickness_mm:g} mm, its edge to nothing",
            f"glued flesh to flesh on {cover.piece}",
        )
        high = max(box.height, len(lines) * LINE_MM)
        middle = top - high / 2
        placed = box.moved(-box.bounds[0], middle)
        strokes.append(Stroke(curve=placed, layer=CUT, part=cover.name))
        first = middle + (len(lines) - 1) * LINE_MM / 2 - CAPITAL_MM / 2
        texts += [
            Text(words=words, at=(beside, first - i * LINE_MM), height_mm=CAPITAL_MM, layer=WORDS)
            for i, words in enumerate(lines)
        ]
        top -= high + APART_MM
    return Drawing(title="covers", strokes=tuple(strokes), texts=tuple(texts))
