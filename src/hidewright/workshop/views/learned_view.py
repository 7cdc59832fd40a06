"""Pictures of what the workshop knows: ranges before and now, foretold against measured."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from html import escape

from hidewright.design.interval import Interval

#: The small picture of a range, px.
RANGE_WIDE, RANGE_HIGH, EDGE = 260.0, 30.0, 8.0
#: The picture of errors over time, px.
WIDE, HIGH = 720.0, 300.0
LEFT, RIGHT, TOP, BOTTOM = 76.0, 16.0, 18.0, 46.0
#: The trend is the mean of so many readings.
MEAN_OF = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Error:
    """One reading against what was foretold from those before it.

    Attributes:
        day: When it was taken.
        words: What it was of.
        off_mm: Measured less foretold.
        low_mm: Lower end of the likely range, less the foretold.
        high_mm: Its upper end.
        counts: Whether it counts.
    """

    day: date
    words: str
    off_mm: float
    low_mm: float
    high_mm: float
    counts: bool = True


def range_picture(before: Interval, now: Interval) -> str:
    """Return the catalogue's range as a thin line, the workshop's own as a bar under it."""
    low, high = min(before.low, now.low), max(before.high, now.high)
    scale = (RANGE_WIDE - 2 * EDGE) / max(high - low, 1e-12)

    def x(value: float) -> str:
        return f"{EDGE + (value - low) * scale:.1f}"

    width = max((now.high - now.low) * scale, 2.0)
    return (
        f'<svg viewBox="0 0 {RANGE_WIDE:g} {RANGE_HIGH:g}" class="range" aria-hidden="true">'
        f'<line class="before" x1="{x(before.low)}" y1="8" x2="{x(before.high)}" y2="8"/>'
        f'<circle class="before-at" cx="{x(before.likely)}" cy="8" r="3"/>'
        f'<rect class="now" x="{x(now.low)}" y="16" width="{width:.1f}" height="8" rx="2"/>'
        f'<circle class="now-at" cx="{x(now.likely)}" cy="20" r="4"/></svg>'
    )


def error_picture(errors: Sequence[Error], unit: str = "mm", scale: float = 1.0) -> str:
    """Return errors over time with their likely ranges, and the trend of their size.

    Args:
        errors: In the order in which they were read.
        unit: That errors are told in.
        scale: From mm to that unit.
    """
    counted = [one for one in errors if one.counts]
    reach = max((max(abs(one.off_mm), one.high_mm, -one.low_mm) for one in counted), default=1.0)
    reach = scale * max(reach, 0.1) * 1.1
    middle = (TOP + HIGH - BOTTOM) / 2.0
    across = (WIDE - LEFT - RIGHT) / max(len(errors), 1)
    up = (HIGH - TOP - BOTTOM) / 2.0 / reach

    def x(k: int) -> float:
        return LEFT + across * (k + 0.5)

    def y(mm: float) -> float:
        return min(max(middle - up * scale * mm, TOP), HIGH - BOTTOM)

    marks = []
    for k, one in enumerate(errors):
        said = f"{one.day.isoformat()}, {one.words}: {scale * one.off_mm:+.2g} {unit}"
        sort = "reading" if one.counts else "reading odd"
        band = max(across * 0.6, 2.0)
        marks.append(
            f'<rect class="band" x="{x(k) - band / 2:.1f}" y="{y(one.high_mm):.1f}" '
            f'width="{band:.1f}" height="{y(one.low_mm) - y(one.high_mm):.1f}"/>'
            f'<circle class="{sort}" cx="{x(k):.1f}" cy="{y(one.off_mm):.1f}" r="4.5">'
            f"<title>{escape(said)}</title></circle>"
        )
    return (
        f'<svg viewBox="0 0 {WIDE:g} {HIGH:g}" class="errors" role="img" '
        f'aria-label="{escape(error_words(errors, unit, scale))}">'
        f'<line class="zero" x1="{LEFT:g}" y1="{middle:.1f}" x2="{WIDE - RIGHT:g}" '
        f'y2="{middle:.1f}"/>'
        + "".join(_scale_marks(reach, unit, up, middle))
        + "".join(marks)
        + _trend(errors, x, y)
        + _days(errors, x)
        + "</svg>"
    )


def error_words(errors: Sequence[Error], unit: str = "mm", scale: float = 1.0) -> str:
    """Return how the first and the last readings missed, in words."""
    counted = [scale * abs(one.off_mm) for one in errors if one.counts]
    if len(counted) < 2 * MEAN_OF:
        some = "1 reading" if len(counted) == 1 else f"{len(counted)} readings"
        return f"{some} of pressed leather: too few for a trend yet."
    first, last = _mean(counted[:MEAN_OF]), _mean(counted[-MEAN_OF:])
    return (
        f"Measured less foretold, {len(counted)} readings: the first {MEAN_OF} were off by "
        f"{first:.2f} {unit} on average, the last {MEAN_OF} by {last:.2f} {unit}."
    )


def trend_of(errors: Sequence[Error]) -> tuple[float, ...]:
    """Return the mean size of the last few errors that count, after each reading, mm."""
    sizes: list[float] = []
    trend: list[float] = []
    for one in errors:
        if one.counts:
            sizes.append(abs(one.off_mm))
        trend.append(_mean(sizes[-MEAN_OF:]) if sizes else 0.0)
    return tuple(trend)


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


def _trend(errors: Sequence[Error], x: Callable[[int], float], y: Callable[[float], float]) -> str:
    points = " ".join(f"{x(k):.1f},{y(size):.1f}" for k, size in enumerate(trend_of(errors)))
    return f'<polyline class="trend" points="{points}"/>'


def _scale_marks(reach: float, unit: str, up: float, middle: float) -> list[str]:
    step = next((s for s in (0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0) if reach / s <= 4), 10.0)
    out = []
    for k in range(-int(reach / step), int(reach / step) + 1):
        at = middle - up * step * k
        words = f"{step * k:+g} {unit}" if k else f"0 {unit}"
        out.append(
            f'<text class="axis" x="{LEFT - 6:g}" y="{at + 4:.1f}" text-anchor="end">{words}</text>'
        )
    return out


def _days(errors: Sequence[Error], x: Callable[[int], float]) -> str:
    if not errors:
        return ""
    ends = {0: "start", len(errors) - 1: "end"}
    return "".join(
        f'<text class="axis" x="{x(k):.1f}" y="{HIGH - 22:g}" text-anchor="{anchor}">'
        f"{errors[k].day.isoformat()}</text>"
        for k, anchor in ends.items()
    )
