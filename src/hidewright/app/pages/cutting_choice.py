"""What is cut, on the cutting page: designs or orders, what each piece asks for, the question."""

from collections.abc import Callable
from functools import partial
from typing import Any

from hidewright.app.components.entries import entry_at_once, picker
from hidewright.app.pages.cutting_state import QUESTIONS, CuttingState
from hidewright.app.pages.cutting_stock import CHECKED
from hidewright.app.parts import MANY, Words, box, look_for, press
from hidewright.app.shop import Shop
from hidewright.catalogue.common_names import is_meant
from hidewright.design.asked_piece import AskedPiece
from hidewright.design.hide_presets import PRESETS
from hidewright.errors import RequestError
from hidewright.units.area import format_area, parse_area
from hidewright.units.length import format_length, parse_length
from hidewright.units.number import decimal_text

GRADES = [("1", "grade 1 only"), ("2", "grade 1 or 2"), ("3", "any grade")]
FLAWS = [("3", "no flaw"), ("2", "slight ones may be on it"), ("1", "all but holes"), ("0", "any")]
LIES = [
    ("designed", "as it was pressed"),
    ("across", "across that"),
    ("any", "any way"),
]
MOST = 500
NONE = "No design yet: begin with one on the first page."


class ChoiceArticles:
    """The designs and how many of each are in a set.

    Args:
        state: What is chosen.
        changed: Called after other designs were chosen.
        orders: Called to take the orders that are to be made.
    """

    def __init__(
        self, state: CuttingState, changed: Callable[[], Any], orders: Callable[[], Any]
    ) -> None:
        self._state, self._changed, self._orders = state, changed, orders
        self._names: dict[str, str] = {}
        self._sought = ""

    def build(self) -> None:
        """Build it in the current place, empty."""
        Words("h2", "What to cut")
        with box("p", "actions"):
            press("Take the orders to be made", self._orders, "button")
        with box("p", "search") as self._seeking:
            look_for("sought", self._look)
        self._list = box("div", "cut-articles")
        self._below = box("div")

    def show(self, names: dict[str, str]) -> None:
        """Show the designs of the book, by id: of many those in a set first."""
        counts, many = self._state.counts, len(names) > MANY
        self._names = names
        self._seeking.set_visibility(many)
        found = [
            (many and id not in counts, number, id)
            for number, (id, name) in enumerate(names.items())
            if id in counts or is_meant(name, self._sought)
        ]
        self._list.clear()
        with self._list:
            for _, number, id in sorted(found):
                entry_at_once(
                    f"{names[id]}, in a set",
                    f"count-{number}",
                    str(counts.get(id, 0)),
                    partial(self._count, id),
                    classes="measure",
                )
            if not found:
                none = f"None is called {self._sought}." if names else NONE
                Words("p", none, "empty")
        self._below.clear()
        with self._below:
            entry_at_once("Sets", "sets", str(self._state.sets), self._sets, classes="measure")

    def _look(self, sought: str) -> None:
        self._sought = sought
        self.show(self._names)

    def _count(self, id: str, text: str) -> str:
        count = whole(text, 0)
        if count:
            self._state.counts[id] = count
        else:
            self._state.counts.pop(id, None)
        self._changed()
        return str(count)

    def _sets(self, text: str) -> str:
        self._state.sets = whole(text, 1)
        return str(self._state.sets)


def whole(text: str, least: int) -> int:
    """Read a whole number.

    Raises:
        RequestError: When it is none, or out of range.
    """
    if not text.strip().isdecimal() or not least <= int(text) <= MOST:
        raise RequestError(
            f"{text.strip()[:20]!r} sets or articles", mend=f"Give {least} to {MOST}"
        )
    return int(text)


