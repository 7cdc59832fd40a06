"""One pressing in a general finite-element program and by our own solve: answers and times.

Run: python benchmarks/against_general_fe.py [--keep FOLDER]

The general program is CalculiX (``ccx``), where it is installed; it is needed for nothing else. The
case is the clamped round cup of ``cases/cup_clamped.yaml``, axisymmetric, the sheet two layers of
eight-node elements. Plug and opening are rigid and finely divided; contact by penalty, no friction.

Its answer is its own limit: elements half as large, four layers, facets three times as large and
contact five times as stiff move the force by less than 0.1 %. It lies 2.7 % over the reference,
which was made by another program with exact tools, and, as the leather is thought thinner, 1.6 %
over the membrane equation; ours lies between the two.
"""

import argparse
import json
import math
import os
import re
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from hidewright.forming.answers import press_force_N, thickness_at
from hidewright.forming.case import Case, solved
from hidewright.forming.law import NeoHooke
from hidewright.forming.meshing import meshed
from hidewright.forming.pressing import Pressing
from hidewright.forming.profile import Tools
from hidewright.geometry.segment import Floats
from hidewright.store.case_file import read_case

CASES = Path(__file__).parent / "cases"
CASE = "cup_clamped"
#: Sides of elements of the sheet and of the tools, mm; layers through the sheet.
SHEET_MM, TOOL_MM, LAYERS = 0.5, 0.1, 2
#: Bulk modulus of the sheet, MPa, as in the reference; stiffness of contact, N/mm3.
BULK_MPA, CONTACT_N_MM3 = 1000.0, 200.0
#: How far tools run beyond their arcs, and how thick their elements are, mm.
BEYOND_MM, SHELL_MM = 12.0, 0.5
#: The general program answers an axisymmetric case for a wedge of so many degrees.
WEDGE_DEG = 2.0
#: A line of its answer that is all numbers.
NUMBERS = re.compile(r"[-+.\dE\s]*\d[-+.\dE\s]*")
TRIANGLES, ROUNDS = 5000, 5
#: What the answers are held to: share of the force, and of the thickness at the middle.
FORCE_SHARE, THICKNESS_SHARE = 0.04, 0.015


@dataclass(frozen=True, kw_only=True)
class Answer:
    """Force on the plug, N; formed thickness at the middle over laid in; seconds it took."""

    force_N: float
    ratio: float
    seconds: float


class Deck:
    """An input deck in the making: points and eight-node elements in the plane (r, z)."""

    def __init__(self) -> None:
        self.points: list[tuple[float, float]] = []
        self.elements: dict[str, list[list[int]]] = {}
        self.count = 0

    def strip(self, name: str, lines: list[Floats]) -> list[list[int]]:
        """Add elements between lines of (2 n + 1, 2) points, three lines to a layer.

        Returns the point numbers, from 1, of each line; those inside an element are left out as 0.
        """
        numbers: list[list[int]] = []
        for j, along in enumerate(lines):
            row = []
            for i, (r, z) in enumerate(along.tolist()):
                inside = i % 2 == 1 and j % 2 == 1
                row.append(0 if inside else self._point(r, z))
            numbers.append(row)
        own = self.elements.setdefault(name, [])
        for j in range(0, len(lines) - 2, 2):
            a, b, c = numbers[j : j + 3]
            for i in range(0, len(a) - 2, 2):
                corners = [a[i], a[i + 2], c[i + 2], c[i]]
                own.append([*corners, a[i + 1], b[i + 2], c[i + 1], b[i]])
        return numbers

    def _point(self, r: float, z: float) -> int:
        self.points.append((r, z))
        return len(self.points)


def tool_line(parts: list[Floats]) -> Floats:
    """Return (2 n + 1, 2) points along corners of straight lines, arcs already divided."""
    return np.concatenate([parts[0], *(part[1:] for part in parts[1:])])


def straight(a: tuple[float, float], b: tuple[float, float], size: float) -> Floats:
    n = max(1, math.ceil(math.dist(a, b) / size))
    f = np.linspace(0.0, 1.0, 2 * n + 1)[:, None]
    return np.array(a) * (1.0 - f) + np.array(b) * f


def round_(centre: tuple[float, float], radius: float, start: float, end: float) -> Floats:
    """Return points of an arc between two directions, degrees."""
    n = math.ceil(math.radians(abs(end - start)) * radius / TOOL_MM)
    angle = np.radians(np.linspace(start, end, 2 * n + 1))
    return np.array(centre) + radius * np.column_stack([np.cos(angle), np.sin(angle)])


def plug_line(radius: float, tools: Tools) -> Floats:
    """Return the plug's profile before it is pressed: its face on r, z = 0, from the axis out."""
    crown = tools.crown_radius_mm
    inner = radius - crown
    return tool_line(
        [
            straight((0.0, 0.0), (inner, 0.0), 2.0 * SHEET_MM),
            round_((inner, -crown), crown, 90.0, 0.0),
            straight((radius, -crown), (radius, -crown - BEYOND_MM), SHEET_MM),
        ]
    )


