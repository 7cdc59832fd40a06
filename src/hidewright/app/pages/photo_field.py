"""A field on the page of photos."""

import json
from collections.abc import Callable
from typing import Any

from nicegui import ui

from hidewright.app.parts import VALUE, Words, box
from hidewright.app.shop import bare
from hidewright.errors import RequestError


def photo_field(
    label: str,
    id: str,
    value: str,
    keep: Callable[[str], str],
    says: str = "",
    *,
    classes: str = "",
) -> None:
    """Build a field; ``keep`` takes what is entered and returns how it is written, or refuses.

    A field of the class ``measure`` is narrow, its words flush right.
    """
    with box("div", "field") as field:
        Words("label", label, for_=id)
        about = {"aria_describedby": f"{id}-says {id}-wrong"}
        control = box("input", classes, type="text", id=id, autocomplete="off", **about)
        # its value is left to the browser: a value given here is set again, over what is being
        # typed, whenever anything else on the page changes
        control.props["defaultValue"] = value
        Words("p", says, "meaning", id=f"{id}-says")
        trouble = Words("p", "", "trouble", id=f"{id}-wrong", role="alert")

    # nothing in here waits, so that a press of a button right after finds what was entered
    def entered(event: Any) -> None:
        try:
            written = keep(str(event.args))
        except RequestError as refused:
            trouble.text = bare(refused)
            field.classes(add="wrong")
            return
        trouble.text = ""
        field.classes(remove="wrong")
        told = f"document.getElementById({json.dumps(id)}).value = {json.dumps(written)}"
        ui.run_javascript(told)

    control.on("change", entered, js_handler=VALUE)
