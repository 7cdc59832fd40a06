"""The maker's own rows for the catalogue, from a YAML file of lists by kind."""

from collections.abc import Mapping

from hidewright.catalogue.shelf import NOUNS
from hidewright.catalogue.strict_yaml import compose_strictly, plain
from hidewright.errors import RequestError
from hidewright.store.fields import Place, entries, items


def read_rows(data: bytes, *, name: str) -> Mapping[str, list[Mapping[str, object]]]:
    """Return own rows by kind, such as ``{"boards": [{"name": "my MDF", ...}]}``.

    Args:
        data: The file's bytes, UTF-8.
        name: The file's name, for errors.

    Raises:
        RequestError: For what is not such a file; the rows themselves are checked when they are
            laid over the catalogue.
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
            row = plain(one, name)
            if not isinstance(row, dict):
                raise RequestError(
                    "not a row", mend="Write it as '- name: ...'", where=inside.at(one)
                )
            rows[kind].append(row)
    return rows
