"""What the process that lays pieces answers: what is cut, where it lies, and the files of that."""

import queue
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from hidewright.app.asked_cutting import (
    CuttingAsked,
    CuttingFound,
    FilesAsked,
    FilesMade,
    Laid,
    LayAsked,
    OutlineAsked,
    OutlineFound,
    PiecesAsked,
    PiecesFound,
    SettleAsked,
    SoundAsked,
    ToolsFound,
)
from hidewright.app.worker import Dropped
from hidewright.design.cut_layout import CutLayout
from hidewright.drawing.read_outlines import read_outlines
from hidewright.nesting.soundness import refuse_unsound_hide
from hidewright.store.write_pack import zip_bytes
from hidewright.tooling.sheets import Sheet
from hidewright.workshop import article
from hidewright.workshop.compiling import WORDS
from hidewright.workshop.cutting.files import layout_files
from hidewright.workshop.cutting.hide_outline import hide_from
from hidewright.workshop.cutting.moves import settle_layout
from hidewright.workshop.cutting.pieces import asked_pieces
from hidewright.workshop.cutting.questions import answer_cut
from hidewright.workshop.cutting.sheets import boards_of, sheet_pieces, whole_sheet
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of

Progress = Callable[[str], None]
#: How often it is asked whether the maker still wants it, s.
ASK_EVERY_S = 0.1


@dataclass(slots=True)
class Cutter:
    """Keeps what was computed last."""

    cache: Cache = field(default_factory=Cache)

    def answer(self, asked: CuttingAsked, progress: Progress) -> Iterator[CuttingFound]:
        """Yield the answer to one question; of a search each better layout, the last one last."""
        match asked:
            case PiecesAsked():
                yield from self._pieces(asked, progress)
            case LayAsked():
                yield from _searched(lambda talk: _lay(asked, talk), progress)
            case SettleAsked():
                yield from _searched(lambda talk: _settle(asked, talk), progress)
            case FilesAsked():
                progress("papers and files at full size")
                files = layout_files(asked.layout, asked.paper, asked.written)
                yield FilesMade(zip=zip_bytes(files), files=len(files))
            case OutlineAsked():
                reading = read_outlines(asked.data, name=asked.name, unit=asked.unit)
                hide, said = hide_from(reading, asked.name.rpartition(".")[0][:80] or asked.name)
                refuse_unsound_hide(hide)
                yield OutlineFound(hide=hide, said=said)
            case SoundAsked():
                refuse_unsound_hide(asked.hide)
                yield OutlineFound(hide=asked.hide, said=())

    def _pieces(self, asked: PiecesAsked, progress: Progress) -> Iterator[PiecesFound | ToolsFound]:
        for id, spec in asked.specs:
            progress(f"what is cut for {spec.brief.name}")
            values = evaluate(
                article.NODES,
                inputs_of(spec, "A4"),
                ("sheets",) if asked.tools else ("design", "pressed blanks"),
                self.cache,
                lambda _: progress(""),
            ).values
            missing = [v for v in values.values() if isinstance(v, Missing)]
            if missing:
                yield PiecesFound(design=id, pieces=(), trouble=str(missing[0].because))
                continue
            if asked.tools:
                yield _tools(id, spec.brief.name, values["sheets"][0])
                continue
            pieces = asked_pieces(values["design"][0], values["pressed blanks"], asked.spacing_mm)
            yield PiecesFound(design=id, pieces=pieces)


def _tools(id: str, name: str, sheets: tuple[Sheet, ...]) -> ToolsFound:
    boards = boards_of(sheets)
    return ToolsFound(
        design=id,
        parts=tuple(part for board in boards for part in sheet_pieces(name, sheets, board)),
        sheets=tuple(whole_sheet(board) for board in boards),
    )


@dataclass(frozen=True, slots=True)
class _Talk:
    """How a search that runs beside tells what it finds, and hears that it should end."""

    say: Callable[[str], None]
    show: Callable[[CutLayout], None]
    called_off: Callable[[], bool]


def _lay(asked: LayAsked, talk: _Talk) -> CutLayout:
    _compiled(talk)
    end = time.monotonic() + asked.seconds
    return answer_cut(
        asked.asked,
        called_off=lambda: talk.called_off() or time.monotonic() >= end,
        say=talk.say,
        show=talk.show,
    )


def _settle(asked: SettleAsked, talk: _Talk) -> CutLayout:
    _compiled(talk)
    talk.say("the rest settles")
    return settle_layout(asked.layout, asked.placements, asked.pinned, called_off=talk.called_off)


def _compiled(talk: _Talk) -> None:
    from hidewright.nesting.warm import compile_kernels

    talk.say(WORDS)
    compile_kernels()


def _searched(search: Callable[[_Talk], CutLayout], progress: Progress) -> Iterator[Laid]:
    """Run a search beside; yield what it shows, and when it is stopped the best it has."""
    told: queue.Queue[Any] = queue.Queue()
    stop = threading.Event()

    def run() -> None:
        talk = _Talk(say=told.put, show=told.put, called_off=stop.is_set)
        try:
            told.put(Laid(layout=search(talk), done=True))
        except Exception as failed:  # told where the answer is awaited
            told.put(failed)

    threading.Thread(target=run, daemon=True).start()
    words, said = "", ""
    while True:
        try:
            what = told.get(timeout=ASK_EVERY_S)
        except queue.Empty:
            what = None
        if isinstance(what, Exception):
            raise what
        if isinstance(what, Laid):
            yield what
            return
        if isinstance(what, CutLayout):
            yield Laid(layout=what, done=False)
            continue
        words = what or words
        try:
            progress(words if what is None and words != said else "")
        except Dropped:
            stop.set()
        said = words if what is None else said


def cutting() -> Callable[[CuttingAsked, Progress], Iterator[CuttingFound]]:
    """Return what answers the cutting pages."""
    return Cutter().answer
