"""Changes of the maker's own to the steps of an article."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from hidewright.design.step import Step
from hidewright.planning.steps_changes import moved_step, with_step, without_step


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnStep:
    """A change of the maker's to the steps of a design.

    Attributes:
        what: Leave a step out, move it, or add one.
        step: Its name.
        behind: Of a step that is moved or added: right behind which.
        minutes: Of a step that is added: hands-on, for each article.
        how: Of a step that is added: what to do.
        needs: Of a step that is added: other steps that must be done before it.
    """

    what: Literal["leave out", "move", "add"]
    step: str
    behind: str = ""
    minutes: float = 0.0
    how: str = ""
    needs: tuple[str, ...] = ()

    def applied(self, steps: tuple[Step, ...]) -> tuple[Step, ...]:
        """Return the steps so changed.

        Raises:
            RequestError: When something forbids it; it says what.
        """
        match self.what:
            case "leave out":
                return without_step(steps, self.step)
            case "move":
                return moved_step(steps, self.step, self.behind)
            case "add":
                own = Step(
                    name=self.step,
                    work="own step",
                    place_kind="article",
                    place="",
                    how=self.how or self.step,
                    after=self.needs,
                    thing_minutes=self.minutes,
                    source="the maker's own step",
                )
                return with_step(steps, own, self.behind)


def with_own_steps(steps: Sequence[Step], own: Iterable[OwnStep]) -> tuple[Step, ...]:
    """Return steps with the maker's changes, one after another.

    Raises:
        RequestError: When something forbids one of them; it says what.
    """
    found = tuple(steps)
    for one in own:
        found = one.applied(found)
    return found
