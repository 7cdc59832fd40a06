"""Steps of a blank: cut, soaked, pressed, dried on its plug, taken off and cut apart."""

from collections.abc import Sequence

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Blank
from hidewright.design.design import Design
from hidewright.design.part import HolePurpose, MouldTool
from hidewright.design.step import Hold, Reading, Rest, Step
from hidewright.planning.steps_choice import CARD, BlankFacts, BoardFacts, Facts
from hidewright.planning.steps_dye import dye_blank
from hidewright.planning.steps_maker import Maker, between, figures, mm, span_of_time
from hidewright.units.minutes import format_minutes

#: A plug that is free this much sooner is worth a second time on the build sheet, minutes.
WORTH_TELLING_MINUTES = 60
#: A floor that stands off its plug by less is within the fit that is promised, mm.
WORTH_TELLING_MM = 0.5


def tooling_steps(maker: Maker, design: Design, facts: Facts) -> tuple[Step, ...]:
    """Return the making of templates and moulds, done once before the first-off."""
    steps = [_cut_board(maker, board) for board in facts.boards]
    boards = [step.name for step in steps]
    for blank in design.blanks:
        tool = facts.blank(blank.name).tool
        eased = maker.step(
            "ease and seal",
            "tooling",
            blank.name,
            "Sand off the char, round the marked edges to the radius gauges, and seal every face "
            "that wet leather touches; let it dry.",
            name=f"ease and seal the mould of {blank.name}",
            after=boards,
            first_off=True,
            cautions=("board dust",),
            figures=figures(
                *((p.name, f"{mm(e.radius_mm)}, {e.how}") for p in tool.parts for e in p.easings)
            ),
        )
        built = maker.step(
            "put together",
            "tooling",
            blank.name,
            f"Glue the dowels into the base, {'glue and screw' if _has(tool, 'screw') else 'glue'} "
            "the plug on within its scored line, glue the stop blocks round their dowels. The "
            "frame must slide on by its own weight.",
            name=f"put the mould of {blank.name} together",
            after=(eased.name,),
            first_off=True,
            cautions=("glue",),
            figures=figures(
                ("Plug over the base", mm(tool.plug_height_mm, 2)),
                ("Gap between plug and frame", mm(tool.gap_mm, 2)),
                ("Space for the flange", mm(tool.flange_gap_mm, 2)),
                ("Closed height", mm(tool.closed_height_mm, 2)),
                *(
                    (p.name, "glue it under the floor, its block's lowest sheet down")
                    for p in tool.parts
                    if p.role == "divider block"
                ),
            ),
            readings=(
                Reading(
                    what="plug height",
                    where="base to crown, at its four corners",
                    tool="depth gauge",
                    expected=mm(tool.plug_height_mm, 2),
                    into=f"mould of {blank.name}, plug height",
                ),
                Reading(
                    what="gap between plug and frame",
                    where="in the middle of each side, frame on",
                    tool="feeler gauge or leather strips",
                    expected=mm(tool.gap_mm, 2),
                    into=f"mould of {blank.name}, gap",
                ),
            ),
        )
        steps += [eased, built]
    return tuple(steps)


def leather_steps(maker: Maker, design: Design) -> tuple[Step, ...]:
    """Return the measuring of each leather, done once for a lot or thickness."""
    used = {p.role for p in design.pieces}
    return tuple(
        maker.step(
            "measure the leather",
            "leather",
            role,
            "Measure the thickness at five points of the part that is cut from, without pressing "
            "the gauge in. Leather outside the range wants its own gap: type it in first.",
            name=measured(role),
            first_off=True,
            figures=figures(("Leather", leather.name), ("Range", _range(leather))),
            readings=(
                Reading(
                    what=f"thickness of the {role} leather, thinnest and thickest",
                    where="five points of the part that is cut from",
                    tool="thickness gauge",
                    expected=_range(leather),
                    into="book: leather thickness",
                ),
            ),
        )
        for role, leather in design.leathers
        if role in used
    )


