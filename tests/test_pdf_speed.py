"""Quicker stand-ins write to the byte what the PDF library writes."""

import random
from typing import Any

import pytest
from reportlab.lib import rl_accel
from reportlab.pdfbase import pdfdoc, pdfmetrics, ttfonts
from reportlab.pdfgen import canvas, pathobject, textobject

from hidewright.drawing.pdf_page import FONT, Book, width_at
from hidewright.drawing.pdf_speed import escaped, hurry, numbers, width

ESCAPE: Any = rl_accel.escapePDF
WIDTH: Any = rl_accel.instanceStringWidthTTF


def test_numbers_are_those_of_the_library() -> None:
    draw = random.Random(5)
    values = [draw.choice((-1, 1)) * 10 ** draw.uniform(-9, 8) for _ in range(4000)]
    values += [round(v, draw.randint(0, 4)) for v in values]
    values += [sign * 10.0**k for k in range(-8, 9) for sign in (1, -1)] + [0.0, 1.0, 999999.5]
    for value in values:
        assert numbers(value) == rl_accel.fp_str(value), value
    assert numbers(1.25, -0.5) == numbers((1.25, -0.5)) == rl_accel.fp_str(1.25, -0.5)
    assert numbers([1.25, -0.5]) == rl_accel.fp_str([1.25, -0.5])


def test_strings_are_those_of_the_library() -> None:
    every = bytes(range(256))
    assert escaped(every) == ESCAPE(every)
    assert escaped(every.decode("latin-1")) == ESCAPE(every.decode("latin-1"))


@pytest.mark.parametrize("words", ["", "Ålder row (2) \\", "no such letter: \U0001f4a9"])
def test_words_are_as_wide_as_in_the_library(words: str) -> None:
    Book("opens the font")
    font: Any = pdfmetrics.getFont(FONT)
    for size in (3.5, 7.25, 12.0):
        assert width(font, words, size) == WIDTH(font, words, size) == width_at(words, size)
        assert width(font, words.encode(), size) == WIDTH(font, words.encode(), size)


def test_a_book_is_the_same_with_and_without_them(monkeypatch: pytest.MonkeyPatch) -> None:
    def written() -> bytes:
        book = Book("page")
        with book.page((100.0, 80.0)) as page:
            page.line((10.0, 10.0), (33.3333, 71.25))
            page.words("Ålder row", (12.0, 20.0), capital_mm=3.0)
        return book.to_bytes()

    quick = written()
    for module in (canvas, pathobject, textobject):
        assert vars(module)["fp_str"] is numbers
        monkeypatch.setattr(module, "fp_str", rl_accel.fp_str)
    for module in (canvas, pdfdoc):
        assert vars(module)["escapePDF"] is escaped
        monkeypatch.setattr(module, "escapePDF", ESCAPE)
    assert vars(ttfonts)["instanceStringWidthTTF"] is width
    monkeypatch.setattr(ttfonts, "instanceStringWidthTTF", WIDTH)
    monkeypatch.setattr("hidewright.drawing.pdf_page.hurry", lambda: None)
    slow = written()
    monkeypatch.undo()
    hurry()
    assert quick == slow
    assert b"FlateDecode" in quick
    assert b"ASCII85Decode" not in quick
