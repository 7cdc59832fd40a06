"""Nesting against published figures and, on strips, against another engine in the same run.

    python benchmarks/nesting.py FOLDER [SECONDS [NAME ...]]

FOLDER holds problems as ``hidewright cut --problem`` takes them. Strips are also laid by spyrrow,
a general strip packer, with as many seconds. Densities are in per cent; compiling is not counted.
"""

import json
import sys
from pathlib import Path
from typing import Any

from hidewright.store.nest_problem import GOALS
from hidewright.workshop.cutting.problem import cut_problem


def main() -> None:
    folder = Path(sys.argv[1])
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 30.0
    only = sys.argv[3:]
    print(
        f"{'problem':12}{'goal':8}{'figure':>10}{'bound':>10}{'density':>9}{'spyrrow':>9}"
        f"{'paper':>7}{'record':>8}{'used':>7}{'rounds':>9}{'s':>7}"
    )
    for file in sorted(folder.glob("*.json")):
        told = json.loads(file.read_bytes())
        if only and file.stem not in only:
            continue
        for goal in GOALS[told["problem"]]:
            if goal == "length" and told["problem"] == "hide" and not told.get("batch_sets"):
                continue
            print(_row(file, told, goal, seconds), flush=True)


def _row(file: Path, told: dict[str, Any], goal: str, seconds: float) -> str:
    found = cut_problem(
        file.read_bytes(), name=file.name, goal=goal, rounds=None, seconds=seconds, seed=1
    )
    density = other = ""
    if told["problem"] == "strip":
        gross = told["strip_height"] / 100.0 / told["total_item_area"]
        density = f"{1.0 / (gross * found.figure):.2f}"
        other = f"{1.0 / (gross * _by_spyrrow(told, seconds)):.2f}"
    published = [told.get(f"{name}_density_pct") for name in ("paper", "record")]
    paper, record = ("" if value is None else f"{value:.2f}" for value in published)
    return (
        f"{file.stem:12}{goal:8}{found.figure:10.2f}{found.bound:10.2f}{density:>9}{other:>9}"
        f"{paper:>7}{record:>8}{100 * found.used:7.1f}{found.rounds:9}{found.seconds:7.1f}"
    )


def _by_spyrrow(told: dict[str, Any], seconds: float) -> float:
    """Return the strip's length as spyrrow packs it."""
    import spyrrow

    items = [
        spyrrow.Item(
            item["id"],
            [(float(x), float(y)) for x, y in [*item["outline"], item["outline"][0]]],
            item["demand"],
            [float(angle) for angle in item["rotations"]],
        )
        for item in told["items"]
    ]
    strip = spyrrow.StripPackingInstance(told["name"], told["strip_height"], items)
    config = spyrrow.StripPackingConfig(total_computation_time=round(seconds), seed=1)
    return float(strip.solve(config).width)


if __name__ == "__main__":
    main()
