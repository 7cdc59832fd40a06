"""Figures in chapters, and notes under them."""

from nicegui import ui


class Facts(ui.element, component="facts.js"):
    """Lists of terms and values."""

    def show(
        self,
        chapters: tuple[tuple[str, tuple[tuple[str, str], ...]], ...],
        notes: tuple[str, ...] = (),
    ) -> None:
        """Show chapters of (term, value), and notes."""
        self._props["chapters"] = [[title, [list(row) for row in rows]] for title, rows in chapters]
        self._props["notes"] = list(notes)
        self.update()
