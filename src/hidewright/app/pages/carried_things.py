"""What a design carries: one more thing, one less, and a hollow sized for all of it."""

from dataclasses import dataclass, field
from functools import partial
from typing import Any

from nicegui import ui

from hidewright.app.desk import Desk
from hidewright.app.parts import VALUE, Words, box, press
from hidewright.app.shop import Shop
from hidewright.catalogue.shelf import find
from hidewright.errors import RequestError
from hidewright.workshop.edit import sized_to_carry, with_thing, without_thing


@dataclass(slots=True)
class CarriedThings:
    """The part of a page that adds and takes away things."""

    shop: Shop
    desk: Desk
    chosen: str = ""
    shown: tuple[str, ...] = ("",)
    rows: Any = field(init=False)

    def __post_init__(self) -> None:
        """Build it in the current place."""
        with box("fieldset", "group"):
            Words("legend", "One more, one less")
            self.rows = box("ul", "chosen")
            with box("div", "field"):
                Words("label", "Add a thing", for_="one-more")
                with box("select", id="one-more") as choose:
                    Words("option", "choose ...", value="")
                    for row in self.shop.shelf.things:
                        Words("option", row.name, value=row.name)
                choose.on("change", self._choose, js_handler=VALUE)
            with box("p", "actions"):
                press("Add it", self._add)
                press("Size the hollow to fit", self._size)
        self.show()

    def show(self) -> None:
        """Show what can be taken away now."""
        names = tuple(one.thing.name for one in self.desk.spec.brief.carried)
        if names == self.shown:
            return
        self.shown = names
        self.rows.clear()
        with self.rows:
            for number, name in enumerate(names, start=1):
                with box("li"):
                    Words("span", name)
                    press(
                        "take out", partial(self._take, number), "quiet",
                        aria_label=f"Take out {name}",
                    )  # fmt: skip

    def _choose(self, event: Any) -> None:
        self.chosen = str(event.args)

    def _add(self) -> None:
        if self.chosen:
            thing = find(self.shop.shelf.things, self.chosen)
            self.desk.put(with_thing(self.desk.spec, thing), f"carries: {thing.name}")

    def _take(self, number: int) -> None:
        self.desk.put(without_thing(self.desk.spec, number), "carries: one less")

    def _size(self) -> None:
        try:
            self.desk.put(sized_to_carry(self.desk.spec), "size: for what it carries")
        except RequestError as refused:
            ui.notify(refused.sentence, type="warning")
