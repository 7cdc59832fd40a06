"""The stylesheet's colours can be read, and what the guide says of them is so."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LOOK = (ROOT / "src" / "hidewright" / "app" / "look.css").read_text("utf-8")
GUIDE = (ROOT / "docs" / "look.md").read_text("utf-8")
COLOUR = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", LOOK))


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour (WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_black_on_white_has_the_largest_contrast_there_is() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # WCAG's known example


@pytest.mark.parametrize(
    ("words", "ground"),
    [
        ("ink", "paper"), ("ink", "card"), ("muted", "paper"), ("muted", "card"),
        ("accent", "paper"), ("accent", "card"), ("accent-dark", "card"), ("on-accent", "accent"),
        ("on-accent", "accent-dark"), ("paper", "ink"), ("line", "ink"), ("warn", "card"),
        ("stop", "card"), ("stop", "paper"), ("stop", "stop-ground"), ("ink", "leather"),
    ],
)  # fmt: skip
def test_words_can_be_read_on_their_ground(words: str, ground: str) -> None:
    assert contrast(COLOUR[words], COLOUR[ground]) >= 4.5


def test_the_border_of_a_control_can_be_seen() -> None:
    for ground in ("card", "paper"):
        assert contrast(COLOUR["line-strong"], COLOUR[ground]) >= 3.0


def test_the_guide_tells_the_contrasts_that_there_are() -> None:
    rows = re.findall(
        r"^\| [a-z ]+ \| `(#\w{6})` \| (\w+)(?: `(#\w{6})`)? \| ([0-9.]+) \|$", GUIDE, re.MULTILINE
    )
    assert len(rows) == 8
    for colour, ground, _, told in rows:
        assert contrast(colour, COLOUR[ground]) == pytest.approx(float(told), abs=0.06)
