"""What pages ask the processes beside the server, and what these answer; nothing heavy in here."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Literal

from hidewright.design.specification import Specification
from hidewright.drawing.tiles import Paper
from hidewright.errors import Remark, RequestError
from hidewright.workshop.form import Unit
from hidewright.workshop.learned_beliefs import Beliefs
from hidewright.workshop.paper_choice import PaperChoice
from hidewright.workshop.views.svg_view import USUAL, FlatView, Frame, Handle

#: A picture that a page can show.
View = Literal[
    "carry",
    "pieces",
    "article",
    "section",
    "blank",
    "plates",
    "templates",
    "tools",
    "seams",
]
Facts = tuple[tuple[str, str], ...]
Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a page wants to show.

    Attributes:
        design: Id of the design, so that what was solved for it serves again.
        spec: The design as it is edited.
        views: Pictures, the one that is looked at first.
        figures: Chapters of figures: ``carry``, ``leather``, ``tooling``, ``seams``.
        unit: Of lengths in words.
        handles: Found earlier: they follow the design while only lengths change.
        believed: Of its leathers and boards; what the catalogue says without it.
        frame: What a drawing fills on the page.
    """

    design: str
    spec: Specification[Any]
    views: tuple[View, ...]
    figures: tuple[str, ...] = ()
    unit: Unit = "mm"
    handles: tuple[Handle, ...] = ()
    believed: Beliefs | None = None
    frame: Frame = USUAL


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckAsked:
    """A design to be looked at closely, and what is believed of its leathers and boards."""

    spec: Specification[Any]
    believed: Beliefs | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A picture, or why there is none.

    Attributes:
        view: Which one.
        flat: A drawing.
        solid: Encoded meshes.
        moves: Whether the meshes fold together.
        missing: Why it cannot be shown, in words.
    """

    view: View
    flat: FlatView | None = None
    solid: bytes | None = None
    moves: bool = False
    missing: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Figures and remarks that are ready while the maker edits.

    Attributes:
        chapters: (title, rows).
        remarks: Quick ones; pressing only where a picture of it was asked for.
        missing: What cannot be computed, in words.
    """

    chapters: tuple[tuple[str, Facts], ...]
    remarks: tuple[Remark, ...]
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """All findings on a design.

    Attributes:
        remarks: All there is to say, those that forbid first.
        missing: What could not be computed.
        chapters: (title, rows) of how it presses, with plausible ends.
        notes: How to soak, press and dry each blank, in words.
    """

    remarks: tuple[Remark, ...]
    missing: tuple[RequestError, ...]
    chapters: tuple[tuple[str, Facts], ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackAsked:
    """A pack to be made."""

    spec: Specification[Any]
    paper: Paper
    choice: PaperChoice = field(default_factory=PaperChoice)
    believed: Beliefs | None = None
    told: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Packed:
    """A pack as one zip.

    Attributes:
        zip: Its bytes.
        files: How many files are in it.
        remarks: What there is to say about the design.
        forbids: Whether something must not be made so.
    """

    zip: bytes
    files: int
    remarks: tuple[Remark, ...]
    forbids: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BringAsked:
    """A file that the maker brings.

    Attributes:
        data: Its bytes.
        name: Its name; the ending says what it is.
        unit: Length of one unit of a drawing, over what it says.
    """

    data: bytes
    name: str
    unit: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought:
    """What was read from a file.

    Attributes:
        spec: A design to start from.
        said: What was read, mended and left out.
        picture: Small picture of it as SVG.
    """

    spec: Specification[Any]
    said: tuple[str, ...]
    picture: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MendAsked:
    """What would mend a design's pressing."""

    spec: Specification[Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mended:
    """Remarks with what would mend them."""

    remarks: tuple[Remark, ...]
