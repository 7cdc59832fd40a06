"""Fields of a form: native controls that send the newest edit only."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from nicegui import ui
from nicegui.events import GenericEventArguments

from hidewright.workshop.form import FormField, FormGroup


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """One change of a field by the maker.

    Attributes:
        field: Path of the field.
        text: The value as written.
        phase: ``move`` while a slider or handle is held, ``end`` when it is let go.
    """

    field: str
    text: str
    phase: Literal["move", "end"] = "end"


class Fields(ui.element, component="fields.js"):
    """A form of groups of fields.

    Args:
        on_edit: Called with each edit; afterwards the component is told that it was answered.
        words: Meanings of words of the trade, explained where a label holds one.
    """

    def __init__(self, on_edit: Callable[[Edit], None], words: Mapping[str, str]) -> None:
        super().__init__()
        self._props["words"] = dict(words)
        self._on_edit = on_edit
        self._props["groups"] = []
        self._props["errors"] = {}
        self._props["answered"] = 0
        self.on("edit", self._edited)

    def show(self, groups: tuple[FormGroup, ...], errors: Mapping[str, str]) -> None:
        """Show fields with their values, and what is wrong with what was entered."""
        self._props["groups"] = [
            {"title": group.title, "fields": [_told(one) for one in group.fields]}
            for group in groups
        ]
        self._props["errors"] = dict(errors)
        self.update()

    def _edited(self, event: GenericEventArguments) -> None:
        told: dict[str, Any] = event.args
        try:
            phase: Literal["move", "end"] = "move" if told["phase"] == "move" else "end"
            self._on_edit(Edit(field=str(told["field"]), text=str(told["text"]), phase=phase))
        finally:
            with self._props.suspend_updates():
                self._props["answered"] = int(told["sent"])
            self.run_method("answer", int(told["sent"]))


def _told(field: FormField) -> dict[str, Any]:
    """Return a field's values by name; ``asdict`` copies every option, slowly."""
    return {name: getattr(field, name) for name in FormField.__slots__}
