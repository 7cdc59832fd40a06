"""The checkers share nothing with what they check: they import nouns and plain geometry alone."""

import ast
from pathlib import Path

import pytest

import hidewright

ROOT = Path(hidewright.__file__).parent
CHECKERS = (
    *sorted((ROOT / "tooling" / "acceptance").glob("*.py")),
    ROOT / "stitching" / "acceptance.py",
    ROOT / "geometry" / "probe.py",
)
NOUNS = (
    "hidewright.catalogue.",
    "hidewright.design.blank",
    "hidewright.design.carried",
    "hidewright.design.choices",
    "hidewright.design.drying",
    "hidewright.design.fault",
    "hidewright.design.hollow",
    "hidewright.design.island",
    "hidewright.design.part",
    "hidewright.design.piece",
    "hidewright.design.pose",
    "hidewright.design.pressed_zone",
    "hidewright.design.seam",
    "hidewright.design.size_change",
    "hidewright.errors",
    "hidewright.geometry.outline",
    "hidewright.geometry.probe",
    "hidewright.geometry.segment",
    "hidewright.tooling.acceptance.",
    "hidewright.units.",
)


@pytest.mark.parametrize("file", CHECKERS, ids=lambda f: f.name)
def test_a_checker_imports_nouns_and_plain_geometry_only(file: Path) -> None:
    tree = ast.parse(file.read_text(encoding="utf-8"))
    taken = [n.module or "" for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)]
    taken += [a.name for n in ast.walk(tree) if isinstance(n, ast.Import) for a in n.names]
    ours = [name for name in taken if name.startswith("hidewright")]
    assert [name for name in ours if not name.startswith(NOUNS)] == []
