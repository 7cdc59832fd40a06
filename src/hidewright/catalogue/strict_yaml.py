"""Lists of rows out of YAML text, read as what they say: no aliases, no keys twice, no guessing."""

import math

import yaml

from hidewright.errors import RequestError

#: The parser in C, ten times as fast, where PyYAML brings it.
LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
#: No honest file nests deeper.
DEEPEST = 40
_OPENING = (
    yaml.BlockMappingStartToken,
    yaml.BlockSequenceStartToken,
    yaml.FlowMappingStartToken,
    yaml.FlowSequenceStartToken,
)
_CLOSING = (yaml.BlockEndToken, yaml.FlowMappingEndToken, yaml.FlowSequenceEndToken)
_WORDS = {"true": True, "false": False}


def rows_from_yaml(text: str, *, where: str) -> list[tuple[str, dict[str, object]]]:
    """Return (place, row) for every row of a YAML list of mappings.

    Plain ``true`` and ``false`` are yes and no (YAML 1.2: ``no`` and ``on`` are texts), plain
    numbers are numbers, everything else is text.

    Raises:
        RequestError: Names file and line of anything else.
    """
    root = compose_strictly(text, where=where)
    if root is None:
        return []
    if not isinstance(root, yaml.SequenceNode):
        raise RequestError("not a list of rows", mend="Begin each row with '- '", where=where)
    rows: list[tuple[str, dict[str, object]]] = []
    for node in root.value:
        place = f"{where} line {node.start_mark.line + 1}"
        row = plain(node, where)
        if not isinstance(row, dict):
            raise RequestError("not a row", mend="Write it as '- name: ...'", where=place)
        rows.append((place, row))
    return rows


def compose_strictly(text: str, *, where: str) -> yaml.Node | None:
    """Return the tree of a YAML text, its values still the words that were written.

    Raises:
        RequestError: For what is no YAML, is nested over 40 deep, or holds anchors, aliases or
            tags; it names the file and the line.
    """
    depth = 0
    try:
        for token in yaml.scan(text, Loader=LOADER):
            line = f"{where} line {token.start_mark.line + 1}"
            if isinstance(token, yaml.AliasToken | yaml.AnchorToken | yaml.TagToken):
                raise RequestError("anchors, aliases and tags are not read", where=line)
            if isinstance(token, _OPENING):
                depth += 1
                if depth > DEEPEST:
                    raise RequestError(f"nested more than {DEEPEST} deep", where=line)
            elif isinstance(token, _CLOSING):
                depth -= 1
        return yaml.compose(text, Loader=LOADER)
    except yaml.MarkedYAMLError as broken:
        raise _refused(broken, text.splitlines(), where) from None
    except UnicodeEncodeError:
        raise RequestError("not readable as YAML: it holds half a character", where=where) from None
    except yaml.YAMLError as broken:
        raise RequestError(f"not readable as YAML: {broken}", where=where) from None


def _refused(broken: yaml.MarkedYAMLError, lines: list[str], where: str) -> RequestError:
    """Return the refusal of a text, with the slip that it most likely is.

    The parser stops at the line of the slip or at the one after it.
    """
    stopped = broken.problem_mark.line if broken.problem_mark else 0
    for number in range(min(stopped, len(lines) - 1), max(stopped - 2, -1), -1):
        found = _slip(lines[number])
        if found:
            because, mend = found
            at = f"{where} line {number + 1}"
            return RequestError("not readable as YAML", because=because, mend=mend, where=at)
    return RequestError(
        "not readable as YAML",
        because=broken.problem or broken.context or "",
        mend="Begin the fields of a section under one another, and close quotes and brackets",
        where=f"{where} line {stopped + 1}",
    )


def _slip(line: str) -> tuple[str, str] | None:
    """Return (why, what to do) for a line with a beginner's slip; None for one that looks right."""
    said = line.split(" #")[0].strip()
    if not said or said.startswith("#"):
        return None
    if "\t" in line[: len(line) - len(line.lstrip())]:
        return "a tab stands before it", "Put spaces there"
    field, colon, value = said.partition(": ")
    if not colon and not said.endswith(":") and not said.startswith("- "):
        return f"{said[:40]!r} has no colon with a space behind it", "Write 'field: value'"
    value = value.strip()
    if (": " in value and value[:1] not in "'\"[{") or (value[:1] == "'" and value.count("'") % 2):
        quoted = value.strip("'")
        return (
            "a text with a colon or an apostrophe needs quotes round it",
            f'Write {field}: "{quoted}"',
        )
    return None


def plain(node: yaml.Node, where: str) -> object:
    """Return a tree as plain mappings, lists, numbers, truths and texts."""
    if isinstance(node, yaml.MappingNode):
        out: dict[str, object] = {}
        for key_node, value_node in node.value:
            key = str(key_node.value)
            if key in out:
                raise RequestError(
                    f"{key!r} is given twice", where=f"{where} line {key_node.start_mark.line + 1}"
                )
            out[key] = plain(value_node, where)
        return out
    if isinstance(node, yaml.SequenceNode):
        return [plain(one, where) for one in node.value]
    text = str(node.value)
    if isinstance(node, yaml.ScalarNode) and not node.style:
        if text in _WORDS:
            return _WORDS[text]
        try:
            number = float(text)
        except ValueError:
            return text
        # nan and inf stay words: no measure is either
        return number if math.isfinite(number) and "_" not in text else text
    return text
