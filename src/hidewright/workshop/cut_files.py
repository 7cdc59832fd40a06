"""Sheets of parts to drawings for the laser: one named layer an operation, in cutting order."""

from collections.abc import Sequence

from hidewright.drawing.drawing import Drawing, Layer, Stroke, Text, union_bounds
from hidewright.geometry.segment import turn
from hidewright.tooling.sheets import Placed, Sheet

MARK = Layer(name="mark", style="dotted", weight_mm=0.15)
SCORE = Layer(name="score", style="dashed", weight_mm=0.15)
CUT_INSIDE = Layer(name="cut inside", style="solid", weight_mm=0.15)
CUT_OUTSIDE = Layer(name="cut outside", style="solid", weight_mm=0.3)


def sheet_drawings(sheets: Sequence[Sheet]) -> tuple[Drawing, ...]:
    """Return one drawing a sheet: scores, then all inside cuts, then all outside cuts, and words.

    Every line is where the beam goes: the kerf is allowed for.
    """
    return tuple(_drawing(sheet) for sheet in sheets)


def used_view(drawing: Drawing) -> tuple[float, float, float, float] | None:
    """Return what a small picture shows of a sheet when less than half of it is used both ways.

    Returns:
        (left, top, width, height) from the sheet's upper left, y down, mm: what is cut and as much
        round it as beside it; None where the whole sheet shows it as well.
    """
    wide, high = drawing.bounds[2:]
    left, bottom, right, top = union_bounds(s.curve.bounds for s in drawing.strokes)
    if right > wide / 2 or top > high / 2:
        return None
    return (0.0, high - top - bottom, right + left, top + bottom)


def _drawing(sheet: Sheet) -> Drawing:
    strokes: list[Stroke] = []
    texts: list[Text] = []
    for placed in sheet.placed:
        strokes += [
            Stroke(curve=score.rotated(placed.turn).moved(*placed.shift), layer=SCORE, part=part)
            for part, score in ((placed.cut.part, s) for s in placed.cut.scores)
        ]
        texts += _words(placed)
    for placed in sheet.placed:
        strokes += [
            Stroke(
                curve=hole.rotated(placed.turn).moved(*placed.shift),
                layer=CUT_INSIDE,
                part=placed.cut.part,
            )
            for hole in placed.cut.inner
        ]
    strokes += [
        Stroke(
            curve=placed.cut.outer.rotated(placed.turn).moved(*placed.shift),
            layer=CUT_OUTSIDE,
            part=placed.cut.part,
        )
        for placed in sheet.placed
    ]
    return Drawing(
        title=f"{sheet.board.name} sheet {sheet.number}",
        strokes=tuple(strokes),
        texts=tuple(texts),
        sheet=(sheet.board.sheet_width_mm, sheet.board.sheet_height_mm),
    )


def _words(placed: Placed) -> list[Text]:
    out = []
    for label in placed.cut.labels:
        # a label is placed by its middle, a text by the middle of its base line
        down = turn((0.0, -label.height_mm / 2), label.angle)
        x, y = turn((label.at[0] + down[0], label.at[1] + down[1]), placed.turn)
        out.append(
            Text(
                words=label.words,
                at=(x + placed.shift[0], y + placed.shift[1]),
                height_mm=label.height_mm,
                angle=label.angle + placed.turn,
                anchor="middle",
                layer=MARK,
            )
        )
    return out
