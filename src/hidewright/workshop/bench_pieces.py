"""The test pieces as files: cut files for the laser, and a sheet for each."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from hidewright.catalogue.boards import Board
from hidewright.catalogue.leathers import Leather
from hidewright.design.part import Part
from hidewright.drawing.bench_sheet import SheetReading, bench_sheet_pdf
from hidewright.drawing.drawing import Drawing, Stroke, Text
from hidewright.drawing.dxf import to_dxf
from hidewright.drawing.svg import to_svg
from hidewright.drawing.tiles import Paper
from hidewright.errors import RequestError
from hidewright.forming.drying_time import DryingStage, hours_until
from hidewright.forming.on_blank import behaviour_of, soaked_mm
from hidewright.planning.step_times import times_with
from hidewright.tooling.bench_pieces import (
    CRACKS_FROM_MM,
    FIELDS,
    HOLES,
    SHARP_MM,
    Comb,
    card_rings,
    colour_strip,
    crack_rings,
    kerf_comb,
    plug_depths,
    round_plug,
    square_template,
    stitch_strip,
    thickness_wedge,
)
from hidewright.tooling.sheets import lay_on_sheets
from hidewright.workshop.cut_files import CUT_OUTSIDE, MARK, sheet_drawings

#: Share of its water that leather has given off when its weight stays: a kitchen scale's step.
STAYS_AT = 0.98
LASER = "Never leave a running laser, and draw its fumes off: board smoke hurts lungs and eyes."
WATER = "Water of 40 °C at most: hot water destroys vegetable-tanned leather."
BLADE = "The knife moves away from the holding hand."


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchPiece:
    """One test piece.

    Attributes:
        name: File name without its ending.
        drawings: What the laser cuts.
        subject: The board or leather that it is for.
        how: What to do.
        readings: What to read.
        cautions: What hurts.
    """

    name: str
    drawings: tuple[Drawing, ...]
    subject: str
    how: tuple[str, ...]
    readings: tuple[SheetReading, ...]
    cautions: tuple[str, ...] = (LASER,)


def bench_files(board: Board, leather: Leather, paper: Paper = "A4") -> Mapping[str, bytes]:
    """Return the files of all test pieces by name: SVG and DXF to cut, PDF to do it by.

    Raises:
        RequestError: When a piece is larger than the sheet, or the board is no board to cut.
    """
    files: dict[str, bytes] = {}
    for piece in pieces_for(board, leather):
        several = len(piece.drawings) > 1
        for number, drawing in enumerate(piece.drawings, start=1):
            stem = f"{piece.name} {number}" if several else piece.name
            files[f"{stem}.svg"] = to_svg(drawing)
            files[f"{stem}.dxf"] = to_dxf(drawing)
        files[f"{piece.name}.pdf"] = bench_sheet_pdf(
            piece.name,
            piece.subject,
            piece.drawings,
            piece.how,
            piece.readings,
            piece.cautions,
            paper,
        )
    return files


def pieces_for(board: Board, leather: Leather) -> tuple[BenchPiece, ...]:
    """Return all test pieces for a board and a leather."""
    if board.kerf_mm == 0.0:
        raise RequestError(
            f"test pieces of {board.name}",
            because="it is cut with a knife",
            mend="Choose a board that the laser cuts",
        )
    return (
        _comb(board),
        _wedge(board),
        _square(board, leather),
        _plug(board, leather),
        _cracks(board, leather),
        _stitches(board, leather),
        _colours(board, leather),
    )


def _comb(board: Board) -> BenchPiece:
    comb = kerf_comb(board)
    return BenchPiece(
        name="kerf comb",
        drawings=(comb_drawing(comb, board),),
        subject=board.name,
        how=(
            f"Cut comb and tongues from {board.name} with the power and speed that you use for "
            "moulds. The lines are the beam's own: do not let the laser's program offset them.",
            "Push a tongue, upright as it was cut, into the slots from the left. Find the tightest "
            "one that it still goes into by hand.",
            "Do it with the second tongue, and cut the comb again in another corner of the bed.",
        ),
        readings=(
            SheetReading(what="number beside that slot, mm", into=f"kerf, {board.name}"),
            SheetReading(what="the same with the second tongue", into=f"kerf, {board.name}"),
        ),
    )


def comb_drawing(comb: Comb, board: Board) -> Drawing:
    """Return the comb as the beam cuts it."""
    outlines = (("comb", comb.outline), *(("tongue", one) for one in comb.tongues))
    return Drawing(
        title=f"kerf comb {board.name}",
        strokes=tuple(Stroke(curve=c, layer=CUT_OUTSIDE, part=name) for name, c in outlines),
        texts=tuple(
            Text(
                words=label.words,
                at=(label.at[0], label.at[1] - label.height_mm / 2.0),
                height_mm=label.height_mm,
                anchor="middle",
                layer=MARK,
            )
            for label in comb.labels
        ),
    )


def _wedge(board: Board) -> BenchPiece:
    return BenchPiece(
        name="thickness gauge",
        drawings=_laid((thickness_wedge(board),)),
        subject=board.name,
        how=(
            "Cut the gauge after the comb was read, so that its slot has the right width.",
            "Slide the edge of a sheet into the slot until it stops, without force, and read the "
            "mark where it stands. Five places round the sheet.",
            f"A calliper does as well; the gauge was drawn for a kerf of {board.kerf_mm:g} mm.",
        ),
        readings=(
            SheetReading(
                what="mark at the sheet, five places, mm", into=f"board thickness, {board.name}"
            ),
        ),
    )


def _square(board: Board, leather: Leather) -> BenchPiece:
    name = leather.name
    lengths = tuple(
        reading
        for way in ("along", "across")
        for reading in (
            SheetReading(
                what=f"hole to hole {way}, soaked, mean of both sides, mm",
                into=f"soaked length {way}, {name}",
                of="100 mm, or as pricked",
            ),
            SheetReading(
                what=f"hole to hole {way}, dried free, mean of both sides, mm",
                into=f"dried length {way}, {name}",
                of="the same, soaked",
            ),
        )
    )
    return BenchPiece(
        name="scribed square",
        drawings=_laid((square_template(board),)),
        subject=name,
        how=(
            "Lay the plate on the dry leather with its arrow along the backbone and prick through "
            "the four holes. Cut the leather 15 mm outside them.",
            "Measure the thickness in the middle. Soak it as you do before moulding, wipe it, and "
            "measure hole to hole on all four sides, and the thickness.",
            "Let it dry free on a grid for two days. Measure again.",
        ),
        readings=(
            *lengths,
            SheetReading(
                what="thickness in the middle, dry, mm", into=f"leather thickness, {name}"
            ),
            SheetReading(
                what="thickness in the middle, soaked, mm",
                into=f"soaked thickness, {name}",
                of="the same, dry",
            ),
        ),
        cautions=(LASER, BLADE, WATER),
    )


def _plug(board: Board, leather: Leather) -> BenchPiece:
    depths = plug_depths(board)
    deep = tuple(f"{depth:g} mm deep" for depth in depths)
    name = leather.name
    return BenchPiece(
        name="test plug",
        drawings=_laid(round_plug(board, leather)),
        subject=name,
        how=(
            "Round the edge of one disc and of one frame window to 3 mm, with gauge and file. "
            "Glue up the frame with that window at the bottom. Seal all of it.",
            f"Pin as many discs on the base as make {', '.join(f'{d:g}' for d in depths)} mm, the "
            "rounded one on top: three pressings, the lowest first.",
            "Cut three discs of leather, 96 mm across, and mark the backbone on them. Soak them, "
            "lay one to the scored circle, press the frame down by hand and hold it with clamps.",
            "Read the pull-in from the scored circle to the leather's edge, at both ends along "
            "the backbone and across it.",
            "Take the frame off when it is firm, dry it on the plug, and read the hours. Off the "
            "plug measure the hollow inside, along and across.",
            f"Type all of it in under {name}, measured on the round test plug.",
        ),
        readings=(
            *(
                SheetReading(
                    what=f"pull-in {way}, mean of both ends, mm",
                    into=f"pull-in {way}",
                    of="depth of the plug",
                    each=deep,
                )
                for way in ("along", "across")
            ),
            *(
                SheetReading(
                    what=f"inside the dry hollow {way}, mm",
                    into=f"dry size {way}",
                    of="plug, 40 mm or as measured; its depth",
                    each=deep,
                )
                for way in ("along", "across")
            ),
            SheetReading(
                what="hours on the plug until the weight stays",
                into="drying hours",
                of=f"{_hours_on_plug(leather):.1f} h, the catalogue's",
            ),
        ),
        cautions=(LASER, BLADE, WATER),
    )


def _cracks(board: Board, leather: Leather) -> BenchPiece:
    sharp, ring = crack_rings(board, leather)
    cards = card_rings(board)
    with_cards = f" and {cards} rings of 1 mm card, cut round one of them" if cards else ""
    discs = ("disc 1", "disc 2", "disc 3")
    deepest = plug_depths(board)[-1]
    return BenchPiece(
        name="crack test",
        drawings=_laid((sharp, ring)),
        subject=leather.name,
        how=(
            f"Round the top edge of this disc to {SHARP_MM:g} mm with gauge and file, seal it, and "
            f"pin it on the test plug in place of the round one: {deepest:g} mm.",
            f"Lay the loose rings{with_cards} round the plug until it stands about "
            f"{CRACKS_FROM_MM:g} mm above them. What it stands above them is the depth, by "
            "calliper.",
            "Cut three fresh discs of leather, 96 mm across, from three places of the hide. Soak "
            "one, lay it over the plug, grain up, and press the frame down by hand onto the rings.",
            "Take the frame off and look along the top edge with a lens, under a lamp from the "
            "side. No crack through the grain: take 1 mm of rings out, wet it, and press again.",
            "At the first crack stop: write that depth, and the one before it. Do the same with "
            "the other two discs; one disc alone may be a weak or a strong place.",
            "A disc that cracks at its first depth has no depth before it: leave that empty. One "
            "that bears the deepest goes in as 'no crack to depth'.",
            "A tear is no crack of the grain: it lies lower, in the wall, and goes through. Stop "
            "there too, and type in both: the tear, and to which depth the grain bore it.",
        ),
        readings=(
            SheetReading(
                what="last depth without a crack, mm",
                into="first crack at depth, last depth without one",
                each=discs,
            ),
            SheetReading(
                what="first depth that shows a crack, mm",
                into="first crack at depth",
                of="last depth without one",
                each=discs,
            ),
            SheetReading(
                what=f"last depth, to {deepest:g} mm, when no crack shows at all, mm",
                into="no crack to depth",
                each=discs,
            ),
            SheetReading(
                what="depth of a tear through its wall, mm",
                into="torn at depth",
                of="last depth without a tear",
                each=discs,
            ),
        ),
        cautions=(LASER, BLADE, WATER),
    )


def _hours_on_plug(leather: Leather) -> float:
    """Return how long the catalogue has a disc dry on its plug until its weight stays."""
    on_plug = DryingStage(name="open on the plug", hours=0.0, faces="one")
    return hours_until(STAYS_AT, on_plug, soaked_mm(leather), behaviour_of(leather).time)


def _stitches(board: Board, leather: Leather) -> BenchPiece:
    return BenchPiece(
        name="stitch strip",
        drawings=_laid((stitch_strip(board),)),
        subject=leather.name,
        how=(
            "Prick two strips of the leather through the template, lay them on one another, and "
            f"sew each row with its {HOLES - 1} stitches. Take the time of each row.",
            "Choose the pitch that lies best for this thread; write it into the design.",
        ),
        readings=(
            SheetReading(
                what="minutes for a row, a batch of 1",
                into="minutes, sew",
                of=f"{times_with()['sew'].minutes(HOLES - 1):.1f} min, the catalogue's",
            ),
        ),
        cautions=(LASER, "Awl and needles: away from the holding hand."),
    )


def _colours(board: Board, leather: Leather) -> BenchPiece:
    return BenchPiece(
        name="colour strip",
        drawings=_laid((colour_strip(board),)),
        subject=leather.name,
        how=(
            "Cut a strip of the leather by the template and scribe its fields.",
            f"Treat the fields from the left: {'; '.join(FIELDS)}. Let each coat dry.",
            "Write lot, dye and day on the back and keep it with the leather.",
        ),
        readings=(
            SheetReading(what="dye and coats that you choose", into="the note of the dye in stock"),
        ),
        cautions=(BLADE, "Dyes: gloves; sprayed dye: mask and extraction."),
    )


def _laid(parts: Sequence[Part]) -> tuple[Drawing, ...]:
    sheets, remarks = lay_on_sheets(tuple(parts))
    if remarks:
        raise RequestError(remarks[0].sentence, mend="Choose a larger sheet")
    return sheet_drawings(sheets)
