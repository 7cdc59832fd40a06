"""From pressed blanks to the forming page: maps, section, pull-in, figures and how to dry it."""

from dataclasses import dataclass

from hidewright.design.interval import Interval
from hidewright.design.piece import Piece
from hidewright.drawing.contents import Chapter, Picture, chapters_page
from hidewright.drawing.drawing import Drawing
from hidewright.drawing.heat_map import HeatMap, heat_map_svg
from hidewright.drawing.pdf import patterns_to_pdf
from hidewright.drawing.svg import to_svg
from hidewright.drawing.tiles import Paper
from hidewright.forming.drying_time import (
    CLOSED_AT_MOST_H,
    REFERENCE_C,
    REFERENCE_HUMIDITY,
    SOAK_C,
    DryingStage,
    dryness_path,
    hours_until,
)
from hidewright.forming.on_blank import PLATE_MPA, behaviour_of, soaked_mm
from hidewright.forming.pressing import Pressing
from hidewright.forming.set import dryness_to_unmould
from hidewright.units.written import METRIC, Written
from hidewright.workshop.forming_chain import Leathers, OnePressed, PressedBlank, PressedBlanks
from hidewright.workshop.forming_maps import layer_name, maps_of
from hidewright.workshop.forming_pull_in import pull_in_drawing
from hidewright.workshop.forming_section import section_drawings
from hidewright.workshop.gathering import joined
from hidewright.workshop.graph import Node
from hidewright.workshop.in_units import heat_in, sizes_in
from hidewright.workshop.learned_words import told
from hidewright.workshop.papers_chain import Files, file_stem
from hidewright.workshop.pressing_report import BlankReport

FOLDER = "forming/"
PAGE = "forming.html"
#: How long leather lies closed before the frame comes off, hours; common practice, no source.
CLOSED_H = 1.0
#: What may be lost in size by taking leather off its plug before it is dry, mm; our choice.
LOST_MM = 0.2
#: Air of a fan on the bench, m/s.
FAN_M_S = 1.0

