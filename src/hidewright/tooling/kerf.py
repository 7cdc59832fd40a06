"""The lines the laser follows, so that what it leaves is the part at its true size."""

from collections.abc import Callable
from dataclasses import dataclass

from hidewright.design.part import Face, Label, Part
from hidewright.errors import RequestError
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline, Path


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPart:
    """One part as the laser cuts it, once.

    Attributes:
        part: Name of the part.
        face_up: Which face of the part lies up under the laser, to be scored and marked. With the
            bottom up everything is mirrored left to right (x to -x); words stay readable.
        outer: Path of the beam round the part, half a kerf outside it.
        inner: Paths of the beam within its holes, half a kerf inside them, small ones first. They
            are cut before the outer path, while the sheet still holds the part.
        scores: Lines on the face that lies up, not moved: a scored line is where it is.
        labels: Words on that face.
    """

    part: str
    face_up: Face
    outer: Outline
    inner: tuple[Outline, ...]
    scores: tuple[Path, ...]
    labels: tuple[Label, ...]

    @property
    def cuts(self) -> tuple[Outline, ...]:
        """All closed cuts in the order they are made: inside first."""
        return (*self.inner, self.outer)


def cut_outlines(part: Part, beside: Callable[[Outline, float], Outline] = offset) -> CutPart:
    """Return the beam's paths for a part: outside cuts + kerf / 2, inside cuts - kerf / 2.

    The kerf is the full width of the cut. A part whose only eased edge is on its lower face lies
    with that face up, since the easing line is scored on the face it is worked from.

    Args:
        part: At its true size.
        beside: Gives an outline's offset; one that remembers, where parts are alike.

    Raises:
        RequestError: When a hole is not wider than the kerf: the beam would burn it too large.
    """
    half = part.board.kerf_mm / 2.0
    inner = []
    for hole in part.holes:
        width = min(hole.outline.width, hole.outline.height)
        if width <= part.board.kerf_mm:
            raise RequestError(
                f"{part.name}: a {hole.purpose} hole {width:.2f} mm wide",
                because=f"the beam itself cuts {part.board.kerf_mm:g} mm wide in {part.board.name}",
                mend="Make the hole larger, or prick it",
            )
        try:
            inner.append(beside(hole.outline, -half))
        except RequestError as error:
            raise RequestError(
                f"{part.name}: a {hole.purpose} hole with a neck under {part.board.kerf_mm:g} mm",
                because="the beam is wider than that",
                mend="Widen its narrowest place",
            ) from error
    inner.sort(key=lambda outline: outline.area)
    cut = CutPart(
        part=part.name,
        face_up="top",
        outer=beside(part.outline, half),
        inner=tuple(inner),
        scores=part.scores,
        labels=part.labels,
    )
    return _turned_over(cut) if marked_face(part) == "bottom" else cut


def marked_face(part: Part) -> Face:
    """Return the face of a part that is scored and marked: the lower one if only that is eased."""
    faces = {easing.face for easing in part.easings}
    return "bottom" if faces == {"bottom"} else "top"


def _turned_over(cut: CutPart) -> CutPart:
    return CutPart(
        part=cut.part,
        face_up="bottom",
        outer=cut.outer.mirrored(),
        inner=tuple(outline.mirrored() for outline in cut.inner),
        scores=tuple(path.mirrored() for path in cut.scores),
        labels=tuple(
            Label(
                words=label.words,
                at=(-label.at[0], label.at[1]),
                height_mm=label.height_mm,
                angle=-label.angle,
            )
            for label in cut.labels
        ),
    )
