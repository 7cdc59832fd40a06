"""A specification to the text of a design file, every measure written out and explained."""

import textwrap
from dataclasses import MISSING, fields
from typing import Any, Literal, get_args, get_origin, get_type_hints

from hidewright.catalogue.rows import Row, row_from_noun
from hidewright.design.kinds.free_measures import FreeMeasures
from hidewright.design.measure import file_name
from hidewright.design.specification import Specification
from hidewright.store.design_file import FORMAT
from hidewright.store.free_write import free_lines
from hidewright.units.quantity import format as written

Unit = Literal["mm", "in"]


def write_design(spec: Specification[Any], *, unit: Unit = "mm") -> str:
    """Return the text of a design file; ``read_design`` reads the same specification back.

    Args:
        spec: What to write.
        unit: Unit of lengths. Rows of the catalogue keep the unit in their fields' names.
    """
    sort = "free design" if isinstance(spec.brief.measures, FreeMeasures) else spec.brief.kind
    article = "an" if sort[0] in "aeiou" else "a"
    lines = [
        f"# {spec.brief.name}: {article} {sort}. Sizes are of the dry, finished article,",
        "# inside sizes where it says so. Write a unit with every measure: 12 mm, 1.2 cm, 1/2 in.",
        f"format: {FORMAT}",
        f"kind: {spec.brief.kind}",
        f"name: {_text(spec.brief.name)}",
        "",
        "carried:  # what goes in, and how snugly",
    ]
    for one in spec.brief.carried:
        block = ["thing:", *_indent(_row(one.thing)), *_fields(one, unit, skip=("thing",))]
        lines += ["  - " + block[0], *_indent(block[1:], 4)]
    if not spec.brief.carried:
        lines[-1] = "carried: []"
    lines += ["", "measures:", *_indent(_measures(spec.brief.measures, unit))]
    lines += [
        "",
        *_roles("leathers", spec.brief.leathers),
        "",
        "thread:",
        *_indent(_row(spec.brief.thread)),
    ]
    if spec.brief.fittings:
        lines += ["", *_roles("fittings", spec.brief.fittings)]
    if spec.brief.magnets:
        lines += ["", *_roles("magnets", spec.brief.magnets)]
    lines += ["", "tooling:"]
    for key, board in (
        ("mould_board", spec.tooling.mould_board),
        ("template_board", spec.tooling.template_board),
    ):
        lines += _indent([f"{key}:", *_indent(_row(board))])
    lines += _indent(_fields(spec.tooling, unit, skip=("mould_board", "template_board")))
    lines += ["", "sewing:", *_indent(_fields(spec.sewing, unit))]
    lines += ["", "# Changes laid over what the kind makes: place, field, value."]
    if spec.changes:
        lines.append("changes:")
        for change in spec.changes:
            lines += [
                f"  - place: {_text(change.place)}",
                f"    field: {_text(change.field)}",
                f"    value: {_text(change.value)}",
            ]
    else:
        lines.append("changes: []")
    return "\n".join(lines) + "\n"


def _measures(measures: object, unit: Unit) -> list[str]:
    if isinstance(measures, FreeMeasures):
        return free_lines(measures, unit, lambda noun, skip: _fields(noun, unit, skip=skip), _text)
    return _fields(measures, unit)


def _fields(noun: object, unit: Unit, *, skip: tuple[str, ...] = ()) -> list[str]:
    """Return ``field: value  # meaning`` for every declared field of a noun."""
    hints = get_type_hints(type(noun))
    out: list[str] = []
    for one in fields(noun):  # type: ignore[arg-type]
        if one.name in skip:
            continue
        value, about = getattr(noun, one.name), one.metadata
        note = str(about.get("says", ""))
        if isinstance(value, bool):
            said = "true" if value else "false"
        elif get_origin(hints[one.name]) is Literal:
            said, note = value, f"{note} ({' | '.join(get_args(hints[one.name]))})"
        else:
            q = about["each"] if "each" in about else about["quantity"]
            own: Unit | None = "in" if unit == "in" and _is_length(q) else None
            if "each" in about:
                said = f"[{', '.join(written(q, one, unit=own) for one in value)}]"
            else:
                said = written(q, value, unit=own)
        out.append(f"{file_name(one.name)}: {said}" + (f"  # {note}" if note else ""))
    return out


def _is_length(quantity: str) -> bool:
    return quantity in ("length", "position")


def _roles(section: str, rows: tuple[tuple[str, Row], ...]) -> list[str]:
    out = [f"{section}:"]
    for role, row in rows:
        out += _indent([f"{role}:", *_indent(_row(row))])
    return out


def _row(noun: Row) -> list[str]:
    """Return a row of the catalogue by value, one field a line, usual values written out too.

    A default of the program may change one day; a design file must then still mean the same.
    """
    given = row_from_noun(noun)
    usual = {f.name: f.default for f in fields(noun) if f.default not in (MISSING, 0.0, None, ())}
    row = {f.name: given.get(f.name, usual.get(f.name)) for f in fields(noun)}
    row = {key: value for key, value in row.items() if value is not None}
    return [f"{key}: {_plain(value)}" for key, value in row.items()]


def _plain(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(round(value, 9)).removesuffix(".0")
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_plain(v) for v in value) + "]"
    return _text(str(value))


def _text(text: str) -> str:
    """Return a text as a YAML scalar that reads back as itself."""
    plain = text.replace(" ", "").replace("-", "").replace("(", "").replace(")", "")
    safe = plain.isalnum() and text.strip() == text and not text.startswith("-")
    looks_like_more = text.lower() in ("true", "false", "null", "yes", "no", "on", "off", "~")
    if safe and not looks_like_more and not text[:1].isdigit():
        return text
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'


def _indent(lines: list[str], by: int = 2) -> list[str]:
    return [textwrap.indent(line, " " * by) for line in lines]
