"""The three-dimensional picture: swaps what it shows in place and keeps where it is looked from."""

from collections.abc import Callable, Mapping
from typing import Literal

import nicegui.elements.scene  # noqa: F401 - puts three.js into the page's import map
from nicegui import ui

from hidewright.drawing.colour_ramp import ramp

Quantity = Literal["leather", "stretch", "thickness", "reserve"]
#: Steps of the colours over a map.
COLOURS = 64


class Solid(ui.element, component="solid.js"):
    """A picture that is turned by mouse, touch and keys. It fills its parent; give that a height.

    When a picture is drawn, its address stands in the element's ``data-url``.

    Args:
        label: What it shows, in a few words, for those who do not see it.
        on_ready: Called with a picture's address once it is drawn.
    """

    def __init__(self, label: str, on_ready: Callable[[str], None] | None = None) -> None:
        super().__init__()
        self._props["url"] = ""
        self._props["quantity"] = "leather"
        self._props["close"] = 1.0
        self._props["apart"] = 0.0
        self._props["ranges"] = {}
        self._props["ramp"] = list(ramp(COLOURS))
        self._props["label"] = label
        if on_ready is not None:
            self.on("ready", lambda event: on_ready(str(event.args)))

    def show(self, url: str) -> None:
        """Fetch and show a picture as ``solid_view.encode`` writes it; only the newest counts."""
        self._props["url"] = url

    def describe(self, label: str) -> None:
        """Say what it shows."""
        self._props["label"] = label

    def colour_by(self, quantity: Quantity) -> None:
        """Show leather as leather, or coloured by a quantity with a legend."""
        self._props["quantity"] = quantity

    def close(self, share: float) -> None:
        """Show the article from unfolded (0) to closed (1)."""
        self._props["close"] = min(max(share, 0.0), 1.0)

    def take_apart(self, share: float) -> None:
        """Show tools from closed (0) to apart (1)."""
        self._props["apart"] = min(max(share, 0.0), 1.0)

    def set_ranges(self, ranges: Mapping[str, tuple[float, float]]) -> None:
        """Set where the colours of a quantity begin and end, in place of what the picture has."""
        self._props["ranges"] = {name: list(ends) for name, ends in ranges.items()}
