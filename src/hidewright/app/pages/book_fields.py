"""Fields of the Book page: a label over a control that keeps what is typed."""

from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from hidewright.app.components.entries import choice
from hidewright.app.parts import VALUE, Words, box
from hidewright.errors import RequestError
from hidewright.units.length import MM_PER_INCH, parse_length
from hidewright.units.minutes import parse_minutes
from hidewright.workshop.form import Unit

Kept = dict[str, str]


def typed(
    label: str, name: str, kept: Kept, *, sort: str = "text", offers: Sequence[str] = ()
) -> None:
    """Show a field for words or a number.

    Args:
        label: Over it.
        name: Under which what is typed is kept, and its id.
        kept: What is typed, by name.
        sort: Of the HTML input.
        offers: Words to choose from, any others may be typed.
    """
    with box("p", "book-field"):
        Words("label", label, for_=f"book-{name}")
        more: dict[str, Any] = {"list": f"offers-{name}"} if offers else {}
        control = box(
            "input",
            type=sort,
            id=f"book-{name}",
            defaultValue=kept.get(name, ""),
            maxlength=120,
            autocomplete="off",
            **more,
        )
        control.on("input", lambda e: kept.update({name: str(e.args)}), js_handler=VALUE)
        if offers:
            with box("datalist", id=f"offers-{name}"):
                for offer in offers:
                    box("option", value=offer)


def chosen(
    label: str,
    name: str,
    kept: Kept,
    offers: Sequence[tuple[str, str]],
    then: Callable[[], Any] = lambda: None,
) -> None:
    """Show a field to choose from ``offers``, (value, words) each."""
    kept.setdefault(name, offers[0][0] if offers else "")

    def take(value: str) -> Any:
        kept[name] = value
        return then()

    with box("p", "book-field"):
        choice(label, f"book-{name}", offers, kept[name], take)


def number_from(text: str, what: str, *, unit: str = "", lengths: Unit = "mm") -> float:
    """Return a number as typed.

    Args:
        text: What was typed.
        what: What it is, for errors.
        unit: ``mm`` for a length, ``h`` or ``min`` for a time; both may carry their own unit.
        lengths: Unit of a length that carries none, as the label says.

    Raises:
        RequestError: When it is no number.
    """
    text = text.strip().replace(",", ".")
    if not text:
        raise RequestError(f"{what}: nothing is written", mend="Give a number")
    try:
        value = float(text)
    except ValueError:
        if unit == "mm":
            return parse_length(text)
        if unit in ("h", "min"):
            return parse_minutes(text) / (60.0 if unit == "h" else 1.0)
        raise RequestError(f"{what}: {text!r} is no number") from None
    return value * float(MM_PER_INCH) if unit == "mm" and lengths == "in" else value


def whole_from(text: str, what: str) -> int:
    """Return a whole number as typed.

    Raises:
        RequestError: When it is none.
    """
    value = number_from(text, what)
    if not value.is_integer():
        raise RequestError(f"{what}: {text.strip()} is no whole number")
    return int(value)


def day_from(text: str, today: str) -> date:
    """Return a day as typed; today when nothing was.

    Raises:
        RequestError: When it is no day.
    """
    try:
        return date.fromisoformat(text.strip() or today[:10])
    except ValueError:
        raise RequestError(
            f"{text!r} is no day", mend="Write it as 2026-03-14", where="day"
        ) from None