#: What is said of relief darts, and of each way to hold the flange.
DARTS = " Cut the relief darts out of its margin: their sides come together when it is pressed."
HELD = {
    "plate": "",
    "free": " Nothing may lie on the flange until the hollow is drawn in: smooth its waves by "
    "hand as the frame comes down, and only then close it.",
    "clamped": " Clamp the margin all round before the frame comes down: none of it may slide.",
}


def layers_of(design: Design, blank: Blank) -> tuple[str, ...]:
    """Return the roles of the leathers that a blank is cut from, the one on the plug first."""
    names = (blank.places[0].piece, *blank.over)
    return tuple(design.piece(name).role for name in names)


def measured(role: str) -> str:
    """Return the name of the step that measures a leather."""
    return f"measure the {role} leather"


def blank_steps(maker: Maker, design: Design, blank: Blank, facts: Facts) -> tuple[Step, ...]:
    """Return the steps of one blank in bench order; the last one leaves its pieces apart."""
    known = facts.blank(blank.name)
    steps = [_cut_blank(maker, design, blank, known)]
    if maker.choice.dye == "before moulding":
        steps += dye_blank(maker, blank, known, steps[-1].name)
    steps.append(_soak(maker, design, blank, known, steps[-1].name))
    pressed = [steps[-1].name]
    if maker.choice.new:
        pressed.append(f"put the mould of {blank.name} together")
    steps.append(_press(maker, design, blank, known, pressed))
    steps.append(_open(maker, blank, known, steps[-1].name))
    steps.append(_unmould(maker, design, blank, known, steps[-1].name))
    if blank.over:
        steps.append(
            maker.step(
                "part the layers",
                "blank",
                blank.name,
                "Lift the layers off one another and mark which is which.",
                name=f"part the layers of {blank.name}",
                after=(steps[-1].name,),
                articles=blank.articles,
            )
        )
    if len(blank.places) > 1:
        steps.append(
            maker.step(
                "cut apart",
                "blank",
                blank.name,
                "Cut through the waste between the mouths; each mouth is cut true on its block "
                "afterwards.",
                name=f"cut {blank.name} apart",
                after=(steps[-1].name,),
                articles=blank.articles,
                cautions=("knife",),
                figures=figures(("Waste between the mouths", mm(blank.mouth_waste_mm))),
            )
        )
    return tuple(steps)


def _cut_board(maker: Maker, board: BoardFacts) -> Step:
    name = f"cut the {board.board}"
    by_metre = maker.times["cut the boards"].unit == "m of cut"
    return maker.step(
        "cut the boards",
        "tooling",
        board.board,
        "Cut the sheets from their cut files: marks and scores first, inside cuts, outside cuts.",
        name=name,
        units=board.cut_m if by_metre else board.laser_minutes,
        first_off=True,
        holds=(Hold(station="laser", until=name),),
        limited_by="laser",
        setup=board.board,
        cautions=("laser",),
        figures=figures(
            ("Sheets", f"{board.sheets}"),
            ("Cut", f"{board.cut_m:.1f} m"),
            ("Laser", f"{board.laser_minutes:.1f} min"),
        ),
        readings=()
        if board.board == CARD
        else (
            Reading(
                what=f"kerf in {board.board}",
                where="a square of 50 mm cut from the edge of the sheet: 50 mm less its side",
                tool="calliper",
                into=f"book: kerf, {board.board}",
            ),
        ),
    )


def _cut_blank(maker: Maker, design: Design, blank: Blank, known: BlankFacts) -> Step:
    roles = layers_of(design, blank)
    each = f"one of each leather ({', '.join(roles)})" if blank.over else "it"
    return maker.step(
        "cut blank",
        "blank",
        blank.name,
        f"Cut {each} to the pattern, grain up, the arrow along the backbone. Leave out scars, "
        f"veins and loose places.{DARTS if blank.relief_dart_mm else ''}",
        after=[measured(role) for role in roles] if maker.choice.new else (),
        articles=blank.articles,
        cautions=("knife",),
        figures=figures(
            *(("Leather", design.leather(role).name) for role in roles),
            ("Blank", f"{known.cut_mm[0]:.0f} x {known.cut_mm[1]:.0f} mm"),
            (
                "Makes the pieces of",
                f"{blank.articles} articles" if blank.articles > 1 else "1 article",
            ),
        ),
    )


