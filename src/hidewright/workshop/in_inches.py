"""A specification in sizes that are written in inches as a maker would write them."""

import math
from collections.abc import Iterator
from dataclasses import fields
from typing import Any

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.measure import file_name
from hidewright.design.specification import Specification
from hidewright.errors import RequestError
from hidewright.units.length import MM_PER_INCH
from hidewright.workshop import design_chain, sewing_chain
from hidewright.workshop.edit import edited
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of

NODES = (*design_chain.NODES, *sewing_chain.NODES)
REMARKS = tuple(node.name for node in NODES if node.name.endswith("remarks"))
WITH_REMARKS = ("sewn", "sewing tools")
INCH_MM = float(MM_PER_INCH)
#: A fraction differs by this share and by half of 1/64 in at most, so that 4 mm is 5/32 in.
FRACTION_SHARE = 0.02
#: Parts of an inch that are tried, coarse first.
PARTS = (1, 2, 4, 8, 16, 32, 64)


def in_inches(spec: Specification[Any]) -> Specification[Any]:
    """Return a specification whose lengths are fractions of an inch, or thousandths.

    A length is changed only where drawing, fit and sewing are told of with the same remarks
    afterwards; where neither a fraction nor thousandths do, it stays as it is. What tools are
    bought by, such as dowels, is told in thousandths. Outlines of a free design stay as drawn.
    """
    cache = Cache()
    said = _said(spec, cache)
    for path, value in tuple(_lengths(spec)):
        fractions = () if path.startswith(("tooling.", "sewing.")) else _fractions(value)
        for mm in (*fractions, *_thousandths(value)):
            tried = _with(spec, path, mm)
            if tried is not None and _said(tried, cache) == said:
                spec = tried
                break
    return spec


def _said(spec: Specification[Any], cache: Cache) -> frozenset[tuple[str, ...]]:
    """Return what is told of a specification: (code, place, severity), or refusals."""
    wanted = (*REMARKS, *WITH_REMARKS)
    values = evaluate(NODES, inputs_of(spec, "A4"), wanted, cache, lambda _: None).values
    told: set[tuple[str, ...]] = set()
    for name in wanted:
        value = values[name]
        if isinstance(value, Missing):
            told.add((str(value.because),))
        else:
            remarks = value[1] if name in WITH_REMARKS else value
            told |= {(r.code, r.place, r.severity) for r in remarks}
    return frozenset(told)


def _fractions(mm: float) -> Iterator[float]:
    """Yield fractions of an inch for a length, mm: the nearest, then the next above."""
    near = min(FRACTION_SHARE * abs(mm), INCH_MM / 128)
    for parts in PARTS:
        one = round(mm / INCH_MM * parts) / parts * INCH_MM
        if abs(one - mm) <= near:
            yield one
    above = math.ceil(mm / INCH_MM * 64) / 64 * INCH_MM
    if above - mm <= 2 * near:
        yield above


def _thousandths(mm: float) -> Iterator[float]:
    """Yield the nearest thousandth of an inch, and the next above, mm."""
    yield round(mm / INCH_MM, 3) * INCH_MM
    yield math.ceil(mm / INCH_MM * 1000) / 1000 * INCH_MM


def _lengths(spec: Specification[Any]) -> Iterator[tuple[str, float]]:
    """Yield the lengths of a specification: their field, as in the design file, and value, mm."""
    nouns: list[tuple[str, Any]] = [
        ("measures", spec.brief.measures),
        *((f"carried.{i}", one) for i, one in enumerate(spec.brief.carried, 1)),
        ("tooling", spec.tooling),
        ("sewing", spec.sewing),
    ]
    for path, noun in nouns:
        for one in fields(noun):
            if one.metadata.get("quantity") in ("length", "position"):
                yield f"{path}.{file_name(one.name)}", getattr(noun, one.name)


def _with(spec: Specification[Any], path: str, mm: float) -> Specification[Any] | None:
    """Return a specification with one length changed; None where that cannot be."""
    try:
        return edited(spec, path, f"{mm!r} mm", built_in_catalogue())
    except RequestError:
        return None
