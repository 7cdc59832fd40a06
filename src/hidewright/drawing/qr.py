"""QR codes: the door to the library that makes them."""

from hidewright.geometry.segment import Point

#: Light modules round a code that readers need (ISO/IEC 18004, quiet zone of a QR code).
QUIET = 4


def qr_modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """Return the modules of a QR code from the top row down, True for dark; no quiet zone.

    A quarter of it may be smudged (error correction Q).
    """
    import segno

    code = segno.make(text, error="q", micro=False, boost_error=False)
    return tuple(tuple(bool(module) for module in row) for row in code.matrix)


def qr_boxes(
    text: str, corner: Point, size_mm: float
) -> tuple[tuple[float, float, float, float], ...]:
    """Return the dark runs of a code as rectangles (left, bottom, right, top), mm.

    Args:
        text: What it says.
        corner: Lower left of the square that code and quiet zone fill.
        size_mm: Side of that square.
    """
    rows = qr_modules(text)
    side = size_mm / (len(rows) + 2 * QUIET)
    left, bottom = corner
    boxes: list[tuple[float, float, float, float]] = []
    for r, row in enumerate(rows):
        top = bottom + size_mm - (QUIET + r) * side
        start = None
        for c, dark in enumerate((*row, False)):
            if dark and start is None:
                start = c
            elif not dark and start is not None:
                edges = (left + (QUIET + start) * side, left + (QUIET + c) * side)
                boxes.append((edges[0], top - side, edges[1], top))
                start = None
    return tuple(boxes)


def qr_svg(text: str, size: int) -> str:
    """Return a code with its quiet zone as an inline SVG, dark on white."""
    rows = qr_modules(text)
    wide = len(rows) + 2 * QUIET
    runs = "".join(
        f"M{left:g} {wide - top:g}h{right - left:g}v{top - bottom:g}h{left - right:g}z"
        for left, bottom, right, top in qr_boxes(text, (0.0, 0.0), float(wide))
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="QR code of the address" '
        f'width="{size}" height="{size}" viewBox="0 0 {wide} {wide}">'
        f'<rect width="{wide}" height="{wide}" fill="#fff"/><path fill="#000" d="{runs}"/></svg>'
    )
