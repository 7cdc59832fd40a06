"""Pictures of a plan: what is taken when by station, what is done when by load, minutes a day."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.calendar import DAY, clock
from hidewright.planning.hands import day_of
from hidewright.workshop.batch.otherwise import day_loads

#: Pixels a day, a bar with its room, and above the first.
DAY_PX, LANE_PX, HEAD_PX = 84.0, 20.0, 40.0
#: A bar is seen even where it stands for a minute.
LEAST_PX = 1.5
_LETTER_PX = 6.2
_MINUTES_PX = 150.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Lanes:
    """How the lanes of a picture are laid.

    Attributes:
        look: Class of the picture, by which it is shown where it suits the window.
        left_px: Where the days begin; names stand left of it.
        above_px: What a name takes above its lane.
        every: Days after which a name above its lane stands again; 0 for once only.
    """

    look: str
    left_px: float
    above_px: float
    every: int

    @property
    def tall_px(self) -> float:
        """What a lane takes with its name."""
        return LANE_PX + self.above_px

    @property
    def name_px(self) -> float:
        """Room for a name."""
        return self.every * DAY_PX or self.left_px


#: Names beside their lanes; and above them, so that a phone has its width for days.
WIDE = Lanes(look="wide", left_px=270.0, above_px=0.0, every=0)
NARROW = Lanes(look="narrow", left_px=0.0, above_px=16.0, every=4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A time on a lane.

    Attributes:
        lane: Number of the lane, from 0.
        start: Minute.
        end: Minute.
        kind: ``work``, ``wait`` or ``hold``; the look of it.
        label: Written on it where there is room.
        words: Told when it is pointed at.
    """

    lane: int
    start: int
    end: int
    kind: str
    label: str
    words: str


def by_station(plan: BatchPlan) -> str:
    """Return who works when and which station is taken when; a lane for each of them.

    Two pictures as SVG, of which the look of the page shows the one for the window's width.
    """
    lanes: list[str] = []
    bars: list[Bar] = []
    for person in sorted({work.person for work, _, _ in plan.entries()}):
        lanes.append(person)
        bars += [
            Bar(
                lane=len(lanes) - 1,
                start=work.start,
                end=work.end,
                kind="work",
                label=f"{task.load}",
                words=f"{_when(plan, work.start, work.end)}: {task.words}, load {task.load}",
            )
            for work, task, _ in plan.entries()
            if work.person == person
        ]
    for station, _ in plan.stations:
        held = [one for one in plan.taken if one.station == station]
        free: list[int] = []
        name = _station(plan, station)
        for one in sorted(held, key=lambda taken: (taken.start, taken.load)):
            for _ in range(one.count):
                at = next((k for k, end in enumerate(free) if end <= one.start), len(free))
                free[at : at + 1] = [one.end]
                words = f"{_when(plan, one.start, one.end)}: {name}, load {one.load}"
                bars.append(
                    Bar(
                        lane=len(lanes) + at,
                        start=one.start,
                        end=one.end,
                        kind="hold",
                        label=f"{one.load}",
                        words=words,
                    )
                )
        lanes += [name if number == 1 else f"{number}" for number in range(1, len(free) + 1)]
    return _charts(plan, lanes, bars, "What is taken when, by station")


def by_load(plan: BatchPlan) -> str:
    """Return what is done to each load and when it waits, as two pictures like ``by_station``."""
    bars: list[Bar] = []
    lane = {load.number: k for k, load in enumerate(plan.loads)}
    for task in plan.tasks:
        if task.ready is not None and task.rest:
            bars.append(
                Bar(
                    lane=lane[task.load],
                    start=task.end,
                    end=task.ready,
                    kind="wait",
                    label="",
                    words=f"{_when(plan, task.end, task.ready)}: {task.rest} after {task.step}",
                )
            )
    for work, task, _ in plan.entries():
        kind = "work" if task.state == "planned" else task.state
        bars.append(
            Bar(
                lane=lane[task.load],
                start=work.start,
                end=work.end,
                kind=kind,
                label="",
                words=f"{_when(plan, work.start, work.end)}: {task.words}, {task.state}",
            )
        )
    names = [plan.called(load).removeprefix("load ") for load in plan.loads]
    return _charts(plan, names, bars, "What is done when, by load")


