"""Remedies in the words of the design file: crafts know usual fields, kinds know their own."""

import re
from collections.abc import Iterable
from dataclasses import fields, replace
from typing import Any

from hidewright.design.choices import SewingChoice, ToolingChoice
from hidewright.design.measure import file_name
from hidewright.design.specification import Kind
from hidewright.errors import Remark, Remedy

#: A value as a design file takes it: a number with its unit, a yes or no.
_VALUE = re.compile(r"-?[0-9.]+( [0-9]+/[0-9]+)?( ?(mm|in|deg|%|N))?|true|false")


def in_own_fields(remarks: Iterable[Remark], kind: Kind[Any]) -> tuple[Remark, ...]:
    """Return remarks whose remedies name fields that the kind's design file has.

    A remedy for a field that the file does not have, or whose value is advice rather than a value,
    is left out: its advice stands in the remark's sentence.
    """
    known = {
        *(f"measures.{file_name(f.name)}" for f in fields(kind.measures)),
        *(f"tooling.{file_name(f.name)}" for f in fields(ToolingChoice)),
        *(f"sewing.{file_name(f.name)}" for f in fields(SewingChoice)),
    }
    out: list[Remark] = []
    for remark in remarks:
        own = (_own(remedy, remark.place, kind) for remedy in remark.remedies)
        kept = tuple(r for r in own if r.field in known and _VALUE.fullmatch(r.value))
        out.append(remark if kept == remark.remedies else replace(remark, remedies=kept))
    return tuple(out)


def _own(remedy: Remedy, place: str, kind: Kind[Any]) -> Remedy:
    for home, usual, own in kind.own_fields:
        if usual == remedy.field and (not home or place == home or place.startswith(f"{home}/")):
            return replace(remedy, field=own)
    return remedy