NOTES = (
    ("reserve", "100 % less what is used is the reserve; hatched where the leather would crack."),
    ("stretch", "How much longer the leather becomes, in the direction in which it is most."),
    ("thickness", "Dark where it is thinnest."),
)
SECTION_NOTE = "Through the worst place; the ring shows it."
PULL_IN_NOTE = (
    "Full line: the blank, flat and soaked; dashed: its edge pressed; dotted: trimmed pieces "
    "before they dry. Arrows: how far the edge is drawn in. At full size: print it at 100 %."
)
CAUTIONS = (
    "Prove it on a test piece of the same leather before you cut the batch.",
    "The leather maker's data sheet comes before what is said here.",
    f"Soak in water of at most {SOAK_C[0]:g} °C: much hotter water shrinks and hardens "
    "vegetable-tanned leather for good.",
    "The closed height of the tool is what counts, not the force: do not force a tool that stands.",
)
ASSUMED = (
    "How the wet leather resists stretching, its friction on the boards, what it bears, how it "
    "dries and its thickness are the catalogue's until your own test pieces have told. Nine times "
    "in ten a figure comes to lie in its likely range; readings make that narrower.",
    f"Plate or ring are taken to press the flange with {PLATE_MPA:g} MPa, hand-tight on the stop "
    "blocks; the leather is taken as it lies in the middle of its thickness range, soaked.",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FormingPictures:
    """The pictures of one layer of one blank.

    Attributes:
        blank: Name of the blank.
        layer: 0 lies on the plug, 1 over it.
        name: What files and chapters are called by.
        maps: By name, such as ``reserve flat``.
        sections: By name, through the worst place first.
        pull_in: At full size.
    """

    blank: str
    layer: int
    name: str
    maps: tuple[tuple[str, HeatMap], ...]
    sections: tuple[tuple[str, Drawing], ...]
    pull_in: Drawing


def pictures(
    pressed: OnePressed, leathers: Leathers, pieces: tuple[Piece, ...]
) -> tuple[FormingPictures, ...]:
    """Return the pictures of every layer of a blank that takes its form."""
    of = dict(leathers)
    one, _ = pressed
    return tuple(
        FormingPictures(
            blank=one.blank.name,
            layer=number,
            name=layer_name(one, layer),
            maps=maps_of(one, layer, of[layer.role]),
            sections=section_drawings(one, layer, of[layer.role]),
            pull_in=pull_in_drawing(one, layer, pieces),
        )
        for number, layer in enumerate(one.layers)
    )


def forming_files(
    drawn: tuple[FormingPictures, ...], paper: Paper, name: str, written: Written = METRIC
) -> Files:
    """Return every picture as SVG, and sections and pull-in as one PDF true to scale."""
    files: Files = {}
    drawings: list[Drawing] = []
    for one in drawn:
        for picture, heat in one.maps:
            files[_path(one, picture)] = heat_map_svg(heat_in(heat, written))
        for picture, drawing in (("pull-in", one.pull_in), *one.sections):
            drawings.append(sizes_in(drawing, written))
            files[_path(one, picture)] = to_svg(drawings[-1])
    if drawings:
        title = f"{name}: pull-in and sections"
        files[pdf_path(paper)] = patterns_to_pdf(drawings, paper, title, written)
    return files


def pdf_path(paper: Paper) -> str:
    """Return where the PDF of sections and pull-in lies in the pack."""
    return f"{FOLDER}pull-in and sections {paper}.pdf"


def forming_chapters(
    pressed: PressedBlanks,
    reports: tuple[BlankReport, ...],
    drawn: tuple[FormingPictures, ...],
    leathers: Leathers,
) -> tuple[Chapter, ...]:
    """Return the chapters of the forming page: each layer of each blank, and what is assumed."""
    of = {one.blank.name: one for one in pressed[0]}
    said = {(r.blank, r.layer): r for r in reports}
    chapters = [
        Chapter(
            title=f"Blank: {one.name}",
            facts=figures(said[one.blank, one.layer], of[one.blank], leathers),
            notes=bench_notes(of[one.blank], leathers) if one.layer == 0 else (),
            pictures=_shown(one),
        )
        for one in drawn
    ]
    return (*chapters, Chapter(title="What is assumed", notes=ASSUMED)) if chapters else ()


def forming_page(
    name: str, chapters: tuple[Chapter, ...], paper: Paper, written: Written = METRIC
) -> Files:
    """Return the page with its path; nothing when no leather is formed."""
    if not chapters:
        return {}
    return {
        PAGE: chapters_page(
            title=f"{name}: forming",
            lead="How the wet leather stretches over its plug, and how it dries. All of it is "
            "reckoned, none of it measured.",
            back=("All of the pack", "index.html"),
            chapters=(
                *chapters,
                Chapter(
                    title="To print",
                    files=((pdf_path(paper).removeprefix(FOLDER), pdf_path(paper)),),
                ),
            ),
            cautions=tuple(map(written.words, CAUTIONS)),
        )
    }


def figures(
    said: BlankReport, one: PressedBlank, leathers: Leathers
) -> tuple[tuple[str, str], ...]:
    """Return the figures of one layer in words, with their plausible ends in brackets."""
    s = said.spread
    laid_in = soaked_mm(dict(leathers)[one.layers[said.layer].role])
    rows = [
        ("Leather", f"{said.leather}, laid in {laid_in:.2f} mm thick, soaked"),
        (
            "Used of what it bears",
            told(s.use, "%")
            + ("; its far end would crack" if s.use.likely <= 1.0 < s.use.high else "")
            + ("; it would crack" if s.use.likely > 1.0 else ""),
        ),
        ("Largest stretch", told(_less_one(s.largest_stretch), "%")),
        ("Thinnest, wet", told(s.thinnest.times(laid_in), "mm", again=True)),
        ("Force on the plug", f"about {told(s.force_N, 'N', again=True)}"),
        ("Edge drawn in where it is most", told(s.most_pull_in_mm, "mm", again=True)),
        ("Edge drawn in where it is least", f"{said.least_pull_in_mm:.1f} mm"),
    ]
    for size in s.dry:
        of = f", {' and '.join(size.places)}" if len(s.dry) > 1 else ""
        rows += [
            (f"Dries to{of}, along the backbone", told(size.along, "mm", again=True)),
            (f"Dries to{of}, across the backbone", told(size.across, "mm", again=True)),
        ]
    if said.layer == 0:
        hours = s.drying.times(_hours_on_plug(one, leathers).still)
        rows.append(("On its plug until it may come off", told(hours, "h")))
    if one.blank.hold == "plate":
        rows.append(("Plate or ring presses the flange with", f"about {said.plate_N:.0f} N"))
    rows.append(("Dry hollow off what is asked for", f"{said.dry_miss_mm:.2f} mm at most"))
    return tuple(rows)


def bench_notes(one: PressedBlank, leathers: Leathers) -> tuple[str, ...]:
    """Return how to soak, press and dry a blank, in words; says so while hours are assumed."""
    plug = _hours_on_plug(one, leathers)
    off, off_fan = (max(round(hours), 1) for hours in (plug.still, plug.fan))
    measured = dict(leathers)[one.blank.role].is_measured("drying_hours")
    return (
        f"Soak it in water of at most {SOAK_C[0]:g} °C until no more bubbles rise, and let the wet "
        "shine go off its face (common practice, no source).",
        f"Press until the stop blocks touch and leave it closed for about {CLOSED_H:g} hour, never "
        f"longer than {CLOSED_AT_MOST_H:g}: between boards it hardly dries, about "
        f"{100 * plug.begun:.1f} % in that time, and wet leather that lies closed grows mould.",
        f"Take the frame off, lay the hold-down ring on and let it dry on the plug. In still air "
        f"of {REFERENCE_C:g} °C and {100 * REFERENCE_HUMIDITY:g} % humidity it may come off after "
        f"about {off} hours, {100 * plug.needed:.0f} % dry, and loses less than {LOST_MM:g} mm in "
        f"size by that; before a fan ({FAN_M_S:g} m/s, not heated) after about {off_fan}."
        + ("" if measured else " Hours are assumed until measured."),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _OnPlug:
    """How a blank dries: dryness when it is opened and when it may come off, and hours to that."""

    begun: float
    needed: float
    still: float
    fan: float


def _hours_on_plug(one: PressedBlank, leathers: Leathers) -> _OnPlug:
    of = dict(leathers)
    thick = soaked_mm(of[one.blank.role])
    behaviour = behaviour_of(of[one.blank.role])
    closed = DryingStage(
        name="pressed closed",
        hours=CLOSED_H,
        faces="edges",
        edge_to_edge_mm=min(one.edge.width, one.edge.height),
    )
    begun = float(dryness_path((closed,), thick, behaviour.time)[-1])
    still = DryingStage(name="open on the plug", hours=0.0, faces="one")
    fan = DryingStage(name="open, before a fan", hours=0.0, faces="one", air_speed_m_s=FAN_M_S)
    along, across = _along_and_across(one)
    needed = dryness_to_unmould(behaviour, along, across, LOST_MM)
    return _OnPlug(
        begun=begun,
        needed=needed,
        still=hours_until(needed, still, thick, behaviour.time, begun),
        fan=hours_until(needed, fan, thick, behaviour.time, begun),
    )


def _along_and_across(one: PressedBlank) -> tuple[float, float]:
    """Largest size of a blank's hollows along the backbone and across it, mm."""
    pressing = one.layers[0].sheet.pressing
    assert isinstance(pressing, Pressing)
    turned = [zone.plug.rotated(-pressing.backbone) for zone in one.zones]
    return max(o.width for o in turned), max(o.height for o in turned)


def _shown(one: FormingPictures) -> tuple[Picture, ...]:
    notes = dict(NOTES)
    told = [(name, heat.title, notes[name.split()[0]]) for name, heat in one.maps]
    told += [(name, section.title, SECTION_NOTE) for name, section in one.sections]
    told.append(("pull-in", one.pull_in.title, PULL_IN_NOTE))
    return tuple(
        Picture(
            title=_capital(title.removeprefix(f"{one.name}: ")),
            svg=_path(one, name),
            files=(("SVG", _path(one, name)),),
            note=note,
        )
        for name, title, note in told
    )


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _path(one: FormingPictures, picture: str) -> str:
    return f"{FOLDER}{file_stem(f'{one.name} {picture}')}.svg"


def _less_one(stretch: Interval) -> Interval:
    return Interval(likely=stretch.likely - 1, low=stretch.low - 1, high=stretch.high - 1)


NODES = (
    Node(
        name="forming pictures",
        needs=("pressed blanks", "all leathers", "pieces"),
        compute=pictures,
        gather=joined,
        seconds=0.1,
    ),
    Node(
        name="forming files",
        needs=("forming pictures", "paper", "name", "written"),
        compute=forming_files,
        seconds=0.12,
    ),
    Node(
        name="forming chapters",
        needs=("pressed blanks", "pressing report", "forming pictures", "all leathers"),
        compute=forming_chapters,
    ),
)
