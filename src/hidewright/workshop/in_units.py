"""What crafts have put into words and pictures, as the workshop's papers write measures."""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np

from hidewright.catalogue.awls import Awl
from hidewright.catalogue.boards import Board
from hidewright.design.design import Design
from hidewright.design.specification import Specification
from hidewright.design.step import Step
from hidewright.drawing.contents import Chapter
from hidewright.drawing.drawing import Drawing, Layer
from hidewright.drawing.heat_map import HeatMap
from hidewright.errors import Remark, RequestError
from hidewright.units.length import MM_PER_INCH, LengthUnit, format_length, parse_position
from hidewright.units.written import Written

#: Figures of steps whose value is a name.
NAMED = ("Leather", "Thread", "Needles", "Awl", "Fitting", "Magnet")
#: A number with a decimal point that has no unit and is no part of a range, which a name may hold.
_SIZE = re.compile(r"(?<![\d.-])-?\d+\.\d+(?![\d.-])")


def names_in(
    design: Design, boards: Iterable[Board] = (), awls: Iterable[Awl] = ()
) -> frozenset[str]:
    """Return the names of what an article holds and is made of and with.

    Measures in them stay as they are.
    """
    return frozenset(
        (
            design.thread.name,
            *(leather.name for _, leather in design.leathers),
            *(place.fitting.name for place in design.fittings),
            *(place.magnet.name for place in design.magnets),
            *(one.thing.name for one in design.carried),
            *(board.name for board in boards),
            *(awl.name for awl in awls),
        )
    )


def names_of(spec: Specification[Any]) -> Iterator[str]:
    """Yield the names of what a design file says it holds and is made of."""
    brief, tooling = spec.brief, spec.tooling
    yield from (brief.thread.name, tooling.mould_board.name, tooling.template_board.name)
    for rows in (brief.leathers, brief.fittings, brief.magnets):
        yield from (one.name for _, one in rows)
    yield from (one.thing.name for one in brief.carried)


def saying(spec: Specification[Any], lengths: LengthUnit) -> Callable[[str], str]:
    """Return how words on a design are written in a unit; names in them stay as they are."""
    return partial(Written(lengths=lengths).words, names=frozenset(names_of(spec)))


def remark_in(
    remark: Remark, say: Callable[[str], str], typed: Callable[[str], str] | None = None
) -> Remark:
    """Return a remark with its measures, and those of what would mend it, written anew.

    Args:
        remark: In mm.
        say: Writes the measures in words anew.
        typed: Writes a length that would mend it; as ``say`` does without it. What is no length,
            such as a board's name, stays as it is.
    """
    to_type = typed or say

    def value(text: str) -> str:
        try:
            parse_position(text)
        except RequestError:
            return text
        return to_type(text)

    remedies = tuple(
        replace(one, value=value(one.value), also=tuple((f, value(v)) for f, v in one.also))
        for one in remark.remedies
    )
    return replace(remark, sentence=say(remark.sentence), remedies=remedies)


def remarks_for(
    spec: Specification[Any], remarks: Sequence[Remark], lengths: LengthUnit
) -> tuple[Remark, ...]:
    """Return remarks on a design in a unit; what would mend it can be typed in as it is told."""
    if lengths == "mm":
        return tuple(remarks)
    say = saying(spec, lengths)

    def typed(value: str) -> str:
        return format_length(parse_position(value), lengths)

    return tuple(remark_in(remark, say, typed) for remark in remarks)


def names_told(steps: Sequence[Step]) -> frozenset[str]:
    """Return the names of materials and needles that steps tell, and of boards that they cut."""
    told = {f.value for step in steps for f in step.figures if f.label in NAMED}
    return frozenset(told | {step.setup for step in steps})


def drawing_in(drawing: Drawing, say: Callable[[str], str]) -> Drawing:
    """Return a drawing with its words written anew."""
    texts = (replace(text, words=say(text.words)) for text in drawing.texts)
    return replace(drawing, texts=tuple(texts))


def sizes_in(drawing: Drawing, written: Written) -> Drawing:
    """Return a drawing whose numbers are lengths in mm without a unit, in the unit written in.

    Thousandths of an inch take the room of hundredths of a mm when no nought stands before them.
    """
    if written.lengths == "mm":
        return drawing

    def inches(found: re.Match[str]) -> str:
        return f"{float(found[0]) / float(MM_PER_INCH):.3f}".replace("0.", ".", 1)

    def anew(words: str) -> str:
        return _SIZE.sub(inches, words).replace("measures in mm", "measures in inches")

    def named(layer: Layer) -> Layer:
        return replace(layer, name=re.sub(", mm$", ", inches", layer.name))

    return replace(
        drawing,
        strokes=tuple(replace(stroke, layer=named(stroke.layer)) for stroke in drawing.strokes),
        texts=tuple(
            replace(
                text,
                words=re.sub(", mm$", ", inches", anew(text.words)),
                layer=named(text.layer),
            )
            for text in drawing.texts
        ),
    )


def heat_in(heat: HeatMap, written: Written) -> HeatMap:
    """Return a map of lengths in the unit written in; other maps stay."""
    if written.lengths == "mm" or heat.unit != "mm":
        return heat
    edges = tuple(round(edge / float(MM_PER_INCH), 4) for edge in heat.edges)
    values = np.interp(heat.values, heat.edges, edges)
    return replace(heat, unit="in", edges=edges, values=values)


def chapters_in(
    chapters: Iterable[Chapter], written: Written, names: Iterable[str]
) -> tuple[Chapter, ...]:
    """Return chapters of facts and notes with their measures rewritten."""
    kept = tuple(names)
    return tuple(
        replace(
            one,
            facts=tuple(
                (written.words(label, kept), written.words(value, kept))
                for label, value in one.facts
            ),
            notes=tuple(written.words(note, kept) for note in one.notes),
        )
        for one in chapters
    )
