"""What stands on the pages of a PDF, read independently of the writer."""

import io
import re
from functools import cache
from typing import Any

import pikepdf

#: Written words and where their base line begins, mm from the page's lower left.
Placed = tuple[str, float, float]
MM = 25.4 / 72


@cache
def pages_of(data: bytes) -> tuple[tuple[tuple[float, float], tuple[Placed, ...]], ...]:
    """Return size, mm, and words of every page."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return tuple(
            ((float(page.mediabox[2]) * MM, float(page.mediabox[3]) * MM), words_on(page))
            for page in pdf.pages
        )


def words_on(page: pikepdf.Page) -> tuple[Placed, ...]:
    """Return every line of words on a page, decoded by the ToUnicode map of its font."""
    maps = {key: _letters(font) for key, font in page.Resources.Font.items()}
    found: list[Placed] = []
    letters: dict[int, str] = {}
    at = (0.0, 0.0)
    for instruction in pikepdf.parse_content_stream(page):
        operands, operator = list(instruction.operands), str(instruction.operator)
        if operator == "Tf":
            letters = maps[str(operands[0])]
        elif operator == "Tm":
            at = (float(operands[4]) * MM, float(operands[5]) * MM)
        elif operator == "Tj":
            found.append(("".join(letters[code] for code in bytes(operands[0])), *at))
    return tuple(found)


def _letters(font: Any) -> dict[int, str]:
    text = font.ToUnicode.read_bytes().decode("ascii")
    found: dict[int, str] = {}
    for block in re.findall(r"beginbfchar(.*?)endbfchar", text, re.S):
        for code, letter in re.findall(r"<(\w+)>\s*<(\w+)>", block):
            found[int(code, 16)] = bytes.fromhex(letter).decode("utf-16-be")
    for block in re.findall(r"beginbfrange(.*?)endbfrange", text, re.S):
        for low, _, array in re.findall(r"<(\w+)>\s*<(\w+)>\s*\[(.*?)\]", block, re.S):
            for i, letter in enumerate(re.findall(r"<(\w+)>", array)):
                found[int(low, 16) + i] = bytes.fromhex(letter).decode("utf-16-be")
    return found
