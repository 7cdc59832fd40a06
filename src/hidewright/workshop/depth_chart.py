"""A chart for one leather: how deep it may be pressed, by the corner radius of the plan."""

import math
import os
import signal
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from itertools import pairwise, product
from multiprocessing import get_context
from typing import Literal

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Hold
from hidewright.drawing.drawing import Drawing, Layer, LineStyle, Stroke, Text
from hidewright.drawing.heat_map import even_classes
from hidewright.forming.safe_depth import SafeDepth, SquareHollow, safe_depth
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import Point, line
from hidewright.geometry.shapes import circle
from hidewright.tooling.gap import USUAL_GAP_FACTOR, soaked_thickness_mm
from hidewright.workshop.digest import digest, digest_and_weight
from hidewright.workshop.forming_pull_in import straight
from hidewright.workshop.graph import Cache

#: Crown and corner radii charted when none are asked for, mm.
CROWNS = (2.0, 3.0, 4.0, 6.0)
CORNERS = (3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0, 25.0)
#: Room between the axes, mm, and height of the words.
WIDE_MM, HIGH_MM, WORDS_MM = 150.0, 100.0, 2.5
#: Curves of different crown radii, told apart without colour.
STYLES: tuple[LineStyle, ...] = ("solid", "dashed", "dotted", "dash-dot")
AXES = Layer(name="axes, mm", weight_mm=0.35)
GRID = Layer(name="grid", weight_mm=0.08)


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthChart:
    """Safe depths of hollows that differ in their radii.

    Attributes:
        hollows: In the order asked for.
        depths: One for each; None where the chart was stopped before it was found.
    """

    hollows: tuple[SquareHollow, ...]
    depths: tuple[SafeDepth | None, ...]

    @property
    def missing(self) -> int:
        """How many depths were not found because the chart was stopped."""
        return self.depths.count(None)


def square_hollows(
    leather: Leather,
    *,
    width_mm: float = 60.0,
    lip_radius_mm: float = 3.0,
    gap_factor: float = USUAL_GAP_FACTOR,
    hold: Hold = "plate",
    crowns_mm: Sequence[float] = CROWNS,
    corners_mm: Sequence[float] = (),
) -> tuple[SquareHollow, ...]:
    """Return the hollows of a chart, corner by corner for each crown radius.

    Args:
        leather: What is pressed.
        width_mm: Of the plug.
        lip_radius_mm: Of the opening's edge.
        gap_factor: Gap over thickest soaked leather.
        hold: How the flange is held.
        crowns_mm: Crown radii, one curve each.
        corners_mm: Corner radii of the plan; the usual ones that fit the width when none is given.

    Raises:
        RequestError: When a corner radius does not fit the width, a measure is none, or the leather
            is not for wet moulding.
    """
    gap_mm = gap_factor * soaked_thickness_mm(leather)
    corners = corners_mm or [corner for corner in CORNERS if corner <= width_mm / 2.0]
    return tuple(
        SquareHollow(
            leather=leather,
            width_mm=width_mm,
            corner_radius_mm=corner,
            crown_radius_mm=crown,
            lip_radius_mm=lip_radius_mm,
            gap_mm=gap_mm,
            hold=hold,
        )
        for crown, corner in product(crowns_mm, sorted(corners))
    )


def depth_chart(
    hollows: Sequence[SquareHollow],
    cache: Cache,
    *,
    workers: int | None = None,
    cancelled: Callable[[], bool] = lambda: False,
    progress: Callable[[str], None] = lambda _: None,
) -> DepthChart:
    """Return the safe depths of hollows, computing on all cores what the cache does not hold.

    Each depth is found by itself, so the answer does not depend on how many cores there are. The
    chart may be stopped: by ``cancelled``, when what is begun is still finished, or by an
    interrupt from the keyboard. What is done is kept in either case.

    Args:
        hollows: What is asked for.
        cache: Kept between calls by the caller.
        workers: Processes; as many as there are cores by default.
        cancelled: Asked before each hollow.
        progress: Called with words before each hollow.
    """
    keys = [digest(("safe depth", one)) for one in hollows]
    waiting = {k: one for k, one in zip(keys, hollows, strict=True) if cache.get(k) is None}
    found = {k: held[0] for k in keys if (held := cache.get(k)) is not None}
    pool = ProcessPoolExecutor(workers, get_context("spawn"), initializer=_leave_interrupts)
    running: dict[Future[SafeDepth], bytes] = {}
    try:
        while waiting or running:
            while waiting and len(running) < (workers or os.cpu_count() or 1):
                if cancelled():
                    waiting.clear()
                    break
                key = next(iter(waiting))
                hollow = waiting.pop(key)
                progress(_named(hollow))
                running[pool.submit(safe_depth, hollow)] = key
            for done in wait(running, return_when=FIRST_COMPLETED).done:
                key, depth = running.pop(done), done.result()
                cache.keep(key, depth, *digest_and_weight(depth))
                found[key] = depth
    except KeyboardInterrupt:
        pass
    finally:
        pool.shutdown(cancel_futures=True)
    return DepthChart(hollows=tuple(hollows), depths=tuple(found.get(key) for key in keys))


