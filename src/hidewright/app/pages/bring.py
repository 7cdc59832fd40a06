"""A drawing or a design file that the maker brings: what was read, and a design of it."""

from dataclasses import dataclass, replace
from typing import Any

from nicegui import ui

from hidewright.app.asked import Brought
from hidewright.app.components.bring import Bring
from hidewright.app.parts import VALUE, Words, box, frame, press, thumb
from hidewright.app.shop import Shop
from hidewright.drawing.reading import MAX_BYTES
from hidewright.errors import RequestError

UNITS = (("", "as the drawing says"), ("mm", "mm"), ("cm", "cm"), ("in", "inches"))


@dataclass(slots=True)
class BringPage:
    """One file in one window."""

    shop: Shop
    unit: str = ""
    token: str = ""
    result: Any = None

    def build(self) -> None:
        """Build the page."""
        with frame(self.shop, "Bring a file"), box("div", "start"):
            with box("section", "choose"):
                Words("h1", "Bring a drawing or a design file")
                Words(
                    "p",
                    "Outlines from SVG or DXF become the pieces of a free design: the outermost "
                    "are pieces, those inside them moulded parts, small circles punched holes. A "
                    "design file (.yaml) opens as it was saved.",
                )
                with box("p", "search"):
                    Words("label", "One unit of the drawing is", for_="unit")
                    with box("select", id="unit") as unit:
                        for value, words in UNITS:
                            Words("option", words, value=value)
                    unit.on("change", self._unit, js_handler=VALUE)
                Bring("/bring", MAX_BYTES, ".svg,.dxf,.yaml,.yml", self._brought)
            self.result = box("section", "choose", aria_live="polite")

    async def _unit(self, event: Any) -> None:
        self.unit = str(event.args)
        if self.token:
            await self._brought(self.token)

    async def _brought(self, token: str) -> None:
        self.token = token
        held = self.shop.held(token)
        if held is None:
            return
        data, name = held
        self.result.clear()
        try:
            brought = await self.shop.bring(data, name, self.unit or None)
        except RequestError as refused:
            with self.result:
                Words("h2", f"{name} cannot be used yet")
                Words("p", str(refused), "trouble", role="alert")
            return
        with self.result:
            Words("h2", f"Read from {name}")
            if brought.picture:
                thumb(brought.picture, "brought").classes("large")
            with box("ul", "said"):
                for words in brought.said:
                    Words("li", words)
            press("Make it a design", lambda: self._keep(brought, name), "button main")

    async def _keep(self, brought: Brought, name: str) -> None:
        spec = brought.spec
        if not spec.brief.name.strip():
            spec = replace(spec, brief=replace(spec.brief, name=name))
        id = await self.shop.add(spec, f"brought from {name}"[:80])
        ui.navigate.to(f"/design/{id}/shape")
