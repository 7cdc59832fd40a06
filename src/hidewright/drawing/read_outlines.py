"""Outlines out of a drawing of either kind, told by the end of its name."""

from hidewright.drawing.reading import CLOSE_GAPS_MM, Reading
from hidewright.errors import RequestError


def read_outlines(
    data: bytes, *, name: str, unit: str | None = None, close_gaps_mm: float = CLOSE_GAPS_MM
) -> Reading:
    """Return the outlines of an SVG or DXF drawing in mm.

    Args:
        data: The file.
        name: Its name; the ending says which kind it is.
        unit: mm, cm, m or in: the length of one drawing unit, over what the file says.
        close_gaps_mm: Ends within this are joined, and each gap reported, mm.

    Raises:
        RequestError: When it is of neither kind, or cannot be read.
    """
    # each reader brings a library that takes a while to load
    ending = name.lower().rsplit(".", 1)[-1] if "." in name else ""
    if ending == "svg":
        from hidewright.drawing.read_svg import read_svg

        return read_svg(data, name=name, unit=unit, close_gaps_mm=close_gaps_mm)
    if ending == "dxf":
        from hidewright.drawing.read_dxf import read_dxf

        return read_dxf(data, name=name, unit=unit, close_gaps_mm=close_gaps_mm)
    raise RequestError(
        f"a drawing ending in {ending!r}" if ending else "a drawing without an ending",
        because="outlines are read from SVG and DXF only",
        mend="Export it as .svg or .dxf",
        where=name,
    )
