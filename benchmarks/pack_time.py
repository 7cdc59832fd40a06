"""How long a pack takes, in seconds of processor: cold, warm, and after one edit, by node.

Nodes that press, dry or picture the leather are told apart: a warm pack without them should take a
second, one with them three.

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
from hidewright.workshop.article import pack
from hidewright.workshop.graph import Cache

ROUNDS = 5
#: Nodes that are not there in a pack without forming.
FORMING = ("pressed blanks", "pressing report", "forming pictures", "forming files")


def main() -> None:
    files = {Path(f).name: Path(f).read_bytes() for f in sys.argv[1:]} or demo_designs()
    heads = ("first", "warm", "no form", "again", "edit")
    print(f"{'design':24}" + "".join(f"{h:>9}" for h in heads) + "   slowest nodes, warm")
    for name, data in files.items():
        spec = read_design(data, name=name).specification
        first, _ = timed(spec, Cache())
        rounds = [timed(spec, Cache()) for _ in range(ROUNDS)]
        warm = statistics.median(seconds for seconds, _ in rounds)
        bare = statistics.median(seconds - _forming(nodes) for seconds, nodes in rounds)
        cache = Cache()
        timed(spec, cache)
        again, _ = timed(spec, cache)
        thread = replace(spec.brief.thread, diameter_mm=spec.brief.thread.diameter_mm * 1.1)
        edit, _ = timed(replace(spec, brief=replace(spec.brief, thread=thread)), cache)
        slow = sorted(rounds[-1][1].items(), key=lambda item: -item[1])[:5]
        told = ", ".join(f"{node} {seconds:.2f}" for node, seconds in slow)
        times = "".join(f"{t:9.2f}" for t in (first, warm, bare, again, edit))
        print(f"{name:24}{times}   {told}")
    print(
        "\nseconds of processor; 'first' includes imports' first use, 'no form' is the warm pack "
        "without\npressing, drying and their pictures, 'edit' is a change of thread"
    )


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
