"""Where the words of a drawing stand."""

from itertools import combinations

import shapely

from hidewright.drawing.drawing import Drawing


def boxes_of_words(drawing: Drawing) -> list[tuple[str, shapely.Polygon]]:
    """Return words with the box they take; letters are as wide as the font's on average."""
    boxes = []
    for text in drawing.texts:
        wide = 0.6 * text.height_mm * len(text.words)
        x = text.at[0] - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor]
        boxes.append((text.words, shapely.box(x, text.at[1], x + wide, text.at[1] + 2.0)))
    return boxes


def words_over_one_another(drawing: Drawing) -> list[tuple[str, str]]:
    """Return the pairs of words whose boxes meet."""
    pairs = combinations(boxes_of_words(drawing), 2)
    return [(a, b) for (a, one), (b, two) in pairs if one.intersects(two)]
