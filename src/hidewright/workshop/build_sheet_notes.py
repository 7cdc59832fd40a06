"""What a step's tools are made of and made ready with, and what there is to mind about them."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from hidewright.design.part import MouldTool, Part, PartRole
from hidewright.design.step import Step
from hidewright.errors import Remark
from hidewright.planning.steps_choice import CARD
from hidewright.tooling.sheets import Sheet
from hidewright.workshop.build_sheet_pictures import Bench

#: Which kinds of part a work is done with.
USES: dict[str, tuple[PartRole, ...]] = {
    "cut piece": ("trim template", "finger fence", "waste clamp"),
    "trim": ("trim template", "finger fence", "waste clamp"),
    "cut the mouth": ("mouth-cut block",),
    "cut at height": ("height-trim block", "support block"),
    "clamp": ("glue jig",),
    "set magnet": ("glue jig",),
    "sew": ("support block",),
}
#: Kinds of part that are glued up of plates.
BUILT = ("mouth-cut block", "height-trim block", "support block")
#: At which works a remark is to be minded.
MINDED: dict[str, tuple[str, ...]] = {
    "plates-bend": ("press",),
    "vise-too-weak": ("press",),
    "thickness-uneven": ("press",),
    "leather-grips-plug": ("ease and seal", "unmould"),
    "boards-vary": ("put together",),
    "plug-without-screws": ("put together", "unmould"),
    "hole-on-the-crown": ("punch",),
    "no-finger-fence": ("cut piece", "trim"),
    "height-trim-block-of-card": ("cut at height",),
    "support-block-stays-in": ("sew",),
}
Row = tuple[str, str]


def notes_of(
    step: Step, bench: Bench, sheets: Sequence[Sheet], remarks: Iterable[Remark]
) -> tuple[Row, ...]:
    """Return (label, words) of what a step needs beside its own figures."""
    rows: list[Row] = []
    if step.work == "cut the boards":
        rows += _files(step.place, sheets)
    if step.work == "put together":
        rows += _stack(next(m for m in bench.mouldings[0] if m.blank.name == step.place).tool)
    if step.work == "set fitting":
        rows += _inner_end(step.place, bench)
    used = tuple(_used(step, bench.parts))
    rows += _built_of(used)
    told = dict.fromkeys(
        (part.role, part.note) for part in used if part.note and part.role != "shim"
    )
    rows += [(role[:1].upper() + role[1:], note.rstrip(".")) for role, note in told]
    places = _places(step, bench)
    rows += [
        ("Mind", remark.sentence.rstrip("."))
        for remark in dict.fromkeys(remarks)
        if step.work in MINDED.get(remark.code, ()) and remark.place.split("/")[0] in places
    ]
    return tuple(rows)


def _files(board: str, sheets: Sequence[Sheet]) -> Iterator[Row]:
    """Yield the cut files of a board; of card, how thick each is glued up before it is cut."""
    mine = [s for s in sheets if board in (s.board.name, s.board.material)]
    for name, some in groupby(mine, key=lambda sheet: sheet.board.name):
        numbers = [sheet.number for sheet in some]
        ends = f"{numbers[0]}" + (f" to {numbers[-1]}" if len(numbers) > 1 else "")
        yield "Files", f"cut/{name} sheet {ends}"
    if board == CARD:
        yield (
            "Card",
            "glue thin sheets on one another up to the thickness in the file's name, press them "
            "flat until dry, measure, then cut",
        )


def _stack(tool: MouldTool) -> Iterator[Row]:
    """Yield plug and frame plate by plate from the base upwards, then what pins and holds them."""
    standing = sorted(
        (part for part in tool.parts if part.bottom_mm is not None),
        key=lambda part: (part.bottom_mm or 0.0, part.name),
    )
    base = next(part for part in standing if part.role == "base")
    for label, roles in (("Plug, from the base up", ("shim", "plug")), ("Frame", ("frame",))):
        plates = [part for part in standing if part.role in roles]
        yield label, _plates(plates)
    stops = [part for part in standing if part.role == "stop block"]
    if stops:
        count = sum(part.count for part in stops)
        yield "Stop blocks", f"{count} of {_thick(stops[0])}"
    dowels, screws = base.holes_for("dowel"), base.holes_for("screw")
    if dowels:
        yield (
            "Dowels",
            f"{len(dowels)} of {dowels[0].width:.1f} mm, {tool.closed_height_mm:.0f} mm long",
        )
    if screws:
        yield (
            "Screws",
            f"{len(screws)} from below in holes of {screws[0].width:.1f} mm, shorter than the "
            "stack, brass or stainless steel",
        )
    if any(part.role == "frame" and part.note for part in standing):
        yield "Way up", "plates as they are marked; the frame's eased edge lies on the leather"


def _plates(parts: Sequence[Part]) -> str:
    """Return plates in their order, those alike together."""
    runs = [(name, len(list(some))) for name, some in groupby(map(_thick, parts))]
    return ", ".join(f"{count} x {name}" if count > 1 else name for name, count in runs)


def _thick(part: Part) -> str:
    """Return a plate by its board; of card its thickness, as it is built up of thin sheets."""
    if part.board.material == CARD:
        return f"card {part.board.thickness_mm:.2f} mm"
    return part.board.name


def _inner_end(place: str, bench: Bench) -> Iterator[Row]:
    """Yield what is done to the end of a fitting that lies in a hollow."""
    design = bench.design
    covered = {name for cover in bench.covers for name in cover.over}
    for fitting in design.fittings:
        zones = design.piece(fitting.piece).zones
        if fitting.name == place and any(zone.outline.contains(fitting.at) for zone in zones):
            yield (
                "Inner end",
                "it lies in the hollow: set it flush and smooth"
                + (
                    "; its cover keeps it from scratching what is carried"
                    if place in covered
                    else ""
                ),
            )


def _used(step: Step, parts: Sequence[Part]) -> Iterator[Part]:
    """Yield the parts that a step is done with."""
    roles = USES.get(step.work, ())
    told = {
        name for f in step.figures if f.label == "Support block" for name in f.value.split(", ")
    }
    told |= (
        {f.value for f in step.figures if f.label == "On"} if step.work == "set magnet" else set()
    )
    mine = [p for p in parts if any(p.name.startswith(f"{n} ") for n in told or {step.place})]
    blocks = {part.of_block for part in mine if part.role in roles}
    yield from (p for p in mine if p.role in roles or (p.role == "shim" and p.of_block in blocks))


def _built_of(parts: Sequence[Part]) -> Iterator[Row]:
    """Yield the plates that each block is glued up of."""
    for of, some in groupby(parts, key=lambda part: part.of_block):
        plates = list(some)
        if plates[0].role in (*BUILT, "shim") and len(plates) > 1:
            yield f"Glue up {of}", _plates(plates)


def _places(step: Step, bench: Bench) -> set[str]:
    """Return the names under which remarks on what a step is done to may stand."""
    places = {step.place}
    for moulding in bench.mouldings[0]:
        if moulding.blank.name == step.place:
            pieces = [place.piece for place in moulding.blank.places]
            places |= {*pieces, bench.design.leather(moulding.blank.role).name}
    return places
