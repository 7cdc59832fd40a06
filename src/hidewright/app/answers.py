"""What the processes beside the server answer: pictures at once, findings soon, packs at length."""

from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass, field, fields, replace
from functools import partial
from typing import Any

from hidewright.app.asked import (
    Asked,
    CheckAsked,
    Checked,
    Facts,
    Figures,
    MendAsked,
    Mended,
    PackAsked,
    Packed,
    Progress,
    Shown,
    View,
)
from hidewright.design.design import Design
from hidewright.design.specification import Specification
from hidewright.errors import Remark, RequestError
from hidewright.store.write_pack import zip_bytes
from hidewright.workshop import article, facts, forming_papers
from hidewright.workshop.cutting.in_pack import pack_layouts
from hidewright.workshop.forming_chain import Layer, PressedBlank
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.learned_beliefs import beliefs_of
from hidewright.workshop.learned_facts import tooling_ranges
from hidewright.workshop.live_chain import live_figures, with_live_pressing
from hidewright.workshop.remedies import in_own_fields
from hidewright.workshop.views import (
    carry_view,
    flat_view,
    handles,
    plates_view,
    seams_view,
    section_view,
    solid_view,
)
from hidewright.workshop.views.svg_view import FlatView, Handle

#: What is known of a whole design.
Answer = Checked | Packed | Shown
#: Remarks of these nodes are told while the maker edits.
QUICK_REMARKS = ("change remarks", "kind remarks", "fit remarks", "fitting remarks")
QUICK_WITH_REMARKS = ("sewn", "sewing tools")


@dataclass(slots=True)
class Live:
    """Keeps what was computed last, and the solved sheets of every design, to begin from."""

    cache: Cache = field(default_factory=Cache)
    pressed: dict[str, dict[str, PressedBlank]] = field(default_factory=dict)
    held: dict[str, tuple[Hashable, tuple[Handle, ...]]] = field(default_factory=dict)

    def answer(self, asked: Asked, progress: Progress) -> Iterator[Shown | Figures]:
        """Yield what is quick first: drawings, figures, then what needs the pressed sheet."""
        last = self.pressed.setdefault(asked.design, {})
        nodes = with_live_pressing(article.NODES, last)

        def values(*wanted: str) -> dict[str, Any]:
            inputs = inputs_of(asked.spec, "A4")
            return dict(evaluate(nodes, inputs, wanted, self.cache, lambda _: progress("")).values)

        asked = replace(asked, handles=self.held.get(asked.design, ("", ()))[1])
        for view in asked.views:
            shown = _shown(view, asked, values)
            yield shown
            progress("")
            if view == "pieces" and not shown.missing and self._finds_handles(asked):
                asked = replace(asked, handles=self.held[asked.design][1])
                yield _shown(view, asked, values)
                progress("")
        yield _figures(asked, values)

    def _finds_handles(self, asked: Asked) -> bool:
        """Find the handles anew when more than lengths has changed; return whether it had."""
        sort = _sort_of(asked.spec)
        if self.held.get(asked.design, ("", ()))[0] == sort:
            return False
        self.held[asked.design] = (sort, handles.handles_of(asked.spec))
        return True


def _sort_of(spec: Specification[Any]) -> Hashable:
    """Return all of a design but its lengths: while it stays, so do the handles."""
    measures = spec.brief.measures
    plain = [getattr(measures, f.name) for f in fields(measures)]
    return (spec.brief.kind, spec.changes, *(v for v in plain if not isinstance(v, float)))


def _shown(view: View, asked: Asked, values: Callable[..., dict[str, Any]]) -> Shown:
    try:
        needs, draw = VIEWS[view]
        found = values(*needs)
        for value in found.values():
            if isinstance(value, Missing):
                raise value.because
        return draw(view, asked, found)
    except RequestError as refused:
        return Shown(view=view, missing=f"This cannot be drawn as it is now. {refused}")


def _flat(view: View, drawn: FlatView | None, nothing: str) -> Shown:
    """Return a drawing, or the words for why there is nothing to draw."""
    return Shown(view=view, flat=drawn, missing="" if drawn is not None else nothing)


def _pieces(view: View, asked: Asked, found: dict[str, Any]) -> Shown:
    design, sewn, leathers = found["design"][0], found["sewn"][0], found["all leathers"]
    held = handles.follow(asked.handles, asked.spec, design)
    drawn = flat_view.pieces_view(design, sewn, leathers, asked.unit, held, asked.frame)
    return Shown(view=view, flat=drawn)


def _seams(view: View, asked: Asked, found: dict[str, Any]) -> Shown:
    drawn = seams_view.seams_view(found["design"][0], found["sewn"][0], asked.unit, asked.frame)
    return _flat(view, drawn, "Nothing is sewn in this article.")


