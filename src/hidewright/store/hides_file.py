"""Hides out of a JSON file, as they lie in a workshop.

``hides`` is a list; each has ``name``, ``leather``, perhaps ``lot``, ``note``, ``thickness`` (mm),
``backbone`` (degrees from x), and either ``preset`` with ``area`` (m2) or an ``outline``. Over it
lie ``grades`` (grade, outline; the rest is of grade 1), ``thicknesses`` (thickness, outline) and
``flaws`` (kind, severity, outline). Corners are [x, y] in mm.
"""

from dataclasses import replace

from hidewright.design.hide import FLAW_KINDS, Flaw, Hide, with_grade, with_thickness
from hidewright.design.hide_presets import hide_of, measured, preset_named
from hidewright.design.stock_hide import StockHide
from hidewright.errors import RequestError
from hidewright.nesting.soundness import refuse_unsound_hide
from hidewright.store.demo import demo_file
from hidewright.store.json_fields import Fields, parsed

MOST_HIDES, MOST_AREAS = 200, 2000
#: Severities that are told apart.
WORST, MILDEST = 1, 3


def read_hides(data: bytes, *, name: str) -> tuple[StockHide, ...]:
    """Return the hides in a file.

    Args:
        data: JSON in UTF-8.
        name: The file's name, for errors.

    Raises:
        RequestError: Names the field, the wrong value and what is accepted.
    """
    top = Fields(parsed(data, name, "a file of hides"), name)
    return tuple(_stock(one) for one in top.objects("hides", MOST_HIDES, needed=True))


def _stock(one: Fields) -> StockHide:
    try:
        hide = _shape(one)
        refuse_unsound_hide(hide)
        return StockHide(
            hide=hide,
            material=one.text("leather"),
            lot=one.text("lot") if one.has("lot") else "",
            note=one.text("note") if one.has("note") else "",
        )
    except RequestError as refused:
        raise refused.at(one.place) from None


def _shape(one: Fields) -> Hide:
    thickness = one.number("thickness", low=0.0) if one.has("thickness") else None
    if one.has("preset"):
        preset = preset_named(one.text("preset"))
        hide = hide_of(
            preset,
            one.number("area", low=0.0),
            name=one.text("name"),
            graded=not one.has("grades"),
            thickness_mm=thickness,
        )
    else:
        outline = one.corners("outline")
        hide = Hide(
            name=one.text("name"), outline=outline, thicknesses=measured(outline, thickness)
        )
    kinds = dict(FLAW_KINDS)
    flaws = []
    for flaw in one.objects("flaws", MOST_AREAS):
        kind = flaw.text("kind")
        usual = kinds.get(kind, WORST)
        severity = flaw.count("severity", low=WORST, high=MILDEST, default=usual)
        flaws.append(Flaw(kind=kind, severity=severity, outline=flaw.corners("outline")))
    for area in one.objects("grades", MOST_AREAS):
        hide = with_grade(hide, area.count("grade", low=1, high=3), area.corners("outline"))
    for area in one.objects("thicknesses", MOST_AREAS):
        hide = with_thickness(hide, area.number("thickness", low=0.0), area.corners("outline"))
    return replace(
        hide,
        flaws=tuple(flaws),
        backbone_deg=one.number("backbone", low=-360.0, default=0.0),
    )


def demo_hides() -> tuple[StockHide, ...]:
    """Return the hides of the demo workshop, as they come with the program.

    Raises:
        RequestError: When the package was installed without its examples.
    """
    file = demo_file("hides.json")
    return read_hides(file.read_bytes(), name=file.name)
