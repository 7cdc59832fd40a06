"""How long a pack takes: of one process by node, and when a second one works beside it.

Nodes that press, dry or picture the leather are told apart: a warm pack should take three seconds,
without them one.

Run: python benchmarks/pack_time.py [design file ...]; without files, the demo's.
"""

import statistics
import sys
import time
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from hidewright.design.specification import Specification
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.workshop.article import NODES, pack
from hidewright.workshop.beside import SecondProcess
from hidewright.workshop.graph import Cache, evaluate
from hidewright.workshop.inputs import inputs_of

ROUNDS = 5
#: Nodes that are not there in a pack without forming.
FORMING = ("pressed blanks", "pressing report", "forming pictures", "forming files")


def main() -> None:
    files = {Path(f).name: Path(f).read_bytes() for f in sys.argv[1:]} or demo_designs()
    heads = ("first", "warm", "no form", "again", "edit", "two warm", "no form")
    print(f"{'design':24}" + "".join(f"{h:>9}" for h in heads) + "   slowest nodes, warm")
    with SecondProcess() as second:
        while not second.is_ready(1.0):
            pass
        for name, data in files.items():
            print(f"{name:24}{told(read_design(data, name=name).specification, second)}")
    print(
        "\n'first' to 'edit' are seconds of processor of one process: 'first' includes imports' "
        "first\nuse, 'no form' is the warm pack without pressing, drying and their pictures, "
        "'edit' a change\nof thread; 'two' are seconds of the clock with a second process beside"
    )


def told(spec: Specification[Any], second: SecondProcess) -> str:
    """Return the figures of one design as a line."""
    first, _ = timed(spec, Cache())
    rounds = [timed(spec, Cache()) for _ in range(ROUNDS)]
    warm = statistics.median(seconds for seconds, _ in rounds)
    bare = statistics.median(seconds - _forming(nodes) for seconds, nodes in rounds)
    cache = Cache()
    timed(spec, cache)
    again, _ = timed(spec, cache)
    thread = replace(spec.brief.thread, diameter_mm=spec.brief.thread.diameter_mm * 1.1)
    edit, _ = timed(replace(spec, brief=replace(spec.brief, thread=thread)), cache)
    by_two = [_by_clock(spec, Cache(), second) for _ in range(ROUNDS + 1)][1:]
    bare_by_two = [_bare_by_clock(spec, second) for _ in range(ROUNDS)]
    slow = sorted(rounds[-1][1].items(), key=lambda item: -item[1])[:5]
    nodes = ", ".join(f"{node} {seconds:.2f}" for node, seconds in slow)
    times = (first, warm, bare, again, edit, *map(statistics.median, (by_two, bare_by_two)))
    return "".join(f"{t:9.2f}" for t in times) + f"   {nodes}"


def _by_clock(spec: Specification[Any], cache: Cache, second: SecondProcess) -> float:
    start = time.perf_counter()
    pack(spec, cache, beside=second)
    return time.perf_counter() - start


def _bare_by_clock(spec: Specification[Any], second: SecondProcess) -> float:
    """Return seconds with the forming known, and what that needs reckoned one after the other."""
    inputs, cache = inputs_of(spec, "A4"), Cache()
    start = time.perf_counter()
    evaluate(NODES, inputs, ("blanks", "moulded", "pieces", "all leathers"), Cache())
    before = time.perf_counter() - start
    evaluate(NODES, inputs, FORMING, cache)
    return before + _by_clock(spec, cache, second)


def _forming(by_node: Mapping[str, float]) -> float:
    return sum(by_node.get(node, 0.0) for node in FORMING)


def timed(spec: Specification[Any], cache: Cache) -> tuple[float, dict[str, float]]:
    """Return seconds of processor for a pack, and by node."""
    marks: list[tuple[str, float]] = []
    start = time.process_time()
    pack(spec, cache, progress=lambda node: marks.append((node, time.process_time())))
    end = time.process_time()
    ends = [*(t for _, t in marks[1:]), end][: len(marks)]
    by_node: dict[str, float] = defaultdict(float)
    for (node, begun), until in zip(marks, ends, strict=True):
        by_node[node] += until - begun
    return end - start, by_node


if __name__ == "__main__":
    main()
