"""Fields whose entry is kept at once, or refused beside the field."""

import asyncio
import json
from collections.abc import Callable, Sequence
from typing import Any

from nicegui import ui

from hidewright.app.parts import VALUE, Words, box
from hidewright.errors import RequestError

#: Keeps what was entered, beside the event loop; returns how it is written now.
Keep = Callable[[str], str]
#: Shows what else changed with it.
Then = Callable[[], Any]

#: Property that a control begins with. Its ``value`` would be set again whenever anything on the
#: page changes, also while the maker types or drags.
BEGINS_WITH = "defaultValue"


def tell(id: str, value: str) -> None:
    """Show a value in a control that the maker may have changed."""
    ui.run_javascript(f"document.getElementById({json.dumps(id)}).value = {json.dumps(value)}")


def entry(
    label: str,
    id: str,
    value: str,
    keep: Keep,
    then: Then,
    *,
    says: str = "",
    lines: int = 1,
) -> None:
    """Build a field with its label, what it means, and where a refusal is told.

    Args:
        label: In words.
        id: Of the control, unique in the page.
        value: What stands in it.
        keep: Keeps an entry, beside the event loop; a refusal leaves everything as it was.
        then: Called in the event loop after an entry was kept.
        says: What it means; always shown.
        lines: More than one for a text of several lines.
    """
    field, control, trouble = _field(label, id, value, says, "measure", lines)

    async def entered(event: Any) -> None:
        try:
            written = await asyncio.to_thread(keep, str(event.args))
        except RequestError as refused:
            _refused(field, trouble, refused)
            return
        _taken(field, control, trouble, id, written)
        then()

    control.on("change", entered, js_handler=VALUE)


def entry_at_once(
    label: str, id: str, value: str, keep: Keep, says: str = "", *, classes: str = ""
) -> None:
    """Build a field whose entry is kept before anything else happens in the page.

    Nothing in it waits, so that a press of a button right after finds what was entered.

    Args:
        label: In words.
        id: Of the control, unique in the page.
        value: What stands in it.
        keep: Takes what is entered, quickly, and returns how it is written, or refuses.
        says: What it means.
        classes: Of the control; ``measure`` is narrow, its words flush right.
    """
    field, control, trouble = _field(label, id, value, says, classes, 1)

    def entered(event: Any) -> None:
        try:
            written = keep(str(event.args))
        except RequestError as refused:
            _refused(field, trouble, refused)
            return
        _taken(field, control, trouble, id, written)

    control.on("change", entered, js_handler=VALUE)


def _field(
    label: str, id: str, value: str, says: str, classes: str, lines: int
) -> tuple[ui.element, ui.element, Words]:
    """Build a field; return it, its control and where a refusal is told."""
    with box("div", "field wide" if lines > 1 else "field") as field:
        Words("label", label, for_=id)
        about = {"aria_describedby": f"{id}-says {id}-wrong"}
        if lines > 1:
            control = box("textarea", id=id, rows=lines, **about)
        else:
            control = box("input", classes, type="text", id=id, autocomplete="off", **about)
        control.props[BEGINS_WITH] = value
        if says:
            Words("p", says, "meaning", id=f"{id}-says")
        trouble = Words("p", "", "trouble", id=f"{id}-wrong", role="alert")
    return field, control, trouble


def _refused(field: ui.element, trouble: Words, refused: RequestError) -> None:
    trouble.text = refused.sentence
    field.classes(add="wrong")


def _taken(field: ui.element, control: ui.element, trouble: Words, id: str, written: str) -> None:
    trouble.text = ""
    field.classes(remove="wrong")
    control.props[BEGINS_WITH] = written
    tell(id, written)


def chosen(
    label: str,
    id: str,
    value: str,
    options: tuple[str, ...],
    keep: Callable[[str], object],
    then: Then,
) -> None:
    """Build a choice of words with its label, kept as soon as it is made."""

    async def turned(words: str) -> None:
        try:
            await asyncio.to_thread(keep, words)
        except RequestError as refused:
            trouble.text = refused.sentence
            return
        trouble.text = ""
        then()

    with box("div", "field"):
        choice(label, id, [(one, one) for one in options], value, turned)
        trouble = Words("p", "", "trouble", role="alert")


def picker(
    label: str,
    id: str,
    options: Sequence[tuple[str, str]],
    value: str,
    choose: Callable[[str], Any],
) -> ui.element:
    """Build a field with a choice in it, see ``choice``."""
    with box("div", "field"):
        return choice(label, id, options, value, choose)


def choice(
    label: str,
    id: str,
    options: Sequence[tuple[str, str]],
    value: str,
    choose: Callable[[str], Any],
) -> ui.element:
    """Build a choice with its label.

    Args:
        label: In words.
        id: Of the control, unique in the page.
        options: (value, words).
        value: Which one is chosen.
        choose: Called with the value of the one that is chosen then.

    Returns:
        The control.
    """
    Words("label", label, for_=id)
    with box("select", id=id) as control:
        for one, words in options:
            selected: dict[str, Any] = {"selected": True} if one == value else {}
            Words("option", words, value=one, **selected)
    control.on("change", lambda event: choose(str(event.args)), js_handler=VALUE)
    return control
