"""What can go wrong for a maker: a request that cannot be met, and a remark on a design.

    RequestError   it cannot be drawn; the maker can mend it        -> exit code 2
    Remark         it can be drawn; says what, where, by how much   -> exit code 1 if it forbids

Anything else is our own bug and keeps its traceback.
"""

from dataclasses import dataclass, field
from functools import partial
from typing import Any, Literal

Severity = Literal["note", "warning", "forbids"]


class RequestError(ValueError):
    """A request that cannot be met, in words the maker can act on.

    Attributes:
        what: What is wrong, naming the thing and its value.
        because: Why that cannot be.
        mend: What to do about it.
        where: File, line and field when known, such as ``pouch.yaml line 12, measures.depth``.
    """

    def __init__(self, what: str, *, because: str = "", mend: str = "", where: str = "") -> None:
        super().__init__(what, because, mend, where)
        self.what = what
        self.because = because
        self.mend = mend
        self.where = where

    @property
    def sentence(self) -> str:
        """What is wrong as a sentence, without its place: that is where it is shown."""
        said = str(RequestError(self.what, because=self.because, mend=self.mend))
        return said[:1].upper() + said[1:]

    def __str__(self) -> str:
        text = f"{self.where}: {self.what}" if self.where else self.what
        if self.because:
            text += f": {self.because}"
        if self.mend:
            text += f". {self.mend}"
        return text

    def __reduce__(self) -> tuple[Any, ...]:
        return partial(
            RequestError, self.what, because=self.because, mend=self.mend, where=self.where
        ), ()

    def at(self, where: str) -> "RequestError":
        """Return the same error with a place, keeping one that is already there."""
        return RequestError(
            self.what, because=self.because, mend=self.mend, where=self.where or where
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """One change of the design file that would mend a remark.

    Attributes:
        field: Dotted field of the design file, such as ``measures.depth``.
        value: The value to write there, with its unit, such as ``18 mm``.
        also: (field, value) of further changes that belong to it: only together do they mend.
    """

    field: str
    value: str
    also: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """One comment of the tool on a design.

    Attributes:
        code: Short stable name, such as ``crown-radius-too-large``.
        severity: ``forbids`` means it can be drawn but must not be made.
        place: Piece, zone, seam or part it is about; ``front/hollow`` is a zone of a piece.
        point: Where on that place, mm in its own frame, when there is one spot.
        amount: What was found, in the unit of the sentence.
        limit: What would be allowed, same unit.
        sentence: What is wrong and by how much, for the maker.
        remedies: Changes that would mend it, the smallest first; may be empty.
    """

    code: str
    severity: Severity
    place: str
    sentence: str
    point: tuple[float, float] | None = None
    amount: float | None = None
    limit: float | None = None
    remedies: tuple[Remedy, ...] = field(default=())