class ChoicePieces:
    """What each piece asks for.

    Args:
        shop: Tells the unit.
        state: What is chosen.
        changed: Called after another leather was chosen.
    """

    def __init__(self, shop: Shop, state: CuttingState, changed: Callable[[], Any]) -> None:
        self._shop, self._state, self._changed = shop, state, changed

    def build(self) -> None:
        """Build it in the current place, empty."""
        Words("h2", "What the pieces ask for")
        self._words = Words("p", "", "lead", role="status")
        self._list = box("div", "cut-pieces")

    def say(self, words: str) -> None:
        """Say what is being done, or what is wrong."""
        self._words.text = words

    def show(self) -> None:
        """Show the pieces of the leather that is cut now."""
        self._list.clear()
        state = self._state
        with self._list:
            if len(state.materials) > 1:
                leathers = [(name, name) for name in state.materials]
                picker("Cut now from", "leather", leathers, state.leather, self._leather)
            if not state.counts:
                Words("p", "Told once you say what is in a set.", "says")
            for number, (piece, count) in enumerate(state.pieces):
                self._piece(number, piece, count)

    def _leather(self, name: str) -> None:
        self._state.material = name
        self._changed()

    def _piece(self, number: int, piece: AskedPiece, count: int) -> None:
        each = "" if piece.articles == 1 else f", one makes {piece.articles} articles"
        with box("details", "cut-piece"):
            Words("summary", f"{chr(ord('a') + number % 26)}  {piece.name}")
            Words("p", f"{count} in a set{each}{'; ' if piece.why else ''}{piece.why}.", "says")
            if self._state.is_tools:
                return
            self._pick("Lies in", f"grade-{number}", GRADES, str(piece.grade), piece, self._grade)
            self._pick("Bears", f"flaws-{number}", FLAWS, str(piece.clear_of), piece, self._flaws)
            if piece.covered:
                under = str(piece.clear_of_covered)
                self._pick("Under other parts", f"under-{number}", FLAWS, under, piece, self._under)
            self._pick("Backbone", f"lie-{number}", LIES, self._lies(piece), piece, self._lie)
            entry_at_once(
                "May turn off that by",
                f"turn-{number}",
                f"{decimal_text(piece.tolerance_deg, 1)} deg",
                partial(self._tolerance, piece.name),
                classes="measure",
            )
            with box("label", "switch"):
                on: dict[str, Any] = {"checked": True} if piece.may_mirror else {}
                tick = box("input", type="checkbox", **on)
                Words("span", "may be cut from the flesh side, mirrored")
            tick.on("change", partial(self._mirror, piece.name), js_handler=CHECKED)

    def _pick(
        self,
        label: str,
        id: str,
        options: list[tuple[str, str]],
        value: str,
        piece: AskedPiece,
        choose: Callable[[AskedPiece, str], None],
    ) -> None:
        picker(label, id, options, value, partial(choose, piece))

    def _grade(self, piece: AskedPiece, value: str) -> None:
        self._state.wish(piece.name, grade=int(value))

    def _flaws(self, piece: AskedPiece, value: str) -> None:
        self._state.wish(piece.name, clear_of=int(value))

    def _under(self, piece: AskedPiece, value: str) -> None:
        self._state.wish(piece.name, covered_clear_of=int(value))

    def _lies(self, piece: AskedPiece) -> str:
        if piece.lie_deg is None:
            return "any"
        return "designed" if piece.lie_deg == self._state.as_found(piece.name).lie_deg else "across"

    def _lie(self, piece: AskedPiece, value: str) -> None:
        along = self._state.as_found(piece.name).lie_deg or 0.0
        lies = {"designed": along, "across": (along + 90.0) % 180.0, "any": None}
        self._state.wish(piece.name, lie_deg=lies[value])

    def _tolerance(self, name: str, text: str) -> str:
        degrees = text.lower().replace("deg", "").replace("°", "").strip()
        if not degrees.replace(".", "", 1).isdecimal() or float(degrees) > 90.0:
            raise RequestError(f"{text[:20]!r} is no such angle", mend="Give 0 to 90 deg")
        self._state.wish(name, tolerance_deg=float(degrees))
        return f"{decimal_text(float(degrees), 1)} deg"

    def _mirror(self, name: str, event: Any) -> None:
        self._state.wish(name, may_mirror=bool(event.args))


class ChoiceQuestion:
    """What is asked, and how long it is searched.

    Args:
        shop: Tells the unit.
        state: What is chosen.
        cut: Called to search.
        stop: Called to end that, keeping the best.
        changed: Called after another question was chosen.
    """

    def __init__(
        self,
        shop: Shop,
        state: CuttingState,
        cut: Callable[[], Any],
        stop: Callable[[], Any],
        changed: Callable[[], Any],
    ) -> None:
        self._shop, self._state, self._cut, self._stop = shop, state, cut, stop
        self._changed = changed

    def build(self) -> None:
        """Build it in the current place."""
        state, unit = self._state, self._shop.unit
        Words("h2", "The question")
        picker("Question", "question", list(QUESTIONS), state.question, self._question)
        with box("div") as self._offer:
            sorts = [(preset.name, preset.name) for preset in PRESETS]
            picker("Sort to buy", "buy-sort", sorts, state.preset, self._sort)
            entry_at_once(
                "Its area",
                "buy-area",
                format_area(state.area_m2, unit),
                self._area,
                classes="measure",
            )
        self._offer.set_visibility(state.question == "what to buy")
        with box("details", "cut-more"):
            Words("summary", "Knife and time")
            spacing = format_length(state.spacing_mm, unit)
            edge = format_length(state.edge_margin_mm, unit)
            entry_at_once(
                "Room between pieces", "spacing", spacing, self._spacing, classes="measure"
            )
            entry_at_once("Room to the edge", "edge", edge, self._edge, classes="measure")
            entry_at_once(
                "Seconds of search",
                "seconds",
                f"{state.seconds:g}",
                self._seconds,
                classes="measure",
            )
        with box("p", "actions"):
            self.go = press("Cut", self._cut, "button main")
            self.halt = press("Stop and keep it", self._stop, "button")

    def work(self, busy: bool) -> None:
        """Show whether something is searched."""
        self.go.props["disabled"] = busy
        self.go.update()
        self.halt.set_visibility(busy)

    def _question(self, value: str) -> None:
        self._state.choose_question(value)
        self._offer.set_visibility(value == "what to buy")
        self._changed()

    def _sort(self, value: str) -> None:
        self._state.preset = value

    def _area(self, text: str) -> str:
        self._state.area_m2 = parse_area(text)
        return format_area(self._state.area_m2, self._shop.unit)

    def _spacing(self, text: str) -> str:
        self._state.spacing_mm = parse_length(text)
        return format_length(self._state.spacing_mm, self._shop.unit)

    def _edge(self, text: str) -> str:
        self._state.edge_margin_mm = parse_length(text)
        return format_length(self._state.edge_margin_mm, self._shop.unit)

    def _seconds(self, text: str) -> str:
        self._state.seconds = float(whole(text, 1))
        return f"{self._state.seconds:g}"
