"""Words in columns on paper: wrapped to a width, and as high as their lines.

Widths are those of the letters that a ``Book`` carries: open it first.
"""

import re
from dataclasses import dataclass

from hidewright.drawing.line_styles import CAPITAL_HEIGHT
from hidewright.drawing.pdf_page import POINTS_PER_MM, Page, width_at

#: From base line to base line, over the height of a capital.
LEADING = 1.85


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """Words wrapped to a width.

    Attributes:
        lines: One entry a line.
        capital_mm: Height of a capital.
    """

    lines: tuple[str, ...]
    capital_mm: float

    @property
    def height_mm(self) -> float:
        """From the top of the first line to where the next paragraph begins."""
        return len(self.lines) * LEADING * self.capital_mm

    def draw(self, page: Page, left: float, top: float) -> float:
        """Write it down from a top left corner; return where it ends."""
        for line in self.lines:
            page.words(line, (left, top - self.capital_mm), capital_mm=self.capital_mm)
            top -= LEADING * self.capital_mm
        return top


def paragraph(words: str, width_mm: float, capital_mm: float) -> Paragraph:
    """Return words wrapped at spaces; a word wider than the column is broken where it must be."""
    lines: list[str] = []
    line = ""
    for word in words.split():
        longer = f"{line} {word}" if line else word
        if width_of(longer, capital_mm) <= width_mm:
            line = longer
            continue
        if line:
            lines.append(line)
        *whole, line = _broken(word, width_mm, capital_mm)
        lines += whole
    return Paragraph(lines=(*lines, line) if line else tuple(lines), capital_mm=capital_mm)


def width_of(words: str, capital_mm: float) -> float:
    """Return the width of words on paper, mm."""
    size = capital_mm / CAPITAL_HEIGHT * POINTS_PER_MM
    return width_at(words, size) / POINTS_PER_MM


def _broken(word: str, width_mm: float, capital_mm: float) -> list[str]:
    """Return a word in pieces that fit, broken after a stroke or point where there is one."""
    pieces = [""]
    for part in re.split(r"(?<=[_./])", word):
        for some in (part,) if width_of(part, capital_mm) <= width_mm else part:
            if pieces[-1] and width_of(pieces[-1] + some, capital_mm) > width_mm:
                pieces.append("")
            pieces[-1] += some
    return pieces