def _soak(maker: Maker, design: Design, blank: Blank, known: BlankFacts, after: str) -> Step:
    rest = maker.rest("soak")
    return maker.step(
        "soak",
        "blank",
        blank.name,
        "Lay it under water until no more bubbles rise, then let the wet shine go off its face; "
        "press it before it stiffens again.",
        after=(after,),
        holds=(Hold(station="tub", until=f"press {blank.name}"),),
        load_limit=maker.choice.tub_holds,
        limited_by="tub",
        articles=blank.articles,
        cautions=("warm water", "iron"),
        figures=figures(
            ("From water to press", span_of_time(rest) if rest else ""),
            ("Water", f"{maker.choice.water_C:g} °C"),
            *(("Mind", words) for words in known.soak_says),
            *((f"Soaked, the {role}", f"{mm(thick, 2)} thick") for role, thick in known.soaked_mm),
        ),
        readings=tuple(
            Reading(
                what=f"thickness of the {role}, soaked",
                where="three points of the flange",
                tool="thickness gauge, foot laid on lightly",
                expected=mm(thick, 2),
                into="book: soaked thickness",
            )
            for role, thick in known.soaked_mm
        ),
    )


def _press(
    maker: Maker, design: Design, blank: Blank, known: BlankFacts, after: Sequence[str]
) -> Step:
    tool, opened, off = known.tool, _opened(blank), f"unmould {blank.name}"
    up = all(zone.grain_out for zone in design.piece(blank.places[0].piece).zones)
    rest = maker.rest("press")
    stops = sum(p.count for p in tool.parts if p.role == "stop block")
    return maker.step(
        "press",
        "blank",
        blank.name,
        f"Lay it on the plug within the scored line, grain {'up' if up else 'down'}, set the frame "
        "on its dowels and close vise or clamps in turns, a little at each place, until the stop "
        f"blocks touch all round.{HELD[blank.hold]}",
        after=after,
        holds=(
            Hold(station="plug", of=blank.name, until=off),
            Hold(station="frame", of=blank.name, until=opened),
            Hold(station="vise", until=opened),
        ),
        limited_by=f"plug of {blank.name}",
        articles=blank.articles,
        cautions=("iron", "acrylic under load", "press"),
        figures=figures(
            ("Gap, plug to frame", mm(tool.gap_mm, 2)),
            ("Closed height, base to top", mm(tool.closed_height_mm, 2)),
            ("Clamp over", f"each of the {stops} stop blocks" if stops else "all four sides"),
            ("Force, to check the vise", f"{tool.force_N[0]:.0f} to {tool.force_N[1]:.0f} N"),
            ("Leave closed", span_of_time(rest) if rest else ""),
            *(("Mind", words) for words in known.drying_says),
            ("Mind", _floor_says(known)),
        ),
        readings=(
            Reading(
                what="closed height",
                where="base to top of the frame, at its four corners",
                tool="calliper",
                expected=mm(tool.closed_height_mm, 2),
                into=f"mould of {blank.name}, closed height",
            ),
        ),
    )


def _floor_says(known: BlankFacts) -> str:
    """Return that a floor stands off its plug in words; nothing where it does not matter."""
    off = max((off for _, off in known.floors_off_mm), default=0.0)
    if off < WORTH_TELLING_MM:
        return ""
    return (
        f"stiff leather stands up to {mm(off)} off the plug's face in the middle: rub it down "
        "with a smooth bone through the frame while it is wet, and again before it dries"
    )


