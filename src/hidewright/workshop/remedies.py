"""Remedies in the words of the design file: crafts know usual fields, kinds know their own."""

from collections.abc import Iterable, Mapping
from dataclasses import Field, fields, replace
from typing import Any

from hidewright.design.choices import SewingChoice, ToolingChoice
from hidewright.design.measure import file_name
from hidewright.design.specification import Kind
from hidewright.errors import Remark, Remedy, RequestError
from hidewright.units.quantity import parse


def in_own_fields(remarks: Iterable[Remark], kind: Kind[Any]) -> tuple[Remark, ...]:
    """Return remarks whose remedies can be written into the kind's design file.

    A remedy for a field that the file does not have, or whose value is advice or outside what the
    field takes, is left out: its advice stands in the remark's sentence.
    """
    known = {
        f"{section}.{file_name(one.name)}": one
        for section, noun in (
            ("measures", kind.measures),
            ("tooling", ToolingChoice),
            ("sewing", SewingChoice),
        )
        for one in fields(noun)
    }
    out: list[Remark] = []
    for remark in remarks:
        own = (_own(remedy, remark.place, kind) for remedy in remark.remedies)
        kept = tuple(remedy for remedy in own if _can_be_written(remedy, known))
        out.append(remark if kept == remark.remedies else replace(remark, remedies=kept))
    return tuple(out)


def _own(remedy: Remedy, place: str, kind: Kind[Any]) -> Remedy:
    for home, usual, own in kind.own_fields:
        if usual == remedy.field and (not home or place == home or place.startswith(f"{home}/")):
            return replace(remedy, field=own)
    return remedy


def _can_be_written(remedy: Remedy, known: Mapping[str, Field[Any]]) -> bool:
    changes = ((remedy.field, remedy.value), *remedy.also)
    return all(field in known and _takes(known[field], value) for field, value in changes)


def _takes(field: Field[Any], text: str) -> bool:
    """Whether a field of the design file takes a value: in its unit and within its limits."""
    about = field.metadata
    if "quantity" not in about:
        return isinstance(field.default, bool) and text in ("true", "false")
    try:
        value = parse(about["quantity"], text)
    except RequestError:
        return False
    low, high = about["low"], about["high"]
    return (low is None or value >= low) and (high is None or value <= high)
