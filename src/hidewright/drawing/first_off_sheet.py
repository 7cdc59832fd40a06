"""The first-off sheet: what to measure on the first article, with what, and where it goes."""

from collections.abc import Sequence
from dataclasses import dataclass

from hidewright.drawing.build_sheet import Stamp
from hidewright.drawing.table_sheet import Table, table_sheet_pdf
from hidewright.drawing.tiles import Paper
from hidewright.errors import RequestError

#: Columns: heading and share of the width.
COLUMNS = (
    ("step", 0.13),
    ("measure", 0.17),
    ("where", 0.17),
    ("with", 0.10),
    ("should be", 0.18),
    ("found", 0.09),
    ("goes into", 0.16),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstOffRow:
    """One reading.

    Attributes:
        step: Number and name of the step at which it is taken.
        what: What is measured.
        where: On which spot.
        tool: With what.
        expected: What it should be; may be empty.
        into: Where it goes: the book, the design or no further than the sheet.
    """

    step: str
    what: str
    where: str
    tool: str
    expected: str
    into: str

    @property
    def cells(self) -> tuple[str, ...]:
        """Its words by column; what is found is left free."""
        return (self.step, self.what, self.where, self.tool, self.expected, "", self.into)


def first_off_pdf(stamp: Stamp, lead: str, rows: Sequence[FirstOffRow], paper: Paper) -> bytes:
    """Return the first-off sheet as a table whose rows are not broken over pages.

    Raises:
        RequestError: When the paper is not known or there is nothing to measure.
    """
    if not rows:
        raise RequestError("a first-off sheet with nothing to measure")
    table = Table(columns=COLUMNS, rows=tuple(row.cells for row in rows))
    return table_sheet_pdf(stamp, "First-off sheet", lead, (table,), paper)
