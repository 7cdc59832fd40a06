"""What comes out of a drawing that was read: outlines, open paths, and all that was not taken."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point

#: Larger files are refused before anything in them is looked at. An outline of a hundred thousand
#: points is under 5 MB.
MAX_BYTES = 20_000_000
#: Ends this near are taken to meet, mm, unless the maker says otherwise.
CLOSE_GAPS_MM = 0.05
#: Curves that are neither lines nor circles become tangent arcs no further off than this, mm.
CURVE_TOLERANCE_MM = 0.01
#: Anything further from the origin is taken for a wrong unit, mm (100 m).
MAX_COORDINATE_MM = 100_000.0
#: Units a maker may name, with their length in mm. The inch is 25.4 mm by its definition of 1959.
UNITS_MM = (("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("in", 25.4))


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedOutline:
    """A closed outline with the name it has in the drawing.

    Attributes:
        name: Element id, label or handle; unique in one reading.
        layer: Layer or group it lies on; may be empty.
        outline: Lines and true arcs, mm, y up.
    """

    name: str
    layer: str
    outline: Outline


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedPath:
    """A chain that stayed open: a fold, a stitch line, or an outline with a gap too wide to close.

    Attributes:
        name: Element id, label or handle of its first piece; unique in one reading.
        layer: Layer or group it lies on; may be empty.
        path: Lines and true arcs, mm, y up.
    """

    name: str
    layer: str
    path: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class GapClosed:
    """Two ends that did not meet and were drawn together.

    Attributes:
        where: The elements whose ends they are.
        at: Middle of the gap, mm.
        gap_mm: Its width.
    """

    where: str
    at: Point
    gap_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Skipped:
    """Something in the file that was not read.

    Attributes:
        what: Kind of element, such as ``text``.
        where: Names of the first few of them.
        count: How many.
        why: Why it was left out.
    """

    what: str
    where: str
    count: int
    why: str


def grouped(left_out: Mapping[tuple[str, str], Sequence[str]]) -> tuple[Skipped, ...]:
    """Return what was skipped, one entry for each (what, why) with the names of the first five."""
    return tuple(
        Skipped(
            what=what,
            where=", ".join(labels[:5]) + (f" and {len(labels) - 5} more" if labels[5:] else ""),
            count=len(labels),
            why=why,
        )
        for (what, why), labels in left_out.items()
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitUsed:
    """The size of one unit of the drawing.

    Attributes:
        mm: Length of one drawing unit along x, mm.
        source: Where that came from, such as ``$INSUNITS 4 (mm)`` or ``--unit mm``.
    """

    mm: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """All that was found in one drawing.

    Attributes:
        name: File name as given.
        outlines: Closed outlines in the order of the file.
        paths: Chains that stayed open.
        closed_gaps: Gaps that were closed, none wider than the tolerance asked for.
        skipped: What was not read, and why.
        unit: The unit used.
    """

    name: str
    outlines: tuple[NamedOutline, ...]
    paths: tuple[NamedPath, ...]
    closed_gaps: tuple[GapClosed, ...]
    skipped: tuple[Skipped, ...]
    unit: UnitUsed

    def outline(self, name: str) -> Outline:
        """Return one outline by its name.

        Raises:
            RequestError: When there is none of that name; lists those there are.
        """
        for item in self.outlines:
            if item.name == name:
                return item.outline
        names = ", ".join(item.name for item in self.outlines) or "no closed outlines"
        raise RequestError(f"no closed outline {name!r}", mend=f"It has: {names}", where=self.name)


def unit_mm(unit: str, name: str) -> float:
    """Return the length of a named unit, mm.

    Raises:
        RequestError: When the unit is not one of those accepted, which it lists.
    """
    for word, mm in UNITS_MM:
        if unit.strip().lower() == word:
            return mm
    raise RequestError(
        f"unit {unit!r}",
        because="it is not one of those known here",
        mend=f"Use one of: {accepted_units()}",
        where=name,
    )


def accepted_units() -> str:
    """Return the units a maker may name, as a list in words."""
    return ", ".join(word for word, _ in UNITS_MM)


def check_request(data: bytes, name: str, close_gaps_mm: float) -> None:
    """Refuse what need not be parsed: empty or too large files, a tolerance that makes no sense.

    Raises:
        RequestError: Naming the file.
    """
    if len(data) > MAX_BYTES:
        raise RequestError(
            f"a file of {len(data) / 1e6:.0f} MB",
            because=f"drawings over {MAX_BYTES / 1e6:.0f} MB are not read",
            mend="Save only the outlines, without pictures, into a file of their own",
            where=name,
        )
    if not data.strip():
        raise RequestError("the file is empty", mend="Save the drawing again", where=name)
    if not 0.0 <= close_gaps_mm <= 1.0:
        raise RequestError(
            f"closing gaps up to {close_gaps_mm:g} mm",
            because="the tolerance lies between 0 and 1 mm",
            mend="0.05 mm closes what drawing programs leave open",
            where=name,
        )
