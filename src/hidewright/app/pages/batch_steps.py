"""The steps of one design on the page of the batch: one moved, left out, added, or taken back."""

import asyncio
from collections.abc import Callable
from functools import partial

from hidewright.app.components.entries import choice, tell
from hidewright.app.parts import VALUE, Words, box, press
from hidewright.design.step import Step
from hidewright.errors import RequestError
from hidewright.planning.known_steps import KnownSteps
from hidewright.planning.own_step import OwnStep, with_own_steps
from hidewright.units.minutes import parse_minutes
from hidewright.workshop.batch.settings_words import own_step_words

#: Names of own steps are no longer.
LONGEST_NAME = 60
Own = tuple[OwnStep, ...]


class StepsPart:
    """What is done to make one design, and the maker's changes to it.

    Args:
        number: Of the design on the page.
        name: Of the design.
        built: Its steps before any change.
        own: The changes there are.
        keep: Keeps other changes; called beside the event loop.
        kept: Called after that.
    """

    def __init__(
        self,
        number: int,
        name: str,
        built: KnownSteps,
        own: Own,
        keep: Callable[[Own], None],
        kept: Callable[[], object],
    ) -> None:
        self._id, self._name, self._built = f"batch-steps-{number}", name, built
        self._keep, self._kept = keep, kept
        self._own = own
        self._held = {"name": "", "minutes": ""}
        self._steps: tuple[Step, ...] = ()
        self._at, self._place = "", 0

    def build(self) -> None:
        """Build it in the current place."""
        with box("section", "batch-set batch-steps", aria_label=f"Steps of {self._name}"):
            Words("h3", f"Steps of {self._name}")
            with box("details"):
                self._count = Words("summary", "")
                self._list = box("ol", "batch-step-list")
            self._choices = box("div", "field")
            with box("p", "actions"):
                for words, do in (
                    ("Do it earlier", partial(self._by, -1)),
                    ("Do it later", partial(self._by, 1)),
                    ("Leave it out", self._leave_out),
                ):
                    press(words, do, "button", aria_describedby=f"{self._id}-wrong")
            self._trouble = Words("p", "", "trouble", id=f"{self._id}-wrong", role="alert")
            with box("div", "batch-step-new"):
                self._entry("name", "A step of your own", "such as stamp the mark")
                self._entry("minutes", "Its time for each", "such as 5 min")
                press("Put it behind that step", self._add, "button")
            self._changes = box("div")
        self._show()

    def _entry(self, field: str, label: str, says: str) -> None:
        id = f"{self._id}-{field}"
        with box("div", "field"):
            Words("label", label, for_=id)
            control = box("input", type="text", id=id, autocomplete="off", placeholder=says)
        control.on("change", lambda event: self._typed(field, str(event.args)), js_handler=VALUE)

    def _typed(self, field: str, text: str) -> None:
        self._held[field] = text

    # -- what is shown ----------------------------------------------------------------------------

    def _show(self) -> None:
        trouble = ""
        try:
            self._steps = with_own_steps(self._built.steps, self._own)
        except RequestError as refused:  # the design has become another one
            self._steps, trouble = self._built.steps, refused.sentence
        names = [step.name for step in self._steps]
        if self._at not in names:
            self._at = names[min(self._place, len(names) - 1)]
        self._place = names.index(self._at)
        self._count.text = f"All {len(names)} steps in order"
        self._list.clear()
        with self._list:
            for step in self._steps:
                Words("li", _in_words(step))
        self._choices.clear()
        with self._choices:
            choice(
                "Change a step",
                self._id,
                [(one, f"{k}. {one}") for k, one in enumerate(names, 1)],
                self._at,
                self._choose,
            )
        self._show_changes()
        self._trouble.text = trouble

    def _show_changes(self) -> None:
        self._changes.clear()
        if not self._own:
            return
        with self._changes:
            Words("p", "Your changes, one after another:", "lead")
            with box("ul", "said"):
                for number, one in enumerate(self._own):
                    with box("li"):
                        words = own_step_words((one,))
                        Words("span", words)
                        press(
                            "Take back",
                            partial(self._take_back, number),
                            "quiet",
                            aria_label=f"Take back: {words}",
                        )

    def _choose(self, name: str) -> None:
        self._at, self._trouble.text = name, ""
        self._place = [step.name for step in self._steps].index(name)

    # -- what the maker does ----------------------------------------------------------------------

    async def _by(self, places: int) -> None:
        """Move the chosen step by a place."""
        names = [step.name for step in self._steps]
        place = names.index(self._at)
        behind = place + (places if places > 0 else places - 1)
        if not 0 <= behind < len(names):
            end = "first" if places < 0 else "last"
            self._trouble.text = f"{self._at} cannot go further: nothing stands beyond the {end}."
            return
        before = self._own
        if before and (before[-1].what, before[-1].step) == ("move", self._at):
            before = before[:-1]
        moved = OwnStep(what="move", step=self._at, behind=names[behind])
        await self._take((*before, moved))

    async def _leave_out(self) -> None:
        at = self._at
        if any(one.what == "add" and one.step == at for one in self._own):
            await self._take(tuple(one for one in self._own if at not in (one.step, one.behind)))
        else:
            await self._take((*self._own, OwnStep(what="leave out", step=at)))

    async def _add(self) -> None:
        name = " ".join(self._held["name"].split())
        if not 0 < len(name) <= LONGEST_NAME:
            self._trouble.text = f"Give the step a name of up to {LONGEST_NAME} letters."
            return
        try:
            minutes = parse_minutes(self._held["minutes"])
        except RequestError as refused:
            self._trouble.text = refused.sentence
            return
        own = OwnStep(what="add", step=name, behind=self._at, minutes=minutes)
        if await self._take((*self._own, own)):
            self._held = {"name": "", "minutes": ""}
            for field in self._held:
                tell(f"{self._id}-{field}", "")

    async def _take_back(self, number: int) -> None:
        await self._take(tuple(one for k, one in enumerate(self._own) if k != number))
        # the button that was pressed is gone by now
        self._count.client.run_javascript(f"document.getElementById('{self._id}').focus()")

    async def _take(self, own: Own) -> bool:
        """Keep other changes, unless something forbids them; return whether they are kept."""
        try:
            with_own_steps(self._built.steps, own)
            with_own_steps(self._built.first_off, own)
            await asyncio.to_thread(self._keep, own)
        except RequestError as refused:
            self._trouble.text = refused.sentence
            return False
        self._own = own
        self._show()
        self._kept()
        return True


def _in_words(step: Step) -> str:
    each = f"{step.thing_minutes:.3g} min each"
    return (
        f"{step.name}: " + (f"{step.load_minutes:.3g} min and " if step.load_minutes else "") + each
    )
