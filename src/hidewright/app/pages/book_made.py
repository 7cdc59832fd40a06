"""What was made: every load whose steps were ticked, kept when its plan is long gone."""

from hidewright.app.pages.book_panel import Panel
from hidewright.app.parts import Words, box
from hidewright.design.step_done import BatchDone, batches_done
from hidewright.store.book_done import DONE
from hidewright.units.minutes import format_minutes

#: So many loads are shown, the newest.
SHOWN = 20


class Made(Panel[tuple[BatchDone, ...]]):
    """The panel of loads that were made."""

    title = "Made"
    anchor = "made"
    kinds = frozenset({DONE.kind, "plan"})

    def read(self) -> tuple[BatchDone, ...]:
        """Return what the book holds of steps that are done, load by load."""
        return batches_done(DONE.rows(self._shop.book).values())

    def show(self, found: tuple[BatchDone, ...]) -> None:
        """Show it."""
        if not found:
            Words("p", "Nothing is ticked yet: tick what is done on the page Batch.", "empty")
            return
        with (
            box("div", "scrolls", role="region", tabindex="0", aria_label="What was made"),
            box("table", "sums"),
        ):
            with box("thead"), box("tr"):
                for words in ("Load", "From", "Until", "Steps done", "Hands-on, as planned"):
                    Words("th", words, scope="col")
            with box("tbody"):
                for one in found[:SHOWN]:
                    with box("tr"):
                        Words("th", f"{one.count} {one.article}, {one.colour}", scope="row")
                        Words("td", one.first.isoformat())
                        Words("td", one.last.isoformat())
                        Words("td", f"{one.steps}")
                        Words("td", format_minutes(one.minutes))
        if len(found) > SHOWN:
            Words("p", f"and {len(found) - SHOWN} loads before these.", "when")
