"""Remarks on a design, with buttons for what would mend them."""

from collections.abc import Callable
from typing import Any

from nicegui import ui
from nicegui.events import GenericEventArguments

from hidewright.errors import Remark, Remedy
from hidewright.workshop.in_units import remark_in

Say = Callable[[str], str]


class Remarks(ui.element, component="remarks.js"):
    """A list of remarks.

    Args:
        on_mend: Called with the remedy whose button was pressed.
    """

    def __init__(self, on_mend: Callable[[Remedy], None]) -> None:
        super().__init__()
        self._on_mend = on_mend
        self._remarks: tuple[Remark, ...] = ()
        self._props["remarks"] = []
        self._props["state"] = ""
        self.on("mend", self._mended)

    def show(self, remarks: tuple[Remark, ...], state: str, say: Say = str) -> None:
        """Show remarks with their measures as ``say`` writes them, and how far the looking is."""
        self._remarks = remarks
        self._props["remarks"] = [_told(remark, say) for remark in remarks]
        self._props["state"] = state
        self.update()

    def _mended(self, event: GenericEventArguments) -> None:
        told: dict[str, Any] = event.args
        at, which = int(told["remark"]), int(told["remedy"])
        if 0 <= at < len(self._remarks) and 0 <= which < len(self._remarks[at].remedies):
            self._on_mend(self._remarks[at].remedies[which])


def remedy_label(remedy: Remedy) -> str:
    """Return a remedy as words on a button, such as ``Make the lip radius 3 mm``."""
    changes = ((remedy.field, remedy.value), *remedy.also)
    return "Make the " + " and the ".join(
        f"{field.rpartition('.')[2].replace('_', ' ')} {_value(value)}" for field, value in changes
    )


def _value(text: str) -> str:
    return {"true": "on", "false": "off"}.get(text, text)


def _told(remark: Remark, say: Say) -> dict[str, Any]:
    told = remark_in(remark, say)
    return {
        "code": told.code,
        "severity": told.severity,
        "place": told.place,
        "sentence": told.sentence,
        "remedies": [{"label": remedy_label(r)} for r in told.remedies],
    }
