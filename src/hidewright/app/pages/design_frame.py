"""The head of a design's pages: its name, the stages of the work, undo and redo."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from nicegui import ui

from hidewright.app.desk import Desk
from hidewright.app.pages.stages import STAGES
from hidewright.app.parts import Words, box, frame, link, press
from hidewright.app.shop import Shop

#: All stages by name and title; the last two have pages of their own.
ALL = (*((shows.stage, shows.title) for shows in STAGES), ("money", "Money"), ("papers", "Papers"))


@contextmanager
def design_frame(shop: Shop, desk: Desk, stage: str) -> Iterator[Callable[[], None]]:
    """Lay out the frame of a design's page.

    Yields:
        What brings the head up to date after a change.
    """
    with frame(shop, desk.spec.brief.name) as head:
        with head:
            name = Words("h1", desk.spec.brief.name, "name")
            kind = Words("p", desk.spec.brief.kind, "kind")
            with box("div", "history", role="group", aria_label="History"):
                undo = press("Undo", desk.undo, "button quiet")
                redo = press("Redo", desk.redo, "button quiet")
                saved = Words("p", "", "saved", role="status")
        with box("nav", "stages", aria_label="Stages of the work"), box("ol"):
            for at, title in ALL:
                with box("li"):
                    here = {"aria-current": "page"} if at == stage else {}
                    link(title, f"/design/{desk.id}/{at}", **here)

        def tell() -> None:
            name.text = desk.spec.brief.name
            kind.text = desk.spec.brief.kind
            _able(undo, "Undo", desk.undoes)
            _able(redo, "Redo", desk.redoes)
            if desk.trouble:
                saved.text = f"Not saved: {desk.trouble}"
            else:
                saved.text = desk.notice or ("Saved" if desk.is_saved else "Saving ...")

        tell()
        ui.keyboard(
            on_key=lambda e: _key(e, desk), ignore=["input", "select", "textarea"], repeating=False
        )
        with box("div", "columns"):
            yield tell


def _able(button: Words, word: str, what: str) -> None:
    button.props["disabled"] = not what
    button.props["title"] = f"{word} {what}" if what else f"Nothing to {word.lower()}"
    button.update()


def _key(event: object, desk: Desk) -> None:
    modifiers, key = event.modifiers, event.key  # type: ignore[attr-defined]
    if not (modifiers.ctrl or modifiers.meta) or event.action.keyup:  # type: ignore[attr-defined]
        return
    if key.name.lower() == "z" and not modifiers.shift:
        desk.undo()
    elif key.name.lower() == "y" or (key.name.lower() == "z" and modifiers.shift):
        desk.redo()