def opening_line(radius: float, tools: Tools) -> Floats:
    """Return the opening's profile, from its wall down and round the lip to the flange."""
    lip, wall, t = tools.lip_radius_mm, radius + tools.gap_mm, tools.thickness_mm
    return tool_line(
        [
            straight((wall, t + lip + BEYOND_MM), (wall, t + lip), SHEET_MM),
            round_((wall + lip, t + lip), lip, 180.0, 270.0),
        ]
    )


def beside(along: Floats, side: float) -> list[Floats]:
    """Return a line and two more at its left (1) or right (-1): the body of a tool behind it."""
    way = np.gradient(along, axis=0)
    left = np.column_stack([-way[:, 1], way[:, 0]]) / np.linalg.norm(way, axis=1)[:, None]
    lines = [along + side * left * (SHELL_MM * k / 2.0) for k in range(3)]
    return lines if side > 0 else lines[::-1]


def stuff(law: NeoHooke) -> list[str]:
    """Return what sheet and tools are made of, and how they touch, as a deck's lines."""
    return [
        "*MATERIAL, NAME=SOAKED",
        "*HYPERELASTIC, NEO HOOKE",
        f"{law.shear_MPa / 2.0:.9g}, {2.0 / BULK_MPA:.9g}",
        "*MATERIAL, NAME=BOARD",
        "*ELASTIC",
        "3000, 0.3",
        "*SOLID SECTION, ELSET=SHEET, MATERIAL=SOAKED",
        "*SOLID SECTION, ELSET=PLUG, MATERIAL=BOARD",
        "*SOLID SECTION, ELSET=OPENING, MATERIAL=BOARD",
        "*SURFACE INTERACTION, NAME=TOUCH",
        "*SURFACE BEHAVIOR, PRESSURE-OVERCLOSURE=LINEAR",
        f"{CONTACT_N_MM3:g}",
        "*CONTACT PAIR, INTERACTION=TOUCH, TYPE=SURFACE TO SURFACE",
        "UNDER, PLUGFACE",
        "*CONTACT PAIR, INTERACTION=TOUCH, TYPE=SURFACE TO SURFACE",
        "OVER, OPENINGFACE",
    ]


def deck_of(case: Case) -> tuple[str, int, int]:
    """Return the input deck, and the points under and on the sheet's middle."""
    pressing, law = case.pressing, case.conditions.law
    assert isinstance(pressing, Pressing)
    assert isinstance(law, NeoHooke)
    tools, outline = pressing.hollows[0].tools, pressing.hollows[0].outline
    radius = outline.segments[0].radius
    edge, t = radius + tools.outer_mm, tools.thickness_mm
    deck = Deck()
    across = straight((0.0, 0.0), (edge, 0.0), SHEET_MM)
    heights = np.linspace(0.0, t, 2 * LAYERS + 1)
    sheet = deck.strip("SHEET", [across + np.array([0.0, z]) for z in heights])
    columns = (len(across) - 1) // 2
    before = len(deck.points)
    deck.strip("PLUG", beside(plug_line(radius, tools), -1.0))
    between = len(deck.points)
    deck.strip("OPENING", beside(opening_line(radius, tools), 1.0))
    after = len(deck.points)
    m = columns * LAYERS
    plug_n, opening_n = len(deck.elements["PLUG"]), len(deck.elements["OPENING"])
    words = ["*NODE, NSET=ALL"]
    words += [f"{i}, {r:.9g}, {z:.9g}, 0" for i, (r, z) in enumerate(deck.points, 1)]
    number = 0
    for name, elements in deck.elements.items():
        words.append(f"*ELEMENT, TYPE=CAX8R, ELSET={name}")
        for corners in elements:
            number += 1
            words.append(", ".join(map(str, (number, *corners))))
    words += _points("PLUGN", range(before + 1, between + 1))
    words += _points("OPENINGN", range(between + 1, after + 1))
    words += _points("AXIS", [row[0] for row in sheet])
    words += _points("CLAMP", [row[-1] for row in sheet])
    words += _points("MIDDLE", [sheet[0][0], sheet[-1][0]])
    words += [
        "*SURFACE, NAME=UNDER, TYPE=ELEMENT",
        *(f"{i}, S1" for i in range(1, columns + 1)),
        "*SURFACE, NAME=OVER, TYPE=ELEMENT",
        *(f"{i}, S3" for i in range(m - columns + 1, m + 1)),
        "*SURFACE, NAME=PLUGFACE, TYPE=ELEMENT",
        *(f"{i}, S3" for i in range(m + 1, m + plug_n + 1)),
        "*SURFACE, NAME=OPENINGFACE, TYPE=ELEMENT",
        *(f"{i}, S1" for i in range(m + plug_n + 1, m + plug_n + opening_n + 1)),
        *stuff(law),
        "*BOUNDARY",
        "AXIS, 1",
        "CLAMP, 1, 2",
        "PLUGN, 1, 2",
        "OPENINGN, 1, 2",
        "*STEP, NLGEOM, INC=2000",
        "*STATIC",
        "0.01, 1, 1e-6, 0.02",
        "*BOUNDARY",
        f"PLUGN, 2, 2, {tools.depth_mm:g}",
        "*NODE PRINT, NSET=PLUGN, TOTALS=ONLY, FREQUENCY=10000",
        "RF",
        "*NODE PRINT, NSET=MIDDLE, FREQUENCY=10000",
        "U",
        "*END STEP",
        "",
    ]
    return "\n".join(words), sheet[0][0], sheet[-1][0]


