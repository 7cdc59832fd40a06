"""What a workshop has and how it works: hands, stations, moulds by the piece, goals, own steps."""

from dataclasses import dataclass, field, replace

from hidewright.errors import RequestError
from hidewright.planning.goals import GoalName
from hidewright.planning.hands import DaysOff, Hands
from hidewright.planning.own_step import OwnStep
from hidewright.planning.steps_choice import BenchChoice
from hidewright.planning.wall_clock import zone_called

GOALS: tuple[GoalName, ...] = ("on time", "finish", "flushes", "smooth days")
#: A load has so many articles, if one night's plugs do not give more: work on single ones costs
#: the setting up every time. Common practice, no source.
USUAL_LOAD = 4
#: No workshop of a few people has more of anything.
MOST = 500
#: An undyed article; the booth is not needed for it.
NATURAL = "natural"


@dataclass(frozen=True, slots=True, kw_only=True)
class Moulds:
    """How many there are for one blank; a vise and a frame are free long before plug and ring."""

    blank: str
    plugs: int = 1
    frames: int = 1
    rings: int = 1

    def __post_init__(self) -> None:
        for name in ("plugs", "frames", "rings"):
            _counted(getattr(self, name), f"{name} of {self.blank}", low=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Means:
    """What the workshop has for one design.

    Attributes:
        design: Id of the design.
        moulds: By blank; one of each where a blank is not named.
        load: Articles in a load; None for as many as the plugs suggest.
        proven: Its first-off has been made and measured: the batch may be cut.
        own_steps: Changes to its steps, in order.
    """

    design: str
    moulds: tuple[Moulds, ...] = ()
    load: int | None = None
    proven: bool = False
    own_steps: tuple[OwnStep, ...] = ()

    def __post_init__(self) -> None:
        if self.load is not None:
            _counted(self.load, "articles in a load", low=1)

    def moulds_of(self, blank: str) -> Moulds:
        """Return how many moulds of a blank there are."""
        return next((one for one in self.moulds if one.blank == blank), Moulds(blank=blank))


@dataclass(frozen=True, slots=True, kw_only=True)
class Workshop:
    """The settings that a plan is made with.

    Attributes:
        hands: Who works.
        holidays: Days off of everybody.
        vises: Or other presses; one blank each.
        clamps: Sets of them; one seam each.
        drying_places: Where blanks dry; one each.
        wet_limit_minutes: Wet leather is closed in a mould no longer.
        dyed_limit_minutes: What is dyed waits no longer for its next step, so that it is not left
            half done over a weekend; 0 for no limit.
        flush_minutes: To change the colour in the booth.
        least_part_minutes: A step that may pause over breaks is parted by them only where its first
            and its last part have so many minutes; in one go otherwise.
        board_minutes: To lay another board on the laser and set it up for that; 0 where the minutes
            of cutting hold it.
        goals: What the plan is to be good at, in order.
        means: What there is for each design.
        bench: How the maker works; the colour is the order's.
        zone: Name of the time zone, such as ``Europe/Vienna``, for the nights in which clocks are
            changed; empty where they never are.
    """

    hands: tuple[Hands, ...] = (Hands(name="me"),)
    holidays: tuple[DaysOff, ...] = ()
    vises: int = 1
    clamps: int = 4
    drying_places: int = 8
    wet_limit_minutes: int = 720
    dyed_limit_minutes: int = 0
    least_part_minutes: int = 10
    flush_minutes: int = 20
    board_minutes: int = 0
    goals: tuple[GoalName, ...] = ("on time", "finish", "flushes")
    means: tuple[Means, ...] = ()
    bench: BenchChoice = field(default_factory=lambda: BenchChoice(dye="pieces", new=False))
    zone: str = ""

    def __post_init__(self) -> None:
        zone_called(self.zone)
        if not self.hands:
            raise RequestError("nobody works", mend="Give at least one pair of hands")
        names = [one.name for one in self.hands]
        if len(set(names)) < len(names):
            raise RequestError("two pairs of hands have one name", mend="Name each once")
        for name in ("vises", "clamps", "drying_places"):
            _counted(getattr(self, name), name.replace("_", " "), low=0)
        if not 10 <= self.wet_limit_minutes <= 5 * 1440:
            raise RequestError(
                f"wet leather closed for {self.wet_limit_minutes} minutes",
                because="it must be pressed at least for minutes, and mould grows within days",
                mend="Give such as 720, 12 hours",
                where="wet_limit",
            )
        if not 0 <= self.dyed_limit_minutes <= 30 * 1440:
            raise RequestError(
                f"what is dyed waits for {self.dyed_limit_minutes} minutes",
                mend="Give such as 36 h, which no weekend fits into, or 0 min for any time",
                where="dyed_limit",
            )
        if not 1 <= self.least_part_minutes <= 120:
            raise RequestError(
                f"parts of {self.least_part_minutes} minutes",
                because="a step that may pause must still fit before a break",
                mend="Give 1 to 120 min",
                where="least_part",
            )
        for what, minutes in (
            ("to change the colour", self.flush_minutes),
            ("to lay another board on the laser", self.board_minutes),
        ):
            if not 0 <= minutes <= 480:
                raise RequestError(f"{minutes} minutes {what}", mend="Give 0 to 480")
        if not self.goals or len(set(self.goals)) < len(self.goals):
            raise RequestError("the goals", mend="Name at least one, and each once")

    def of(self, design: str) -> Means:
        """Return what there is for a design."""
        return next((one for one in self.means if one.design == design), Means(design=design))

    def with_means(self, means: Means) -> "Workshop":
        """Return the workshop with other means for one design."""
        others = tuple(one for one in self.means if one.design != means.design)
        return replace(self, means=(*others, means))

    def bench_of(self, design: str) -> BenchChoice:
        """Return how a design is made where no order says more: undyed, its first-off, too."""
        own_steps = self.of(design).own_steps
        return replace(self.bench_for(NATURAL, first_off=True), own_steps=own_steps)

    def bench_for(self, colour: str, *, first_off: bool) -> BenchChoice:
        """Return how an article of some colour is made."""
        dye = "none" if colour == NATURAL else self.bench.dye
        return replace(self.bench, colour=colour, dye=dye, new=first_off)


def _counted(count: int, what: str, *, low: int) -> None:
    if not low <= count <= MOST:
        raise RequestError(f"{count} {what}", mend=f"Give {low} to {MOST}", where=what)