def _open(maker: Maker, blank: Blank, known: BlankFacts, after: str) -> Step:
    choice, off = maker.choice, f"unmould {blank.name}"
    rest, is_own = _on_plug(maker, known)
    assumed = "" if is_own or known.hours_measured else ", assumed until measured"
    air = f"{choice.air_C:g} °C, {100 * choice.humidity:g} % humidity, " + (
        f"air at {choice.air_speed_m_s:g} m/s" if choice.air_speed_m_s else "still air"
    )
    low_high = known.pull_in_mm
    return maker.step(
        "open the mould",
        "blank",
        blank.name,
        "Take vise and frame off, lay the hold-down ring on the flange and pin it with the dowels. "
        "Stand it where air passes; no heater, no sun.",
        name=_opened(blank),
        after=(after,),
        rest=rest,
        holds=(
            Hold(station="hold-down ring", of=blank.name, until=off),
            Hold(station="drying place", until=off),
        ),
        limited_by=f"hold-down ring of {blank.name}",
        articles=blank.articles,
        cautions=("mould grows", "no heat"),
        figures=figures(
            ("Dry on the plug", span_of_time(rest) + assumed),
            ("In air of", air),
            ("Then it is", f"{100 * known.dry_share:.0f} % dry"),
            (
                "May come off",
                f"after {format_minutes(known.earliest_minutes)}, "
                f"{100 * known.earliest_share:.0f} % dry, if the plug is wanted"
                if known.earliest_minutes <= known.plug_minutes - WORTH_TELLING_MINUTES
                else "",
            ),
        ),
        readings=(
            Reading(
                what="edge drawn in",
                where="scored line to the leather's edge, middle of each side",
                tool="ruler",
                expected=between(*low_high, 1) if low_high else "",
                into="book: pull-in along, pull-in across",
            ),
        ),
    )


def _on_plug(maker: Maker, known: BlankFacts) -> tuple[Rest, bool]:
    """Return how long a blank dries on its plug, and whether the maker says so."""
    own = maker.rest("open the mould") if maker.is_own("open the mould") else None
    foretold = Rest(what="drying on the plug", least_minutes=known.plug_minutes)
    return own or foretold, own is not None


def _unmould(maker: Maker, design: Design, blank: Blank, known: BlankFacts, after: str) -> Step:
    by = "through the push-out holes" if _has(known.tool, "push-out") else "by the flange"
    readings = [
        Reading(
            what="drying time",
            where="ring on to ring off; weight steady and no cool touch",
            tool="watch, kitchen scales",
            expected=f"about {format_minutes(_on_plug(maker, known)[0].least_minutes)}",
            into="book: drying hours",
        )
    ]
    for name in dict.fromkeys(p.piece for p in blank.places):
        for zone in design.piece(name).zones:
            box = zone.outline
            readings.append(
                Reading(
                    what=f"hollow of {name}, width x height",
                    where="inside, at the flange",
                    tool="calliper",
                    expected=f"{box.width:.1f} x {box.height:.1f} mm",
                    into=f"book: dry size along, dry size across, {name}/{zone.name}",
                )
            )
            off = known.floor_off_mm(name, zone.name)
            readings.append(
                Reading(
                    what=f"depth of {name}",
                    where="inside, from the flange down to the middle of the floor",
                    tool="depth gauge",
                    expected=between(zone.depth_mm, zone.depth_mm + off, 1),
                    into=f"piece {name}, depth",
                )
            )
    return maker.step(
        "unmould",
        "blank",
        blank.name,
        "When it is dry and no longer cool to the touch, take the ring off and work the leather "
        f"off its plug evenly, {by}.",
        after=(after,),
        articles=blank.articles,
        figures=figures(("Dry when", "its weight stays the same and it is not cool to the touch")),
        readings=tuple(readings),
    )


def _has(tool: MouldTool, purpose: HolePurpose) -> bool:
    """Whether all plates of a mould's plugs have holes for a purpose."""
    return all(part.holes_for(purpose) for part in tool.parts if part.role == "plug")


def _opened(blank: Blank) -> str:
    return f"open the mould of {blank.name}"


def _range(leather: Leather) -> str:
    return f"{leather.thickness_min_mm:g} to {leather.thickness_max_mm:g} mm"
