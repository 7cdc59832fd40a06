"""A layout as a file: JSON, so that a pack can be made with it and the search need not be run."""

from pydantic import TypeAdapter, ValidationError

from hidewright.design.cut_layout import CutLayout
from hidewright.errors import RequestError
from hidewright.store.demo import demo_file

#: A layout of 40 hides and some thousand pieces has about 3 MB.
LARGEST_BYTES = 8_000_000
_LAYOUTS = TypeAdapter(tuple[CutLayout, ...])


def write_layouts(layouts: tuple[CutLayout, ...]) -> bytes:
    """Return layouts as JSON in UTF-8."""
    return _LAYOUTS.dump_json(layouts) + b"\n"


def read_layouts(data: bytes, *, name: str) -> tuple[CutLayout, ...]:
    """Return the layouts in a file that ``write_layouts`` made; nothing is said of their worth.

    Args:
        data: The file's bytes.
        name: The file's name, for errors.

    Raises:
        RequestError: When it is no such file.
    """
    try:
        if len(data) > LARGEST_BYTES:
            raise RequestError(f"{len(data) / 1e6:.1f} MB long")
        return _LAYOUTS.validate_json(data)
    except (ValidationError, RequestError) as wrong:
        told = wrong.errors()[0] if isinstance(wrong, ValidationError) else None
        at = ".".join(map(str, told["loc"])) if told else ""
        raise RequestError(
            "no layouts can be read from it",
            because=f"{at}: {told['msg']}".strip(": ") if told else str(wrong),
            mend="Write the file anew: hidewright cut DESIGN --hide HIDE --keep FILE",
            where=name,
        ) from None


def demo_layouts() -> tuple[CutLayout, ...]:
    """Return the layout of the demo's batch on its two hides, as it comes with the program.

    Raises:
        RequestError: When the package was installed without its examples.
    """
    file = demo_file("layout.json")
    return read_layouts(file.read_bytes(), name=file.name)
