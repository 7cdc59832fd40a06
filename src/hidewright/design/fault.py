"""A fault found in a result before it leaves its room: our own mistake, not the maker's."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing about a result that is not as it must be.

    Attributes:
        code: Short stable name, such as ``gap-not-as-asked``.
        part: The part, seam or zone it is about.
        measured: What was measured, in the unit of the sentence.
        allowed: What it may be.
        sentence: What is wrong and by how much.
    """

    code: str
    part: str
    measured: float
    allowed: float
    sentence: str