def _leave_interrupts() -> None:
    """Leave an interrupt from the keyboard to the process that shares out the work."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _named(hollow: SquareHollow) -> str:
    return (
        f"safe depth, crown radius {hollow.crown_radius_mm:g} mm, "
        f"corner radius {hollow.corner_radius_mm:g} mm"
    )


def chart_drawing(chart: DepthChart) -> Drawing:
    """Return the chart: depth over corner radius, a curve for each crown radius.

    Rings mark what was computed; the depth is safe on a curve and below it.
    """
    one = chart.hollows[0]
    curves = _curves(chart)
    across = even_classes(0.0, max(h.corner_radius_mm for h in chart.hollows))
    up = even_classes(0.0, max((d for curve in curves.values() for _, d in curve), default=1.0))
    scale = (WIDE_MM / across[-1], HIGH_MM / up[-1])
    strokes, texts = _axes(across, up)
    ends: list[tuple[float, float, str]] = []
    for i, (crown, curve) in enumerate(curves.items()):
        at = [(x * scale[0], y * scale[1]) for x, y in curve]
        layer = Layer(
            name=f"crown radius {crown:g} mm", style=STYLES[i % len(STYLES)], weight_mm=0.5
        )
        if len(at) > 1:
            path = Path(tuple(line(a, b) for a, b in pairwise(at)))
            strokes.append(Stroke(curve=path, layer=layer))
        strokes += [Stroke(curve=circle(0.8, place), layer=AXES) for place in at]
        if at:
            ends.append((at[-1][1], at[-1][0], f"crown {crown:g} mm"))
    texts += _beside(ends)
    said = (
        f"{one.leather.name}: depth at which no limit is used up",
        f"square of {one.width_mm:g} mm, lip radius {one.lip_radius_mm:g} mm, "
        f"gap {one.gap_mm:.2f} mm, flange {_HELD[one.hold]}",
        "rings are computed; stiffness, friction and limits are assumed until measured",
    )
    texts += [_words(told, (0.0, HIGH_MM + 15.0 - 5.0 * i)) for i, told in enumerate(said)]
    return Drawing(
        title=f"{one.leather.name}: safe depth", strokes=tuple(strokes), texts=tuple(texts)
    )


_HELD: dict[Hold, str] = {"plate": "under a plate", "clamped": "clamped", "free": "free"}


def _curves(chart: DepthChart) -> dict[float, list[Point]]:
    """(corner radius, depth) of the depths there are, by crown radius."""
    curves: dict[float, list[Point]] = {}
    for hollow, depth in zip(chart.hollows, chart.depths, strict=True):
        curve = curves.setdefault(hollow.crown_radius_mm, [])
        if depth is not None and depth.depth_mm is not None:
            curve.append((hollow.corner_radius_mm, depth.depth_mm))
    return curves


def _axes(across: Sequence[float], up: Sequence[float]) -> tuple[list[Stroke], list[Text]]:
    """Return axes with their numbers, and a grid."""
    strokes = [
        straight((0.0, 0.0), (WIDE_MM, 0.0), AXES),
        straight((0.0, 0.0), (0.0, HIGH_MM), AXES),
    ]
    texts = [
        _words("corner radius of the plan, mm", (WIDE_MM / 2.0, -11.0), "middle"),
        _words("depth, mm", (-10.0, HIGH_MM / 2.0), "middle", math.pi / 2.0),
    ]
    for value in across:
        x = value / across[-1] * WIDE_MM
        strokes.append(straight((x, 0.0), (x, HIGH_MM), GRID))
        texts.append(_words(f"{value:g}", (x, -5.0), "middle"))
    for value in up:
        y = value / up[-1] * HIGH_MM
        strokes.append(straight((0.0, y), (WIDE_MM, y), GRID))
        texts.append(_words(f"{value:g}", (-2.0, y - WORDS_MM / 2.0), "end"))
    return strokes, texts


def _words(
    words: str, at: Point, anchor: Literal["start", "middle", "end"] = "start", angle: float = 0.0
) -> Text:
    return Text(words=words, at=at, height_mm=WORDS_MM, anchor=anchor, angle=angle, layer=AXES)


def _beside(ends: Sequence[tuple[float, float, str]]) -> list[Text]:
    """Return the curves' names at their ends, (y, x, words), moved up off one another."""
    texts: list[Text] = []
    free = 0.0
    for y, x, words in sorted(ends):
        low = max(y - WORDS_MM / 2.0, free)
        free = low + 1.6 * WORDS_MM
        texts.append(_words(words, (x + 2.0, low)))
    return texts
