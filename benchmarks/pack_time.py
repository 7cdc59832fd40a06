"""How long a pack takes: cold, warm, and after one edit, with the time by node.

Run: python benchmarks/pack_time.py [design file ...]; without files, the demo's.
"""

import statistics
import sys
import time
from collections import defaultdict
from dataclasses import replace
from pathlib import Path
from typing import Any

from hidewright.design.specification import Specification
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.workshop.article import pack
from hidewright.workshop.graph import Cache

ROUNDS = 5


def main() -> None:
    files = {Path(f).name: Path(f).read_bytes() for f in sys.argv[1:]} or demo_designs()
    print(f"{'design':28}{'first':>9}{'warm':>9}{'again':>9}{'edit':>9}   slowest nodes, warm")
    for name, data in files.items():
        spec = read_design(data, name=name).specification
        first, _ = timed(spec, Cache())
        rounds = [timed(spec, Cache()) for _ in range(ROUNDS)]
        warm = statistics.median(seconds for seconds, _ in rounds)
        cache = Cache()
        timed(spec, cache)
        again, _ = timed(spec, cache)
        thread = replace(spec.brief.thread, diameter_mm=spec.brief.thread.diameter_mm * 1.1)
        edit, _ = timed(replace(spec, brief=replace(spec.brief, thread=thread)), cache)
        slow = sorted(rounds[-1][1].items(), key=lambda item: -item[1])[:5]
        told = ", ".join(f"{node} {seconds:.2f}" for node, seconds in slow)
        print(f"{name:28}{first:9.2f}{warm:9.2f}{again:9.2f}{edit:9.2f}   {told}")
    print("\nseconds; 'first' includes imports' first use, 'edit' is a change of thread")


def timed(spec: Specification[Any], cache: Cache) -> tuple[float, dict[str, float]]:
    """Return seconds for a pack, and by node."""
    marks: list[tuple[str, float]] = []
    start = time.perf_counter()
    pack(spec, cache, progress=lambda node: marks.append((node, time.perf_counter())))
    end = time.perf_counter()
    ends = [*(t for _, t in marks[1:]), end][: len(marks)]
    by_node: dict[str, float] = defaultdict(float)
    for (node, begun), until in zip(marks, ends, strict=True):
        by_node[node] += until - begun
    return end - start, by_node


if __name__ == "__main__":
    main()
