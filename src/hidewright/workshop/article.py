"""What a maker asks of an article: remarks on it, and the pack of files that makes it."""

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from functools import partial
from typing import Any

from hidewright.design.design import Design
from hidewright.design.fault import Fault
from hidewright.design.specification import Specification
from hidewright.drawing.contents import Chapter, Picture, contents_page
from hidewright.drawing.tiles import Paper
from hidewright.errors import Remark, RequestError
from hidewright.store.write_design import write_design
from hidewright.units.written import Written
from hidewright.workshop import (
    acceptance,
    build_sheet,
    cost_chain,
    design_chain,
    forming_chain,
    forming_papers,
    list_papers,
    papers_chain,
    pressing_report,
    sewing_chain,
    steps_chain,
    tooling_chain,
)
from hidewright.workshop.cautions import GENERAL, MAGNETS, SHARP
from hidewright.workshop.cut_files import used_view
from hidewright.workshop.facts import chapters_of
from hidewright.workshop.forming_chain import PressedBlanks
from hidewright.workshop.forming_papers import FOLDER, PAGE, forming_page
from hidewright.workshop.graph import Beside, Cache, Missing, evaluate
from hidewright.workshop.in_units import chapters_in, names_in, remark_in
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.learned_beliefs import Beliefs
from hidewright.workshop.mending import mended
from hidewright.workshop.paper_choice import PaperChoice
from hidewright.workshop.papers_chain import cut_file
from hidewright.workshop.pressing_report import BlankReport, must_be_a_zone, of_zone
from hidewright.workshop.remedies import in_own_fields
from hidewright.workshop.uncollected import uncollected

NODES = (
    *design_chain.NODES,
    *sewing_chain.NODES,
    *forming_chain.NODES,
    *pressing_report.NODES,
    *tooling_chain.NODES,
    *papers_chain.NODES,
    *forming_papers.NODES,
    *steps_chain.NODES,
    *build_sheet.NODES,
    *cost_chain.NODES,
    *list_papers.NODES,
    *acceptance.NODES,
)
#: Nodes whose value is remarks, and nodes whose value is (value, remarks).
REMARKS = (
    "change remarks",
    "kind remarks",
    "fit remarks",
    "fitting remarks",
    "safety remarks",
)
WITH_REMARKS = (
    "sewn",
    "sewing tools",
    "pressed blanks",
    "mouldings",
    "trim templates",
    "pricking templates",
    "blocks",
    "jigs",
    "sheets",
)
FILES = (
    "cut files",
    "pattern files",
    "tool files",
    "solid files",
    "forming files",
    "build sheet files",
    "bench list files",
    "buyer files",
)

Progress = Callable[[str], None]
Laid = Callable[[Design, PressedBlanks, Paper], tuple[Mapping[str, bytes], tuple[Remark, ...]]]
#: Folder of a pack that layouts are in.
LAYOUT = "layout/"
#: Said where the contents show no whole sheet.
CORNER_SHOWN = "Shown larger: the corner of the sheet that is used."


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """What there is to say about a specification.

    Attributes:
        remarks: All remarks, those that forbid first.
        missing: What could not be computed, each refusal once.
    """

    remarks: tuple[Remark, ...]
    missing: tuple[Missing, ...]

    @property
    def forbids(self) -> bool:
        """Whether something must not be made so."""
        return any(r.severity == "forbids" for r in self.remarks)


