"""What the maker has measured and typed in, as a row of the book."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from types import MappingProxyType
from typing import Literal, get_args

from hidewright.errors import RequestError

ReadingKind = Literal[
    "kerf",
    "board thickness",
    "leather thickness",
    "soaked length along",
    "soaked length across",
    "soaked thickness",
    "dried length along",
    "dried length across",
    "dry size along",
    "dry size across",
    "pull-in along",
    "pull-in across",
    "first crack at depth",
    "no crack to depth",
    "torn at depth",
    "sound at depth",
    "cracked by depth",
    "cracked at depth",
    "drying hours",
    "minutes",
]
SubjectKind = Literal["board", "leather", "work"]
#: Of what is foretold a reading may tell the value, or only that it lies above or below one.
Bound = Literal["", "above", "below"]
#: What cracks: the grain's face alone, the sheet through and through, or whichever does first.
Cracks = Literal["", "grain", "sheet", "either"]
#: ``counts`` unless it is odd; ``kept`` however odd; ``withdrawn`` never.
Standing = Literal["counts", "kept", "withdrawn"]


@dataclass(frozen=True, slots=True, kw_only=True)
class KindOfReading:
    """What a kind of reading is of.

    Attributes:
        subject: What it is about.
        unit: ``mm``, ``h`` or ``min``.
        of: What it is compared with, in the same unit; empty when with nothing.
        of_may_lack: Whether there may be nothing to compare it with.
        how: How to take it, one sentence.
        error: Usual standard deviation of tool and hand, in the unit; a share where ``relative``.
        relative: Whether the error is a share of the value.
        pressed: Whether it is taken on pressed leather, of the test plug or of a design.
        cracks: Of which limit it tells at which depth of the test plug the leather reaches it: what
            is read is that depth, what is foretold the logarithm of the share of the limit that is
            used there, and so is the error; empty where it is no such reading.
        sharp: Whether it was pressed over the sharp top; over the round one without.
        bound: Where that share lies of all of it: a disc that cracked only says above. One that was
            also looked at a step before lies between the two.
        may_be_0: Whether nothing can be read, too, as of an edge that is not drawn in.
        offered: Whether it is still typed in; others are of books of old.
    """

    subject: SubjectKind
    unit: str
    of: str = ""
    of_may_lack: bool = False
    how: str
    error: float
    relative: bool = False
    pressed: bool = False
    cracks: Cracks = ""
    sharp: bool = False
    bound: Bound = ""
    may_be_0: bool = False
    offered: bool = True


def _length(how: str, of: str, error: float = 0.15, *, pressed: bool = False) -> KindOfReading:
    return KindOfReading(subject="leather", unit="mm", of=of, how=how, error=error, pressed=pressed)


def _pull_in(way: str) -> KindOfReading:
    how = f"scored line to the leather's edge, {way} the backbone; 0 where it did not move"
    return replace(_length(how, "", 0.3, pressed=True), may_be_0=True)


def _cracks(what: Cracks, how: str, bound: Bound, of: str = "") -> KindOfReading:
    """What leather bears varies from disc to disc by the error; assumed."""
    sharp = what != "either"
    return KindOfReading(
        subject="leather",
        unit="mm",
        of=of,
        of_may_lack=bool(of),
        how=how,
        error=0.12,
        pressed=True,
        cracks=what,
        sharp=sharp,
        bound=bound,
        offered=sharp,
    )


#: Errors are common practice with a calliper, a gauge, a ruler and a watch; no source.
KINDS: Mapping[ReadingKind, KindOfReading] = MappingProxyType(
    {
        "kerf": KindOfReading(
            subject="board",
            unit="mm",
            how="the mark of the tightest tongue of the comb that still goes into its slot",
            error=0.02,
        ),
        "board thickness": KindOfReading(
            subject="board", unit="mm", how="calliper, five places of the sheet", error=0.03
        ),
        "leather thickness": KindOfReading(
            subject="leather", unit="mm", how="gauge, dry, in the middle of the part", error=0.05
        ),
        "soaked length along": _length("the square along the backbone, soaked", "scribed dry"),
        "soaked length across": _length("the square across the backbone, soaked", "scribed dry"),
        "soaked thickness": _length("gauge, foot laid on lightly", "thickness dry", 0.03),
        "dried length along": _length("the square along, dried free", "soaked"),
        "dried length across": _length("the square across, dried free", "soaked"),
        "dry size along": _length(
            "inside the dry hollow along the backbone", "plug", 0.15, pressed=True
        ),
        "dry size across": _length(
            "inside the dry hollow across the backbone", "plug", 0.15, pressed=True
        ),
        "pull-in along": _pull_in("along"),
        "pull-in across": _pull_in("across"),
        "first crack at depth": _cracks(
            "grain",
            "a disc pressed deeper over the sharp top by a mm each time: the depth at which a lens "
            "shows the first crack in its grain, and the one before",
            "above",
            "last depth without one",
        ),
        "no crack to depth": _cracks(
            "grain",
            "a disc pressed deeper over the sharp top whose grain shows no crack at its last "
            "depth: that depth",
            "below",
        ),
        "torn at depth": _cracks(
            "sheet",
            "a disc pressed deeper over the sharp top that tears through in its wall: that depth, "
            "and the one before",
            "above",
            "last depth without a tear",
        ),
        "sound at depth": _cracks(
            "either",
            "depth of a test plug over which a disc was pressed without a crack in its grain",
            "below",
        ),
        "cracked by depth": _cracks(
            "either",
            "depth of a test plug over which a disc was pressed and its grain cracked",
            "above",
        ),
        "cracked at depth": _cracks(
            "either",
            "half way between the last sound depth and the first cracked one",
            "",
        ),
        "drying hours": KindOfReading(
            subject="leather",
            unit="h",
            of="foretold",
            how="ring on to ring off: weight steady and no cool touch",
            error=0.1,
            relative=True,
        ),
        "minutes": KindOfReading(
            subject="work",
            unit="min",
            of="foretold",
            how="hands on, all of the batch together",
            error=0.1,
            relative=True,
        ),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchReading:
    """One reading.

    Attributes:
        what: What kind it is.
        subject: The leather, board or kind of work that it is about, by its name.
        lot: Which hide, sheet or laser; empty for the only one.
        value: What was read, in the kind's unit.
        of: What it is compared with, in the same unit: see the kind. What was foretold is that by
            the catalogue: see ``learned_foretold``.
        depth_mm: Of the test plug, for what is read on it.
        design: Id of the design whose piece was measured; empty for the test plug.
        place: Which hollow of the design, ``piece/zone``.
        count: Articles in the batch, for minutes.
        error: Standard deviation of tool and hand; the kind's usual one without it.
        day: When it was taken.
        standing: Whether it counts.
        note: The maker's own words.
    """

    what: ReadingKind
    subject: str
    lot: str = ""
    value: float
    of: float | None = None
    depth_mm: float | None = None
    design: str = ""
    place: str = ""
    count: int = 1
    error: float | None = None
    day: date
    standing: Standing = "counts"
    note: str = ""

    def __post_init__(self) -> None:
        if self.what not in KINDS:
            raise RequestError(
                f"no reading is called {self.what!r}",
                mend=f"Choose among: {', '.join(get_args(ReadingKind))}",
                where="what",
            )
        kind = KINDS[self.what]
        if not self.subject.strip():
            raise RequestError(f"a reading of no {kind.subject}", mend="Say which", where="subject")
        for name, number in (("value", self.value), ("of", self.of), ("error", self.error)):
            or_0 = kind.may_be_0 and name == "value"
            fits = number is None or 0.0 < number <= 1e5 or (or_0 and number == 0.0)
            if not fits:
                raise RequestError(
                    f"{self.what}: {name} is {number:g}",
                    because=f"it {'is 0 or' if or_0 else 'lies'} above 0 and up to 100000",
                    mend="Write the number as it was read",
                    where=name,
                )
        if kind.of and self.of is None and not kind.of_may_lack:
            raise RequestError(
                f"{self.what} without what it is compared with",
                mend=f"Give {kind.of}, {kind.unit}, too",
                where="of",
            )
        if kind.pressed and not (self.design or kind.cracks) and self.depth_mm is None:
            raise RequestError(
                f"{self.what} on nothing",
                mend="Give the depth of the test plug, or the design that was measured",
                where="depth_mm",
            )
        depth = self.value if kind.cracks else self.depth_mm
        if depth is not None and not 1.0 <= depth <= 30.0:
            raise RequestError(
                f"a test plug {depth:g} mm deep",
                mend="Give 1 to 30",
                where="value" if kind.cracks else "depth_mm",
            )
        if kind.cracks and self.of is not None and self.of >= self.value:
            raise RequestError(
                f"{self.what}: {self.value:g} mm, and none at {self.of:g} mm",
                because="a disc is pressed deeper each time",
                mend="Give the first depth with a crack, and the one before it",
                where="of",
            )
        if self.count < 1:
            raise RequestError(f"a batch of {self.count}", mend="Give 1 or more", where="count")

    @property
    def kind(self) -> KindOfReading:
        """What its kind is of."""
        return KINDS[self.what]

    @property
    def deviation(self) -> float:
        """Standard deviation of tool and hand, in the reading's unit."""
        if self.error is not None:
            return self.error
        return self.kind.error * (self.value if self.kind.relative else 1.0)