def _carry(view: View, asked: Asked, found: dict[str, Any]) -> Shown:
    drawn = carry_view.carry_view(asked.spec, found["design"][0], asked.unit, asked.frame)
    return _flat(view, drawn, "It carries nothing yet: add a thing at the left.")


def _plates(view: View, asked: Asked, found: dict[str, Any]) -> Shown:
    drawn = plates_view.plates_view(found["mouldings"][0], asked.unit, asked.frame)
    return _flat(view, drawn, "Nothing is moulded in this article, so it needs no plates.")


def _templates(view: View, asked: Asked, found: dict[str, Any]) -> Shown:
    trims, pricks, blocks, jigs = (found[name][0] for name in TEMPLATES)
    drawn = plates_view.templates_view(trims, pricks, blocks, jigs, asked.unit, asked.frame)
    return _flat(view, drawn, "This article needs no templates or blocks.")


def _section(view: View, asked: Asked, found: dict[str, Any]) -> Shown:
    tool, one, layer = _first_layer(found)
    leather = dict(found["all leathers"])[layer.role]
    drawn = section_view.section_view(one, layer, leather, tool, asked.unit, asked.frame)
    return Shown(view=view, flat=drawn)


def _article(view: View, asked: Asked, found: dict[str, Any]) -> Shown:
    design, blanks = found["design"][0], found["pressed blanks"][0]
    drawn = solid_view.pieces_solid(design, blanks, found["all leathers"], found["sewn"][0])
    return Shown(view=view, solid=solid_view.encode(drawn), moves=drawn.moves)


def _tools(view: View, asked: Asked, found: dict[str, Any]) -> Shown:
    mouldings, blanks = found["mouldings"][0], found["pressed blanks"][0]
    if not mouldings:
        return Shown(view=view, missing="Nothing is moulded in this article: it needs no tools.")
    drawn = solid_view.tools_solid(mouldings, blanks, found["all leathers"])
    return Shown(view=view, solid=solid_view.encode(drawn))


def _blank(view: View, asked: Asked, found: dict[str, Any]) -> Shown:
    _, one, layer = _first_layer(found)
    leather = dict(found["all leathers"])[layer.role]
    return Shown(view=view, solid=solid_view.encode(solid_view.blank_solid(one, layer, leather)))


def _first_layer(found: dict[str, Any]) -> tuple[Any, PressedBlank, Layer]:
    """Return tool, pressed blank and layer of the first blank that takes its form.

    The tool is None where no mouldings were asked for.
    """
    tools = {m.blank.name: m.tool for m in found.get("mouldings", ((), ()))[0]}
    for one in found["pressed blanks"][0]:
        if one.layers:
            return tools.get(one.blank.name), one, one.layers[0]
    raise RequestError(
        "there is no pressed leather to show",
        because="nothing in this article is moulded, or no sheet takes its form",
        mend="The remarks say what would mend it",
    )


TEMPLATES = ("trim templates", "pricking templates", "blocks", "jigs")
Draw = Callable[[View, Asked, dict[str, Any]], Shown]
#: What each picture needs of the graph, and what draws it.
VIEWS: dict[View, tuple[tuple[str, ...], Draw]] = {
    "carry": (("design",), _carry),
    "pieces": (("design", "sewn", "all leathers"), _pieces),
    "article": (("design", "pressed blanks", "all leathers", "sewn"), _article),
    "section": (("pressed blanks", "mouldings", "all leathers"), _section),
    "blank": (("pressed blanks", "all leathers"), _blank),
    "plates": (("mouldings",), _plates),
    "templates": (TEMPLATES, _templates),
    "tools": (("mouldings", "pressed blanks", "all leathers"), _tools),
    "seams": (("design", "sewn"), _seams),
}
#: What each chapter of figures needs of the graph.
CHAPTERS: dict[str, tuple[str, ...]] = {
    "carry": ("design",),
    "leather": ("design", "pressed blanks", "all leathers"),
    "tooling": ("mouldings",),
    "seams": ("design", "sewn", "sewing tools"),
}


def _figures(asked: Asked, values: Callable[..., dict[str, Any]]) -> Figures:
    wanted = [*QUICK_REMARKS, *QUICK_WITH_REMARKS]
    for chapter in asked.figures:
        wanted += CHAPTERS[chapter]
    found = values(*dict.fromkeys(wanted))
    remarks: list[Remark] = []
    missing: dict[str, None] = {}
    for name, value in found.items():
        if isinstance(value, Missing):
            missing[str(value.because)] = None
        elif name in QUICK_REMARKS:
            remarks += value
        elif name in (*QUICK_WITH_REMARKS, "pressed blanks", "mouldings"):
            remarks += value[1]
    chapters: list[tuple[str, Facts]] = []
    for chapter in asked.figures:
        if not any(isinstance(found[name], Missing) for name in CHAPTERS[chapter]):
            chapters += _chapter(chapter, found, asked)
    return Figures(
        chapters=tuple(chapters),
        remarks=in_order(in_own_fields(remarks, asked.spec)),
        missing=tuple(missing),
    )


