"""The JSON Schema of design files, made from the declarations that the reader reads by."""

import re
from collections.abc import Mapping
from dataclasses import MISSING, fields
from typing import Any, Literal, get_args, get_origin, get_type_hints

from hidewright.catalogue.boards import Board
from hidewright.catalogue.fittings import Fitting
from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.magnets import Magnet
from hidewright.catalogue.things import Thing
from hidewright.catalogue.threads import Thread
from hidewright.design.carried import Carried
from hidewright.design.choices import SewingChoice, ToolingChoice
from hidewright.design.kinds.registry import KINDS
from hidewright.design.measure import file_name
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point
from hidewright.store.design_file import FORMAT
from hidewright.units.quantity import accepted
from hidewright.units.quantity import format as written

Schema = dict[str, Any]


def design_file_schema() -> Schema:
    """Return the schema (draft 2020-12) of a design file, its measures by kind.

    Measures are texts with a unit; their limits are told in words, since JSON Schema does not
    reckon with units.
    """
    rows = {"type": "array", "items": _change()}
    common: Schema = {
        "format": {"const": FORMAT},
        "name": {"type": "string"},
        "carried": {"type": "array", "items": _noun(Carried, rows={"thing": Thing})},
        "leathers": _by_role(Leather),
        "thread": _row(Thread),
        "fittings": _by_role(Fitting),
        "magnets": _by_role(Magnet),
        "tooling": _noun(ToolingChoice, rows={"mould_board": Board, "template_board": Board}),
        "sewing": _noun(SewingChoice),
        "changes": rows,
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "hidewright design file",
        "type": "object",
        "properties": common | {"kind": {"enum": [kind.name for kind in KINDS]}, "measures": {}},
        "required": ["format", "kind", "name", "leathers", "thread", "tooling"],
        "oneOf": [
            {
                "properties": {
                    "kind": {"const": kind.name},
                    "measures": _noun(kind.measures),
                }
            }
            for kind in KINDS
        ],
    }


def _noun(noun: type[Any], rows: Mapping[str, type[Any]] | None = None) -> Schema:
    hints = get_type_hints(noun)
    properties: Schema = {}
    for one in fields(noun):
        key = file_name(one.name)
        if rows and key in rows:
            properties[key] = _row(rows[key])
        else:
            properties[key] = _declared(hints[one.name], one.metadata, one.default)
    needed = [file_name(f.name) for f in fields(noun) if f.default is MISSING]
    return _object(properties, needed)


def _declared(hint: object, about: Mapping[str, Any], default: Any) -> Schema:
    says = str(about.get("says", ""))
    if hint is str:
        return {"type": "string", "description": says}
    if hint is Outline:
        return {"type": "array", "items": _corner(), "minItems": 2, "description": says}
    if hint in (Point, Point | None):
        return _numbers(2, 2) | {"description": says}
    if hint == tuple[Point, Point]:
        ends = {"type": "array", "items": _numbers(2, 2), "minItems": 2, "maxItems": 2}
        return ends | {"description": says}
    if "each" in about:
        return {
            "type": "array",
            "items": {"type": ["string", "number"], "examples": list(accepted(about["each"]))},
            "description": says,
        }
    if get_origin(hint) is tuple:
        one = get_args(hint)[0]
        listed = {"type": "string"} if one is str else _noun(one)
        return {"type": "array", "items": listed, "description": says}
    if hint is bool:
        return {"type": "boolean", "default": default, "description": says}
    if get_origin(hint) is Literal:
        return {"enum": list(get_args(hint)), "default": default, "description": says}
    quantity = about["quantity"]
    limits = " to ".join(
        written(quantity, v) for v in (about["low"], about["high"]) if v is not None
    )
    return {
        "type": ["string", "number"],
        "default": written(quantity, default),
        "description": f"{says} ({limits})" if limits else says,
        "examples": list(accepted(quantity)),
    }


def _corner() -> Schema:
    """Return a corner of an outline, the side that begins there with its bulge and its span."""
    properties = {"at": _numbers(2, 2), "bulge": {"type": "number"}, "span": {"type": "string"}}
    return {"anyOf": [_object(properties, ["at"]), _numbers(2, 3)]}


def _numbers(least: int, most: int) -> Schema:
    return {
        "type": "array",
        "items": {"type": ["number", "string"]},
        "minItems": least,
        "maxItems": most,
    }


def _row(noun: type[Any]) -> Schema:
    """Return a row by value; a measure may be given in its unit or, without it, as a text."""
    hints = get_type_hints(noun)
    properties: Schema = {}
    for one in fields(noun):
        hint = hints[one.name]
        if hint is float:
            properties[one.name] = {"type": "number"}
            properties[re.sub(r"_(mm|g)$", "", one.name)] = {"type": ["string", "number"]}
        elif hint is bool:
            properties[one.name] = {"type": "boolean"}
        elif get_origin(hint) is Literal:
            properties[one.name] = {"enum": list(get_args(hint))}
        elif hint is str:
            properties[one.name] = {"type": "string"}
        else:
            properties[one.name] = {"type": "array"}
    if "thickness_min_mm" in properties:
        properties["thickness"] = {"type": "string"}
    return _object(properties, ["name", "source"])


def _by_role(noun: type[Any]) -> Schema:
    return {"type": "object", "additionalProperties": _row(noun)}


def _change() -> Schema:
    keys = ("place", "field", "value")
    return _object({key: {"type": ["string", "number"]} for key in keys}, list(keys))


def _object(properties: Schema, needed: list[str]) -> Schema:
    out: Schema = {"type": "object", "properties": properties, "additionalProperties": False}
    return out | {"required": needed} if needed else out
