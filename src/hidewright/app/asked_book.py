"""What the Book page asks the process that learns, and what this answers."""

from dataclasses import dataclass
from pathlib import Path

from hidewright.workshop.learned import LearnedShelf
from hidewright.workshop.learned_effect_rows import Effect

#: Makes what answers.
BOOK = "hidewright.app.answers_book:book"


@dataclass(frozen=True, slots=True, kw_only=True)
class BookAsked:
    """What a book's readings say.

    Attributes:
        path: The book's file.
        design: Id of a design whose figures are wanted by catalogue and own values; or empty.
    """

    path: Path
    design: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PiecesAsked:
    """Test pieces to draw, as one zip.

    Attributes:
        path: The book's file: leathers and boards that only designs name are in it.
        board: Name of the board for comb, gauge and plug.
        leather: Name of the leather for square, plug, stitch strip and colour strip.
    """

    path: Path
    board: str
    leather: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Learnt:
    """All that the workshop knows."""

    shelf: LearnedShelf


@dataclass(frozen=True, slots=True, kw_only=True)
class Effects:
    """What the readings did to a design."""

    effect: Effect


@dataclass(frozen=True, slots=True, kw_only=True)
class Pieces:
    """Test pieces as one zip."""

    zip: bytes
    names: tuple[str, ...]
