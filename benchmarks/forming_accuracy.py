"""How far the forming solver is from the reference results in ``cases``: a table of errors.

Run: python benchmarks/forming_accuracy.py [mesh size in mm ...]; 3, 2 and 1.5 without any.

Level 0 is held against the membrane equation where there is one, every level against the solid
model. Marks are held in the plan; round cases at 24 directions for each tabulated radius.
"""

import json
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from hidewright.forming.answers import (
    formed_from_flat,
    press_force_N,
    pull_in,
    thickness_at,
)
from hidewright.forming.case import Case, solved
from hidewright.forming.solved import Level, Pressed
from hidewright.geometry.segment import Floats
from hidewright.store.case_file import read_case

CASES = Path(__file__).parent / "cases"
SIZES = (3.0, 2.0, 1.5)
LEVELS: tuple[Level, ...] = (0, 1, 2, 3)
#: Tabulated marks on the very edge are moved inward by this share, so that they lie on the sheet.
INWARD = 0.9999


@dataclass(frozen=True, kw_only=True)
class Reference:
    """Where marks come to lie by another calculation: flat and formed (k, 2) mm, h/t (k,)."""

    flat: Floats
    formed: Floats
    ratio: Floats
    force_N: float
    pull_in_mm: float | None


def reference(told: dict[str, Any], clamped: bool) -> Reference:
    """Return it from a table by radius or from a list of points."""
    if "points" in told:
        points = told["points"]
        return Reference(
            flat=np.array([p["X_flat"] for p in points]),
            formed=np.array([p["x"][:2] for p in points]),
            ratio=np.array([p["h_over_t"] for p in points]),
            force_N=told["force_N"],
            pull_in_mm=None,
        )
    rows = told["table"][:-1] if clamped else told["table"]  # in the clamp nothing is stretched
    angle = np.arange(24) * (np.pi / 12.0)
    unit = np.column_stack([np.cos(angle), np.sin(angle)])
    flat, formed = np.array([[r["R_flat"], r["r"]] for r in rows]).T
    return Reference(
        flat=(flat[:, None, None] * unit * INWARD).reshape(-1, 2),
        formed=(formed[:, None, None] * unit).reshape(-1, 2),
        ratio=np.repeat([r["h_over_t"] for r in rows], len(unit)),
        force_N=told["force_N"],
        pull_in_mm=None if clamped else told["table"][-1]["R_flat"] - told["rim_mm"],
    )


def errors(sheet: Pressed, wanted: Reference) -> str:
    """Return force %, thickness rms and max in t, marks rms and max in mm, pull-in %."""
    force = 100.0 * (sum(press_force_N(sheet)) / wanted.force_N - 1.0)
    thick = thickness_at(sheet, wanted.flat) / sheet.pressing.thickness_mm - wanted.ratio
    off = np.hypot(*(formed_from_flat(sheet, wanted.flat)[:, :2] - wanted.formed).T)
    drawn = (
        ""
        if wanted.pull_in_mm is None
        else f"{100.0 * (pull_in(sheet)[1].mean() / wanted.pull_in_mm - 1.0):+9.2f}"
    )
    return (
        f"{force:+9.2f}{_rms(thick):10.4f}{np.abs(thick).max():8.4f}"
        f"{_rms(off):9.3f}{off.max():8.3f}{drawn}"
    )


def _rms(values: Floats) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def at(case: Case, size: float, level: Level) -> Pressed:
    """Return the case solved with another mesh and level."""
    return solved(replace(case, size_mm=size, conditions=replace(case.conditions, level=level)))


def main() -> None:
    sizes = tuple(float(s) for s in sys.argv[1:]) or SIZES
    print(
        f"{'case':26}{'size':>5}{'tri':>7}{'level':>6}  {'against':10}{'force %':>9}"
        f"{'h/t rms':>10}{'max':>8}{'mark mm':>9}{'max':>8}{'pull-in %':>10}"
    )
    for file in sorted(CASES.glob("*.yaml")):
        case = read_case(file.read_bytes(), name=file.name)
        found = json.loads((CASES / f"{file.stem}_reference.json").read_text(encoding="utf-8"))
        clamped = case.blank is None
        for size in sizes:
            for level in LEVELS:
                sheet = at(case, size, level)
                for name in ("membrane", "solid"):
                    if name in found and (name == "solid" or level == 0):
                        print(
                            f"{file.stem:26}{size:5.2f}{len(sheet.layout.triangles):7}{level:6}"
                            f"  {name:10}{errors(sheet, reference(found[name], clamped))}"
                        )
    print("\nThe references' methods are told beside them in benchmarks/cases.")


if __name__ == "__main__":
    main()
