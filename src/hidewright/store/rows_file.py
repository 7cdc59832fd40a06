"""The maker's own rows for the catalogue, from a YAML file of lists by kind."""

from collections.abc import Mapping

from hidewright.catalogue.rows import row_from_noun
from hidewright.catalogue.shelf import NOUNS, OWN_SOURCE
from hidewright.catalogue.strict_yaml import compose_strictly
from hidewright.errors import RequestError
from hidewright.store.fields import Place, entries, items, row_from_node


def read_rows(data: bytes, *, name: str) -> Mapping[str, list[Mapping[str, object]]]:
    """Return own rows by kind, such as ``{"boards": [{"name": "my MDF", ...}]}``.

    Args:
        data: The file's bytes, UTF-8.
        name: The file's name, for errors.

    Raises:
        RequestError: Names file, line, field and value of what is no such file or no such row.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise RequestError("not UTF-8 text", mend="Save it as UTF-8", where=name) from None
    root = compose_strictly(text, where=name)
    if root is None:
        return {}
    place = Place(file=name)
    rows: dict[str, list[Mapping[str, object]]] = {}
    for kind, node in entries(root, place, known=tuple(NOUNS)).items():
        inside = place.into(kind)
        rows[kind] = []
        for one in items(node, inside):
            row = row_from_node(NOUNS[kind], one, inside, usual={"source": OWN_SOURCE})
            rows[kind].append(row_from_noun(row))
    return rows