def minutes_a_day(plan: BatchPlan) -> str:
    """Return the hands-on minutes of each day, as SVG: a column for each pair of hands."""
    loads = list(day_loads(plan))
    most = max((spent for _, _, spent in loads), default=1)
    days = _days(plan)
    people = sorted({person for _, person, _ in loads})
    wide = (DAY_PX - 20.0) / max(1, len(people))
    height = _MINUTES_PX + HEAD_PX + 20.0
    width = 60.0 + DAY_PX * len(days)
    parts = [_open(width, height, "Hands-on minutes of each day")]
    parts += list(_heads(plan, days, 60.0, height))
    for day, person, spent in loads:
        x = 60.0 + (day - days[0]) * DAY_PX + 10.0 + wide * people.index(person)
        tall = spent / most * (_MINUTES_PX - 24.0)
        y = HEAD_PX + _MINUTES_PX - tall
        told = f"{person}: {spent // 60} h {spent % 60} min"
        parts.append(
            f'<g><title>{escape(told)}</title><rect class="work" x="{x:.1f}" y="{y:.1f}" '
            f'width="{wide - 4.0:.1f}" height="{tall:.1f}"/>'
            f'<text x="{x + wide / 2 - 2.0:.1f}" y="{y - 5.0:.1f}" text-anchor="middle">'
            f"{spent // 60}:{spent % 60:02}</text></g>"
        )
    return "".join((*parts, "</svg>"))


def _charts(plan: BatchPlan, names: Sequence[str], bars: Sequence[Bar], title: str) -> str:
    return "".join(_chart(plan, names, bars, title, lanes) for lanes in (WIDE, NARROW))


def _chart(
    plan: BatchPlan, names: Sequence[str], bars: Sequence[Bar], title: str, lanes: Lanes
) -> str:
    days = _days(plan)
    height = HEAD_PX + lanes.tall_px * len(names) + 8.0
    width = lanes.left_px + DAY_PX * len(days)
    parts = [_open(width, height, title, lanes.look), *_heads(plan, days, lanes.left_px, height)]
    room = int((lanes.name_px - 12.0) / _LETTER_PX)
    for number, name in enumerate(names):
        y = HEAD_PX + lanes.tall_px * number
        shown = escape(name if len(name) <= room else f"{name[: room - 1]}…")
        parts.append(
            f'<line class="rule" x1="0" x2="{width:.0f}" y1="{y + lanes.tall_px:.0f}" '
            f'y2="{y + lanes.tall_px:.0f}"/>'
        )
        for again in range(0, len(days) if lanes.every else 1, lanes.every or 1):
            parts.append(
                f'<text x="{4.0 + again * DAY_PX:.0f}" y="{y + 14.0:.0f}">{shown}'
                f"<title>{escape(name)}</title></text>"
            )
    first = days[0] * DAY
    for bar in bars:
        x = lanes.left_px + (bar.start - first) / DAY * DAY_PX
        long = max(LEAST_PX, (bar.end - bar.start) / DAY * DAY_PX)
        y = HEAD_PX + lanes.tall_px * bar.lane + lanes.above_px + 3.0
        parts.append(
            f'<g><title>{escape(bar.words)}</title><rect class="{bar.kind}" x="{x:.1f}" '
            f'y="{y:.1f}" width="{long:.1f}" height="{LANE_PX - 6.0:.1f}"/>'
        )
        if bar.label and long > _LETTER_PX * len(bar.label) + 4.0:
            parts.append(f'<text class="on-{bar.kind}" x="{x + 3.0:.1f}" y="{y + 11.0:.1f}">')
            parts.append(f"{escape(bar.label)}</text>")
        parts.append("</g>")
    now = lanes.left_px + (plan.made - first) / DAY * DAY_PX
    parts.append(f'<line class="now" x1="{now:.1f}" x2="{now:.1f}" y1="24" y2="{height:.0f}"/>')
    return "".join((*parts, "</svg>"))


def _open(width: float, height: float, title: str, look: str = "") -> str:
    return (
        f'<svg class="batch-chart {look}" xmlns="http://www.w3.org/2000/svg" width="{width:.0f}" '
        f'height="{height:.0f}" viewBox="0 0 {width:.0f} {height:.0f}" role="img" '
        f'aria-label="{escape(title)}; the list of days says the same in words">'
    )


def _heads(plan: BatchPlan, days: range, left: float, height: float) -> Iterator[str]:
    for day in days:
        date = day_of(day * DAY, plan.monday)
        x = left + (day - days[0]) * DAY_PX
        look = ' class="day-off"' if day in plan.off else ' class="day"'
        yield (
            f'<rect{look} x="{x:.1f}" y="24" width="{DAY_PX:.1f}" height="{height:.0f}"/>'
            f'<text x="{x + 4.0:.1f}" y="16">{date:%a} {date.day} {date:%b}</text>'
        )


def _days(plan: BatchPlan) -> range:
    first = min((task.start for task in plan.tasks), default=plan.made) // DAY
    last = max((task.end for task in plan.tasks), default=plan.made) // DAY
    return range(min(first, plan.made // DAY), last + 1)


def _when(plan: BatchPlan, start: int, end: int) -> str:
    first, last = day_of(start, plan.monday), day_of(end, plan.monday)
    until = clock(end) if first == last else f"{last:%a} {clock(end)}"
    return f"{first:%a} {first.day} {first:%b} {clock(start)} to {until}"


def _station(plan: BatchPlan, name: str) -> str:
    """Return a station's name with its article instead of the design's id."""
    station, _, design = name.partition(", ")
    return f"{station}, {plan.article_of(design)}" if design else station
