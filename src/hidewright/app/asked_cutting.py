"""What the cutting pages ask the process that lays pieces, and what it answers; nothing heavy."""

from dataclasses import dataclass
from typing import Any

from hidewright.design.asked_piece import AskedPiece
from hidewright.design.cut_layout import CutLayout
from hidewright.design.cutting import Layout
from hidewright.design.hide import Hide
from hidewright.design.specification import Specification
from hidewright.design.stock_hide import StockHide
from hidewright.drawing.tiles import Paper
from hidewright.units.written import Written
from hidewright.workshop.cutting.asked import CutAsked


@dataclass(frozen=True, slots=True, kw_only=True)
class PiecesAsked:
    """What is cut for some designs.

    Attributes:
        specs: (id, design).
        spacing_mm: Room between mates.
        tools: Whether what is cut for their tools is asked for instead.
    """

    specs: tuple[tuple[str, Specification[Any]], ...]
    spacing_mm: float
    tools: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PiecesFound:
    """What is cut for one design; the words say why nothing is, where that is so."""

    design: str
    pieces: tuple[AskedPiece, ...]
    trouble: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolsFound:
    """What is cut for the tools of one design.

    Attributes:
        design: Its id.
        parts: Parts of all boards, each with how many are cut.
        sheets: A whole sheet of each board, as it is bought.
    """

    design: str
    parts: tuple[tuple[AskedPiece, int], ...]
    sheets: tuple[StockHide, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LayAsked:
    """A question about hides, to be answered within so many seconds."""

    asked: CutAsked
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SettleAsked:
    """A layout in which copies were moved, or whose hides have changed.

    Attributes:
        layout: With its hides as they are now.
        placements: Where each copy lies or is to lie.
        pinned: (piece, copy) of those that stay.
    """

    layout: CutLayout
    placements: Layout
    pinned: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A layout, accepted by the checker.

    Attributes:
        layout: Where the pieces lie.
        done: Whether it is the last of this search.
    """

    layout: CutLayout
    done: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FilesAsked:
    """The files of a layout."""

    layout: CutLayout
    paper: Paper
    written: Written


@dataclass(frozen=True, slots=True, kw_only=True)
class FilesMade:
    """The files of a layout as one zip, with the cutting list by itself."""

    zip: bytes
    files: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlineAsked:
    """A drawing of a hide that the maker brings.

    Attributes:
        data: Its bytes.
        name: Its name; the ending says what it is.
        unit: Length of one unit of the drawing, over what it says.
    """

    data: bytes
    name: str
    unit: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlineFound:
    """A hide as drawn: the largest outline its edge, those within it holes."""

    hide: Hide
    said: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundAsked:
    """A hide to be looked at before it is put into the book."""

    hide: Hide


CuttingAsked = PiecesAsked | LayAsked | SettleAsked | FilesAsked | OutlineAsked | SoundAsked
CuttingFound = PiecesFound | ToolsFound | Laid | FilesMade | OutlineFound
