"""A hide out of a drawing: the largest outline is its edge, those within are holes."""

from hidewright.design.hide import Hide
from hidewright.drawing.reading import Reading
from hidewright.errors import RequestError
from hidewright.workshop.cutting.pieces import corners_of


def hide_from(reading: Reading, name: str) -> tuple[Hide, tuple[str, ...]]:
    """Return a hide and what was made of the drawing, in words.

    Args:
        reading: What was read.
        name: The hide's.

    Raises:
        RequestError: When there is no closed outline.
    """
    if not reading.outlines:
        raise RequestError(
            "the drawing has no closed outline",
            because=f"{len(reading.paths)} lines stayed open",
            mend="Join the ends of the hide's edge",
        )
    by_size = sorted(reading.outlines, key=lambda one: -one.outline.area)
    edge = by_size[0].outline
    within = [one for one in by_size[1:] if edge.contains(one.outline.segments[0].start)]
    hide = Hide(
        name=name,
        outline=corners_of(edge),
        holes=tuple(corners_of(one.outline) for one in within),
    )
    said = [f"{edge.width:.0f} by {edge.height:.0f} mm, {hide.area_mm2 / 1e6:.3f} m2."]
    if within:
        said.append(f"{len(within)} outlines within it are holes.")
    beside = len(by_size) - 1 - len(within)
    if beside:
        said.append(f"{beside} outlines beside it were left out.")
    if reading.paths:
        said.append(f"{len(reading.paths)} open lines were left out.")
    return hide, tuple(said)
