"""Small parts that all pages are made of: plain HTML elements with words, links and buttons."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from typing import Any

from nicegui import ui
from nicegui.elements.mixins.text_element import TextElement

from hidewright.app.shop import Shop
from hidewright.workshop.form import Unit

#: Pages of the whole workshop in the order of the work, in the head of every page.
PLACES: tuple[tuple[str, str], ...] = (
    ("Designs", "/"),
    ("Cutting", "/cutting"),
    ("Batch", "/batch"),
    ("Money", "/money"),
    ("Book", "/book"),
)
#: A list that is longer can be looked through by words.
MANY = 12
#: Sends the value of the control that an event comes from.
VALUE = "(e) => emit(e.target.value)"


class Words(TextElement):
    """An element that holds words.

    Args:
        tag: Such as ``p`` or ``h2``.
        text: What it says.
        classes: CSS classes.
        attributes: Of the element.
    """

    def __init__(self, tag: str, text: str, classes: str = "", **attributes: Any) -> None:
        super().__init__(tag=tag, text=text)
        if classes:
            self.classes(classes)
        given(self, attributes)


def box(tag: str = "div", classes: str = "", **attributes: Any) -> ui.element:
    """Return an element that others go into; an underscore in an attribute stands for a dash."""
    element = ui.element(tag)
    if classes:
        element.classes(classes)
    given(element, attributes)
    return element


def given(element: ui.element, attributes: dict[str, Any]) -> None:
    """Set attributes of an element."""
    for key, value in attributes.items():
        element.props[key.rstrip("_").replace("_", "-")] = value


def press(words: str, do: Callable[[], Any], classes: str = "button", **attributes: Any) -> Words:
    """Return a button."""
    button = Words("button", words, classes, type="button", **attributes)
    button.on("click", lambda _: do())
    return button


def link(words: str, to: str, classes: str = "", **attributes: Any) -> Words:
    """Return a link to another page."""
    return Words("a", words, classes, href=to, **attributes)


def look_for(id: str, found: Callable[[str], Any]) -> None:
    """Build a field for words to look for; each change is told."""
    Words("label", "Look for", for_=id)
    field = box("input", type="search", id=id, autocomplete="off")
    field.on("input", lambda event: found(str(event.args)), js_handler=VALUE)


def thumb(svg: str, place: str) -> ui.html:
    """Return a small picture; names within it are made this place's own, two of it may be alike."""
    held = ui.html(svg.replace("within-", f"within-{place}-"), sanitize=False)
    held.classes("thumb")
    return held


@contextmanager
def frame(shop: Shop, title: str) -> Iterator[ui.element]:
    """Lay out a page: a way past the head, the head with its links, and the main part.

    Yields:
        The head, for what a page adds to it.
    """
    ui.page_title(f"{title} - hidewright" if title else "hidewright")
    link("Go to the work", "#work", "skip")
    with box("header", "head"):
        link("hidewright", "/", "brand")
        with box("nav", "places", aria_label="The workshop"):
            for words, to in PLACES:
                here = {"aria-current": "page"} if words == title else {}
                link(words, to, **here)
        with box("div", "more") as more:
            pass
        _unit_switch(shop)
    with box("div", "work", id="work", tabindex="-1"):
        yield more
    with box("footer", "foot"):
        Words(
            "p",
            "Blades, lasers, dusts, solvents, dyes and strong magnets hurt people: makers' data "
            "sheets, local codes and licensed practice come before what is said here. Prove every "
            "new mould on one piece first.",
        )
        link("Words of the trade", "/words")


def _unit_switch(shop: Shop) -> None:
    def choose(unit: Unit) -> None:
        shop.choose_unit(unit)
        ui.navigate.reload()

    with box("div", "units", role="group", aria_label="Units"):
        choices: tuple[tuple[Unit, str], ...] = (("mm", "mm"), ("in", "inches, oz"))
        for unit, words in choices:
            pressed = "true" if shop.unit == unit else "false"
            press(words, partial(choose, unit), "choice", aria_pressed=pressed)