class NotAcceptedError(Exception):
    """What was made is not what was asked for; the checkers that found it share no code with it."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__("; ".join(f"{fault.part}: {fault.sentence}" for fault in faults[:5]))
        self.faults = faults


def check(spec: Specification[Any], cache: Cache, progress: Progress = lambda _: None) -> Findings:
    """Return what there is to say about an article, and what would mend its pressing."""
    return _mended(judge(spec, cache, progress), spec, cache, progress)


def press(
    spec: Specification[Any],
    cache: Cache,
    zone: str = "",
    progress: Progress = lambda _: None,
    believed: Beliefs | None = None,
) -> tuple[tuple[BlankReport, ...], tuple[Remark, ...]]:
    """Return what pressing an article comes to, and what there is to say about that.

    Args:
        spec: The article.
        cache: Kept between calls by the caller.
        zone: Only blanks with a moulded zone whose ``piece/zone`` holds this; all when empty.
        progress: Called with words before each step.
        believed: Of its leathers and boards; what the catalogue says without it.

    Raises:
        RequestError: When there is no such zone, or part of the design cannot be computed.
    """
    wanted = ("pressing report", "pressed blanks")
    inputs = inputs_of(spec, "A4", believed=believed)
    moulded = evaluate(NODES, inputs, ("moulded",), cache, progress).values["moulded"]
    if zone and not isinstance(moulded, Missing):
        must_be_a_zone(zone, moulded)
    values = evaluate(NODES, inputs, wanted, cache, progress).values
    for value in values.values():
        if isinstance(value, Missing):
            raise value.because
    reports: tuple[BlankReport, ...] = values["pressing report"]
    if zone:
        reports = of_zone(reports, zone)
    places = {name for one in reports for name in one.zones}
    remarks = in_own_fields(values["pressed blanks"][1], spec)
    return reports, tuple(r for r in remarks if not zone or r.place in places)


def judge(spec: Specification[Any], cache: Cache, progress: Progress = lambda _: None) -> Findings:
    """Return what there is to say about an article, without looking for what would mend it."""
    wanted = (*REMARKS, *WITH_REMARKS)
    values = evaluate(NODES, inputs_of(spec, "A4"), wanted, cache, progress).values
    return _findings(values, spec)


def _mended(
    findings: Findings, spec: Specification[Any], cache: Cache, progress: Progress
) -> Findings:
    def forbidding(changed: Specification[Any]) -> frozenset[tuple[str, str]] | None:
        try:
            told = judge(changed, cache)
        except RequestError:
            return None
        if told.missing:
            return None
        return frozenset((r.code, r.place) for r in told.remarks if r.severity == "forbids")

    return replace(findings, remarks=mended(spec, findings.remarks, forbidding, progress))


@uncollected()
def pack(
    spec: Specification[Any],
    cache: Cache,
    *,
    paper: Paper = "A4",
    choice: PaperChoice | None = None,
    believed: Beliefs | None = None,
    layouts: Laid = lambda *_: ({}, ()),
    told: tuple[Remark, ...] = (),
    anyway: bool = True,
    progress: Progress = lambda _: None,
    beside: Beside | None = None,
) -> tuple[Mapping[str, bytes], Findings]:
    """Return the pack's files by path, and what there is to say.

    Args:
        spec: The article.
        cache: Kept between calls by the caller.
        paper: To print on.
        choice: What the workshop's papers go by; the built-in rates, and no label, without it.
        believed: Of its leathers and boards; what the catalogue says without it.
        layouts: Makes of design, pressed blanks and paper the files of how it is cut, in the folder
            layout, and remarks on that; none without it.
        told: What else is said among the remarks, as that own values are reckoned with.
        anyway: Make the files even where a remark forbids; without it there are none then.
        progress: Called with words before each step.
        beside: Computes part of it meanwhile.

    Raises:
        RequestError: When part of the article cannot be computed.
        NotAcceptedError: When the independent check finds a fault in what was made: our mistake.
    """
    wanted = (*REMARKS, *WITH_REMARKS, *FILES, *acceptance.FAULTS)
    wanted += ("design", "forming chapters", "sheet drawings")
    choice = choice or PaperChoice()
    inputs = {
        **inputs_of(
            spec,
            paper,
            choice.day,
            choice.written,
            believed,
            choice.rates.laser_speed,
            choice.bench,
        ),
        "paper choice": choice,
        "rates": choice.rates,
    }
    if not anyway:
        said = evaluate(NODES, inputs, (*REMARKS, *WITH_REMARKS), cache, progress, beside).values
        findings = _findings(said, spec)
        if findings.forbids and not findings.missing:
            findings = _mended(findings, spec, cache, progress)
            return {}, replace(findings, remarks=(*findings.remarks, *told))
    values = evaluate(NODES, inputs, wanted, cache, progress, beside).values
    findings = _mended(_findings(values, spec), spec, cache, progress)
    if findings.missing:
        raise findings.missing[0].because
    found = [fault for name in acceptance.FAULTS for fault in values[name]]
    faults = acceptance.untold(found, findings.remarks)
    if faults and not findings.forbids:
        raise NotAcceptedError(faults)
    files: dict[str, bytes] = {}
    for name in FILES:
        files |= values[name]
    names = _names(values)
    forming = chapters_in(values["forming chapters"], choice.written, names)
    laid, on_layouts = layouts(values["design"][0], values["pressed blanks"], paper)
    findings = replace(findings, remarks=(*findings.remarks, *on_layouts, *told))
    files |= laid
    files |= forming_page(spec.brief.name, forming, paper, choice.written)
    files["design.yaml"] = write_design(spec).encode()
    files["remarks.json"] = _json([asdict(r) for r in findings.remarks])
    files["index.html"] = _contents(spec, values, files, findings.remarks, choice.written)
    files["manifest.json"] = _json(
        {
            "article": spec.brief.name,
            "kind": spec.brief.kind,
            "files": {
                name: {"sha256": hashlib.sha256(files[name]).hexdigest(), "bytes": len(files[name])}
                for name in sorted(files)
            },
        }
    )
    return files, findings


def _findings(values: Mapping[str, Any], spec: Specification[Any]) -> Findings:
    remarks: list[Remark] = []
    missing: dict[str, Missing] = {}
    for value in values.values():
        if isinstance(value, Missing):
            missing.setdefault(value.node, value)
    for name in (*REMARKS, *WITH_REMARKS):
        value = values[name]
        if not isinstance(value, Missing):
            remarks += value if name in REMARKS else value[1]
    order = {"forbids": 0, "warning": 1, "note": 2}
    own = in_own_fields(remarks, spec)
    unique = sorted(dict.fromkeys(own), key=lambda r: order[r.severity])
    return Findings(remarks=tuple(unique), missing=tuple(missing.values()))


def _contents(
    spec: Specification[Any],
    values: Mapping[str, Any],
    files: Mapping[str, bytes],
    remarks: tuple[Remark, ...],
    written: Written,
) -> bytes:
    brief = spec.brief
    views = {cut_file(d, "svg"): used_view(d) for d in values["sheet drawings"]}
    pictures = {
        folder: tuple(
            Picture(
                title=path.removeprefix(folder).removesuffix(".svg"),
                svg=path,
                files=tuple(
                    (other.rpartition(".")[2].upper(), other)
                    for other in (path, path.replace(".svg", ".dxf"))
                    if other in files
                ),
                note=CORNER_SHOWN if views.get(path) else "",
                view=views.get(path),
            )
            for path in files
            if path.startswith(folder) and path.endswith(".svg")
        )
        for folder in ("cut/", "patterns/", FOLDER, LAYOUT)
    }
    more = {
        folder: tuple(
            (path.removeprefix(folder), path)
            for path in files
            if path.startswith(folder) and path.endswith((".pdf", ".stl", ".html"))
        )
        for folder in ("papers/", "patterns/", "solids/", LAYOUT)
    }
    design, _ = values["design"]
    names = _names(values)
    cautions = list(GENERAL)
    if design.magnets:
        cautions += MAGNETS
    if any(c.thing.sharp_points for c in brief.carried):
        cautions += SHARP
    return contents_page(
        title=brief.name,
        lead=f"{_said(brief.kind)}. All drawings are at full size, in mm.",
        chapters=(
            *chapters_in(chapters_of(design, values, written), written, names),
            Chapter(title="Papers for the bench", files=more["papers/"]),
            Chapter(title="Cut files", pictures=pictures["cut/"]),
            Chapter(title="Patterns", pictures=pictures["patterns/"], files=more["patterns/"]),
            *_layout(pictures[LAYOUT], more[LAYOUT]),
            *_forming(pictures[FOLDER], files),
            *_solids(more["solids/"]),
            Chapter(title="The design itself", files=(("design.yaml", "design.yaml"),)),
        ),
        remarks=[remark_in(r, partial(written.words, names=names)) for r in remarks],
        cautions=[written.words(caution) for caution in cautions],
    )


def _solids(files: tuple[tuple[str, str], ...]) -> tuple[Chapter, ...]:
    if not files:
        return ()
    note = "They have no holes for dowels and screws; the plates among the cut files have them."
    return (Chapter(title="Solids for printing or milling", notes=(note,), files=files),)


def _layout(
    pictures: tuple[Picture, ...], papers: tuple[tuple[str, str], ...]
) -> tuple[Chapter, ...]:
    """Return what leads to the layouts: nothing when there are none."""
    plans = tuple(p for p in pictures if p.title.rpartition("/")[2].startswith("plan "))
    return (Chapter(title="Layout on hides", pictures=plans, files=papers),) if plans else ()


def _names(values: Mapping[str, Any]) -> frozenset[str]:
    """Return the names of materials and tools, which no paper writes otherwise."""
    boards = (part.board for one in values["mouldings"][0] for part in one.tool.parts)
    awls = (tools.awl for tools in values["sewing tools"][0])
    return names_in(values["design"][0], boards, awls)


def _forming(pictures: tuple[Picture, ...], files: Mapping[str, bytes]) -> tuple[Chapter, ...]:
    """Return what leads to the forming page: nothing when no leather is formed."""
    if PAGE not in files:
        return ()
    shown = tuple(p for p in pictures if p.title.endswith("reserve"))
    return (
        Chapter(
            title="Forming",
            pictures=shown,
            files=(("How it stretches, is drawn in and dries", PAGE),),
        ),
    )


def _said(kind: str) -> str:
    """Return a kind with its article, such as ``An open tray``."""
    if kind == "free":
        return "A free design"
    return f"{'An' if kind[0] in 'aeiou' else 'A'} {kind}"


def _json(value: object) -> bytes:
    return (json.dumps(value, indent=2, ensure_ascii=False, sort_keys=True) + "\n").encode()
