"""What each stage of the work shows: its fields, its pictures and its figures."""

from dataclasses import dataclass

from hidewright.app.asked import View
from hidewright.workshop.form import Stage


@dataclass(frozen=True, slots=True, kw_only=True)
class Shows:
    """One stage of the work.

    Attributes:
        stage: Its name, as in addresses and the form.
        title: On its link.
        lead: What is done here, one sentence.
        pictures: (picture, words on its button), the first shown first.
        figures: Chapters of figures under the picture.
    """

    stage: Stage
    title: str
    lead: str
    pictures: tuple[tuple[View, str], ...]
    figures: tuple[str, ...] = ()


STAGES: tuple[Shows, ...] = (
    Shows(
        stage="carry",
        title="Carry",
        lead="What goes in, how many, and how snugly.",
        pictures=(("carry", "In the hollow"), ("article", "Put together")),
        figures=("carry",),
    ),
    Shows(
        stage="shape",
        title="Shape",
        lead="The measures of the dry, finished article.",
        pictures=(
            ("pieces", "Pieces, flat"),
            ("article", "Put together"),
            ("section", "Section"),
        ),
        figures=("carry",),
    ),
    Shows(
        stage="leather",
        title="Leather",
        lead="What it is made of, and whether the leather bears the mould.",
        pictures=(("blank", "Pressed leather"), ("section", "Section"), ("pieces", "Pieces, flat")),
        figures=("leather",),
    ),
    Shows(
        stage="tooling",
        title="Tooling",
        lead="Plug, frame, templates and blocks, cut from sheet.",
        pictures=(
            ("plates", "Plates"),
            ("tools", "Stacked"),
            ("templates", "Templates and blocks"),
            ("section", "Section"),
        ),
        figures=("tooling",),
    ),
    Shows(
        stage="seams",
        title="Seams",
        lead="Holes that meet hole for hole, thread, needle and awl.",
        pictures=(("seams", "Seams"), ("pieces", "Pieces, flat"), ("article", "Put together")),
        figures=("seams",),
    ),
)
#: Pictures that are meshes, and what each shows, in words; the others are drawings.
SOLID: dict[View, str] = {
    "article": "the article put together, or unfolded by the slider below",
    "blank": "the leather as it lies pressed, before it is trimmed",
    "tools": "the plates of the mould over one another, taken apart by the slider below",
}
#: Pictures of the pressed sheet: quick ones are of wide triangles.
OF_THE_SHEET: frozenset[View] = frozenset({"article", "section", "blank", "tools"})


def stage_named(name: str) -> Shows | None:
    """Return a stage by its name, or None."""
    return next((shows for shows in STAGES if shows.stage == name), None)