def _chapter(chapter: str, found: dict[str, Any], asked: Asked) -> list[tuple[str, Facts]]:
    match chapter:
        case "carry":
            return [("What goes in", facts.carried_facts(found["design"][0]))]
        case "leather":
            return [("Pressed", live_figures(found["pressed blanks"], found["all leathers"]))]
        case "tooling":
            moulds = found["mouldings"][0]
            spec = asked.spec
            boards = (spec.tooling.mould_board, spec.tooling.template_board)
            believed = asked.believed or beliefs_of(spec.brief.leathers, boards)
            return [
                ("Reckoned with", tooling_ranges(spec, moulds, believed, asked.unit)),
                *((f"Mould for the {m.blank.name}", facts.mould_facts(m)) for m in moulds),
            ]
        case _:
            design: Design = found["design"][0]
            return [("Seams", facts.seam_facts(design, found))]


def in_order(remarks: Iterable[Remark]) -> tuple[Remark, ...]:
    """Return remarks once each, those that forbid first."""
    order = {"forbids": 0, "warning": 1, "note": 2}
    return tuple(sorted(dict.fromkeys(remarks), key=lambda r: order[r.severity]))


@dataclass(slots=True)
class Whole:
    """Keeps what was computed last: what was pressed to look closely serves the pack."""

    cache: Cache = field(default_factory=Cache)

    def answer(self, asked: CheckAsked | PackAsked | Asked, progress: Progress) -> Iterator[Answer]:
        """Yield all findings on a design, its pack, or its pictures from the fine pressing."""
        match asked:
            case PackAsked():
                yield self._packed(asked, progress)
            case CheckAsked():
                yield self._checked(asked, progress)
            case Asked():
                yield from self._sharp(asked, progress)

    def _sharp(self, asked: Asked, progress: Progress) -> Iterator[Shown]:
        for view in asked.views:
            yield _shown(view, asked, partial(self._values, asked, progress))

    def _values(
        self, asked: CheckAsked | Asked, progress: Progress, *wanted: str
    ) -> dict[str, Any]:
        inputs = inputs_of(asked.spec, "A4", believed=asked.believed)
        return dict(evaluate(article.NODES, inputs, wanted, self.cache, progress).values)

    def _checked(self, asked: CheckAsked, progress: Progress) -> Checked:
        findings = article.judge(asked.spec, self.cache, progress)
        wanted = ("pressed blanks", "pressing report", "all leathers")
        values = self._values(asked, progress, *wanted)
        chapters: list[tuple[str, Facts]] = []
        notes: list[str] = []
        if not any(isinstance(value, Missing) for value in values.values()):
            leathers = values["all leathers"]
            of = {one.blank.name: one for one in values["pressed blanks"][0]}
            for said in values["pressing report"]:
                one = of[said.blank]
                title = f"Blank: {said.blank}" + (", layer over it" if said.layer else "")
                chapters.append((title, forming_papers.figures(said, one, leathers)))
                if said.layer == 0:
                    notes += forming_papers.bench_notes(one, leathers)
        return Checked(
            remarks=findings.remarks,
            missing=tuple(one.because for one in findings.missing),
            chapters=tuple(chapters),
            notes=tuple(dict.fromkeys(notes)),
        )

    def _packed(self, asked: PackAsked, progress: Progress) -> Packed:
        files, findings = article.pack(
            asked.spec,
            self.cache,
            paper=asked.paper,
            choice=asked.choice,
            believed=asked.believed,
            layouts=partial(pack_layouts, asked.choice.layouts, written=asked.choice.written),
            told=asked.told,
            progress=progress,
        )
        return Packed(
            zip=zip_bytes(files),
            files=len(files),
            remarks=findings.remarks,
            forbids=findings.forbids,
        )


@dataclass(slots=True)
class Mend:
    """Keeps what was computed last."""

    cache: Cache = field(default_factory=Cache)

    def answer(self, asked: MendAsked, progress: Progress) -> Iterator[Mended]:
        """Yield remarks with what would mend them."""
        yield Mended(remarks=article.check(asked.spec, self.cache, progress).remarks)


def live() -> Callable[[Asked, Progress], Iterator[Shown | Figures]]:
    """Return what answers while the maker edits; nothing in it takes half a second."""
    return Live().answer


def whole() -> Callable[[CheckAsked | PackAsked | Asked, Progress], Iterator[Answer]]:
    """Return what looks closely at a design once the maker pauses, and makes its pack."""
    return Whole().answer


def mend() -> Callable[[MendAsked, Progress], Iterator[Mended]]:
    """Return what looks for remedies, which takes long."""
    return Mend().answer
