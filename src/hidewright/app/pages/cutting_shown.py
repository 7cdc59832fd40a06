"""The answer on the cutting page: the picture of each hide, its figures, and changes by hand."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from hidewright.app.components.cut_board import CutBoard
from hidewright.app.components.entries import entry_at_once, picker
from hidewright.app.components.facts import Facts
from hidewright.app.pages.cutting_state import CuttingState
from hidewright.app.parts import Words, box, press
from hidewright.app.shop import Shop
from hidewright.design.cut_layout import CutLayout
from hidewright.design.cutting import turned_copy
from hidewright.design.hide import Corners
from hidewright.errors import RequestError
from hidewright.geometry.segment import Point
from hidewright.units.area import format_area
from hidewright.units.length import format_length, parse_position
from hidewright.workshop.views.cut_view import layout_view

#: What a press of a direction moves a piece by, mm.
NUDGE_MM = 5.0
DIRECTIONS: tuple[tuple[str, Point], ...] = (
    ("Left", (-1.0, 0.0)),
    ("Right", (1.0, 0.0)),
    ("Up", (0.0, 1.0)),
    ("Down", (0.0, -1.0)),
)


class ShownLayout:
    """The last answer.

    Args:
        shop: Tells the unit.
        state: What is chosen, and the answer.
        settle: Called to let the rest settle round what was moved.
        forbid: Called with the number of a hide and the corners of a place to be kept free.
    """

    def __init__(
        self,
        shop: Shop,
        state: CuttingState,
        settle: Callable[[], Any],
        forbid: Callable[[int, Corners], Any],
    ) -> None:
        self._shop, self._state = shop, state
        self._settle, self._forbid = settle, forbid
        self._hide = 0
        self._place: list[Point] = []
        self._by = NUDGE_MM

    def build(self) -> None:
        """Build the picture in the current place."""
        self.words = Words(
            "p", "Say how many of each are in a set, then press Cut.", "state", role="status"
        )
        self.bar = box("progress", "bar", aria_label="Searching")
        self._tabs = box("div", "tabs", role="group", aria_label="Which hide")
        self._board = CutBoard(self._chosen, self._shifted, self._corner)
        self._facts = Facts()

    def build_by_hand(self) -> None:
        """Build the changes by hand in the current place."""
        Words("h2", "By hand")
        Words(
            "p",
            "Press a piece in the picture, or choose it here. Drag it or move it by steps, pin "
            "what must stay, then let the rest settle: only what is in the way moves.",
            "lead",
        )
        self._copies = box("div")
        with box("p", "actions"):
            self._pin = press("Pin it", self._turn_pin, "button")
            press("Turn it by a half", self._half, "button")
        with box("div", "actions", role="group", aria_label="Move the piece"):
            for words, way in DIRECTIONS:
                press(words, partial(self._nudge, way), "button quiet")
        entry_at_once(
            "Step",
            "step",
            format_length(self._by, self._shop.unit),
            self._step_of,
            classes="measure",
        )
        with box("p", "actions"):
            press("Let the rest settle", self._settle, "button main")
            press("Take all pins out", self._no_pins, "button quiet")
        Words("h3", "Keep a place free")
        Words("p", "Press round the place in the picture, or type corners: x y, x y, ...", "lead")
        entry_at_once("Corners in mm", "free-corners", "", self._typed)
        with box("p", "actions"):
            self._draw = press("Draw it", self._turn_drawing, "button", aria_pressed="false")
            press("Keep it free", self._keep_free, "button")

    # -- showing

    def show(self) -> None:
        """Show the answer as it is now."""
        layout = self._state.layout
        if layout is None:
            self._tabs.clear()
            self._facts.show(())
            self._board.show(None)
            return
        used = layout.used_hides
        if self._hide not in used and used:
            self._hide = used[0]
        self._show_tabs(layout)
        self._picture()
        self._facts.show(((layout.title, self._rows(layout)),))
        self.show_hand()

    def _show_tabs(self, layout: CutLayout) -> None:
        self._tabs.clear()
        with self._tabs:
            for number in layout.used_hides if len(layout.used_hides) > 1 else ():
                pressed = "true" if number == self._hide else "false"
                name = layout.hides[number].name
                press(name, partial(self._turn_to, number), "choice", aria_pressed=pressed)

    def _turn_to(self, number: int) -> None:
        self._hide = number
        self.show()

    def _picture(self) -> None:
        layout = self._state.layout
        if layout is None:
            return
        there = replace(layout, placements=self._state.placements, pinned=self._state.pinned)
        view = layout_view(there, self._hide, self._state.selected)
        self._board.show(view, f"{layout.hides[self._hide].name} {self._hide}")

    def _rows(self, layout: CutLayout) -> tuple[tuple[str, str], ...]:
        unit = self._shop.unit

        def area(m2: float) -> str:
            return format_area(m2, unit)

        figure, bound = layout.figure, layout.bound
        answers = {
            "most sets": ("Whole sets", f"{figure:g}, never more than {bound:g}"),
            "least leather": ("Leather taken", f"{area(figure)}, never less than {area(bound)}"),
            "one more set": (
                "One more set takes",
                f"{area(figure)}, never less than {area(bound)}",
            ),
            "what to buy": ("Hides to buy", f"{figure:g}, never less than {bound:g}"),
            "fewest sheets": ("Sheets", f"{figure:g}, never less than {bound:g}"),
        }
        kept = sum(rest.hide.area_mm2 for rest in layout.rests) / 1e6
        return (
            answers[layout.question],
            ("Pieces", f"{len(layout.placements)}, {area(layout.pieces_m2)}"),
            ("Taken from the hides", area(layout.taken_m2)),
            ("Yield", f"{layout.yield_share:.1%} of what is taken"),
            ("Waste", f"{1.0 - layout.yield_share:.1%}"),
            ("Left and worth keeping", area(kept)),
            ("Searched", f"{layout.seconds:.1f} s, {layout.rounds} rounds, seed {layout.seed}"),
            ("Checked", "every piece, apart from the search"),
        )

    # -- by hand

    def show_hand(self) -> None:
        """Show which piece is in hand."""
        layout = self._state.layout
        self._copies.clear()
        if layout is None:
            return
        names = [("", "none")] + [
            (
                f"{p.piece},{p.copy}",
                f"{chr(ord('a') + p.piece % 26)}{p.copy + 1} {layout.pieces[p.piece].name}",
            )
            for p in sorted(layout.placements, key=lambda p: (p.piece, p.copy))
            if p.hide == self._hide
        ]
        chosen = self._state.selected
        with self._copies:
            now = f"{chosen[0]},{chosen[1]}" if chosen else ""
            picker("Piece in hand", "in-hand", names, now, self._taken)
        self._pin.text = "Take its pin out" if chosen in self._state.pinned else "Pin it"

    def _taken(self, value: str) -> None:
        piece, _, copy = value.partition(",")
        self._chosen((int(piece), int(copy)) if copy else None)

    def _chosen(self, key: tuple[int, int] | None) -> None:
        self._state.selected = key
        self._picture()
        self.show_hand()

    def _shifted(self, key: tuple[int, int], by: Point) -> None:
        self._state.selected = key
        self._move(by)
        self.show_hand()

    def _nudge(self, way: Point) -> None:
        self._move((way[0] * self._by, way[1] * self._by))

    def _step_of(self, text: str) -> str:
        self._by = abs(parse_position(text))
        return format_length(self._by, self._shop.unit)

    def _move(self, by: Point) -> None:
        self._change(lambda p: turned_copy(p, 0.0, by))

    def _half(self) -> None:
        layout, key = self._state.layout, self._state.selected
        if layout is not None and key is not None:
            self._change(lambda p: turned_copy(p, 180.0, (0.0, 0.0), layout.pieces[p.piece]))

    def _change(self, change: Callable[[Any], Any]) -> None:
        """Change where the piece in hand lies; it is pinned there."""
        key = self._state.selected
        if self._state.layout is None or key is None:
            self.words.text = "Choose a piece first."
            return
        self._state.placements = tuple(
            change(p) if (p.piece, p.copy) == key else p for p in self._state.placements
        )
        if key not in self._state.pinned:
            self._state.pinned = (*self._state.pinned, key)
        self.words.text = "Moved and pinned; not checked until the rest settles."
        self._picture()
        self.show_hand()

    def _turn_pin(self) -> None:
        key = self._state.selected
        if key is None:
            self.words.text = "Choose a piece first."
            return
        pins = self._state.pinned
        without = tuple(pin for pin in pins if pin != key)
        self._state.pinned = without if key in pins else (*pins, key)
        self._picture()
        self.show_hand()

    def _no_pins(self) -> None:
        self._state.pinned = ()
        self._picture()
        self.show_hand()

    # -- a place that is kept free

    def _turn_drawing(self) -> None:
        self._board.draw(tuple(self._place), draws=not self._board.draws)
        self._draw.props["aria-pressed"] = "true" if self._board.draws else "false"
        self._draw.update()

    def _corner(self, at: Point) -> None:
        self._place.append(at)
        self._board.draw(tuple(self._place), draws=True)

    def _typed(self, text: str) -> str:
        self._place = list(corners_in(text))
        self._board.draw(tuple(self._place), draws=self._board.draws)
        return text.strip()

    def _keep_free(self) -> Any:
        if len(self._place) < 3:
            self.words.text = "Give at least three corners of the place."
            return None
        place, self._place = tuple(self._place), []
        self._board.draw((), draws=False)
        self._draw.props["aria-pressed"] = "false"
        self._draw.update()
        return self._forbid(self._hide, place)


def corners_in(text: str) -> Corners:
    """Read corners written as ``x y, x y, ...`` in mm.

    Raises:
        RequestError: Names the corner that cannot be read.
    """
    found: list[Point] = []
    for number, one in enumerate(filter(None, map(str.strip, text.replace("\n", ",").split(",")))):
        parts = one.split()
        try:
            x, y = (float(part) for part in parts)
        except ValueError:
            raise RequestError(
                f"corner {number + 1} is {one[:30]!r}", mend="Write x y, x y, ... in mm"
            ) from None
        found.append((x, y))
    return tuple(found)
