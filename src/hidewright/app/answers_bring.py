"""What the process that reads files answers: a design, or why there is none."""

from collections.abc import Callable, Iterator

from hidewright.app.asked import BringAsked, Brought, Progress
from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.kinds.registry import kind_named
from hidewright.drawing.read_outlines import read_outlines
from hidewright.errors import RequestError
from hidewright.store.design_file import read_design
from hidewright.workshop.begin_free import begin_from_outlines
from hidewright.workshop.views.thumbnail import thumbnail


def brought(asked: BringAsked) -> Brought:
    """Return what a design file or a drawing holds.

    Raises:
        RequestError: When it can be read as neither.
    """
    if asked.name.lower().endswith((".yaml", ".yml")):
        spec = read_design(asked.data, name=asked.name).specification
        said: tuple[str, ...] = (f"A design file of a {spec.brief.kind}, read as it is.",)
    else:
        reading = read_outlines(asked.data, name=asked.name, unit=asked.unit)
        spec, said = begin_from_outlines(
            reading, built_in_catalogue(), name=asked.name.rpartition(".")[0][:80]
        )
    try:
        design = kind_named(spec.brief.kind).construct(spec.brief)
        picture = thumbnail(design)
    except RequestError as refused:
        picture, said = "", (*said, f"It cannot be drawn yet: {refused}")
    return Brought(spec=spec, said=said, picture=picture)


def bring() -> Callable[[BringAsked, Progress], Iterator[Brought]]:
    """Return what reads what the maker brings."""

    def answer(asked: BringAsked, progress: Progress) -> Iterator[Brought]:
        yield brought(asked)

    return answer