def _points(name: str, numbers: Sequence[int]) -> list[str]:
    return [f"*NSET, NSET={name}", *(f"{number}," for number in numbers)]


def ran_by_ccx(text: str, folder: Path, name: str) -> tuple[float, list[list[float]]]:
    """Run the general program on a deck; return its seconds and the numbers that it prints."""
    (folder / f"{name}.inp").write_text(text, encoding="ascii")
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    ran = subprocess.run(
        ["ccx", name],
        cwd=folder,
        env={**os.environ, "OMP_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    (folder / f"{name}.log").write_text(ran.stdout + ran.stderr, encoding="utf-8")
    found = folder / f"{name}.dat"
    lines = found.read_text(encoding="ascii").splitlines() if found.exists() else []
    numbers = [[float(word) for word in line.split()] for line in lines if NUMBERS.fullmatch(line)]
    if ran.returncode != 0 or len(numbers) != 3:
        sys.exit(f"ccx found no answer; --keep FOLDER keeps its log:\n{ran.stdout[-600:]}")
    seconds = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return seconds, numbers


def by_general_program(case: Case, folder: Path) -> Answer:
    """Run the general program in a folder and read its answer."""
    text, under, over = deck_of(case)
    seconds, (force, *moved) = ran_by_ccx(text, folder, "cup")
    rise = {int(point): u for point, _, u, _ in moved}
    t = case.pressing.thickness_mm
    return Answer(
        force_N=force[1] * 360.0 / WEDGE_DEG,
        ratio=1.0 + (rise[over] - rise[under]) / t,
        seconds=seconds,
    )


def by_us(case: Case) -> Answer:
    """Solve the case at about 5,000 triangles, from mesh to answer; the median of five times."""
    size = case.size_mm
    for _ in range(4):
        assert isinstance(case.pressing, Pressing)
        size *= (len(meshed(case.pressing, size).triangles) / TRIANGLES) ** 0.5
    case = replace(case, size_mm=size)
    seconds: list[float] = []
    for _ in range(ROUNDS + 1):
        begin = time.process_time()
        sheet = solved(case)
        force = sum(press_force_N(sheet))
        ratio = float(thickness_at(sheet, np.zeros((1, 2)))[0]) / case.pressing.thickness_mm
        seconds.append(time.process_time() - begin)
    return Answer(force_N=force, ratio=ratio, seconds=statistics.median(seconds[1:]))


def tell(title: str, wanted: Answer | None, theirs: Answer, ours: Answer) -> None:
    """Print answers beside one another, and how much longer the general program took.

    Args:
        title: Of the case.
        wanted: A reference; without one, ours is compared with the general program.
        theirs: By the general program.
        ours: By us.
    """
    print(
        f"{title}\n{'':18}{'force N':>10}{'off %':>8}{'h/t at the middle':>19}{'off':>8}{'s':>10}"
    )
    true = wanted or theirs
    told = [("reference", wanted)] if wanted else []
    for name, one in (*told, ("general program", theirs), ("ours", ours)):
        print(
            f"{name:18}{one.force_N:10.1f}{100.0 * (one.force_N / true.force_N - 1.0):+8.2f}"
            f"{one.ratio:19.4f}{one.ratio - true.ratio:+8.4f}{one.seconds:10.3f}"
        )
    force, ratio = ours.force_N / theirs.force_N - 1.0, ours.ratio - theirs.ratio
    print(
        f"ours from the general program: force {100.0 * force:+.2f} % "
        f"(held to {100.0 * FORCE_SHARE:g} %), h/t {ratio:+.4f} (held to {THICKNESS_SHARE:g})\n"
        f"time: 1 to {theirs.seconds / ours.seconds:.0f}; seconds are those of one processor"
    )


def main() -> None:
    told = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    told.add_argument("--keep", type=Path, help="folder that keeps the deck and its log")
    keep: Path | None = told.parse_args().keep
    if shutil.which("ccx") is None:
        print("Skipped: the general program, ccx, is not installed.")
        return
    case = read_case((CASES / f"{CASE}.yaml").read_bytes(), name=f"{CASE}.yaml")
    solid = json.loads((CASES / f"{CASE}_reference.json").read_text(encoding="utf-8"))["solid"]
    wanted = Answer(force_N=solid["force_N"], ratio=solid["table"][0]["h_over_t"], seconds=0.0)
    ours = by_us(case)
    with tempfile.TemporaryDirectory() as folder:
        if keep is not None:
            keep.mkdir(parents=True, exist_ok=True)
        theirs = by_general_program(case, keep or Path(folder))
    tell(case.title, wanted, theirs, ours)


if __name__ == "__main__":
    main()
