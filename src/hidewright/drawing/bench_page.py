"""Pages for a phone at the bench: steps with ticks that the phone keeps, and timers for waits."""

import base64
import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from hidewright.drawing.build_sheet import SheetStep, Stamp
from hidewright.drawing.build_sheet_page import sheet_page, step_section


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchStep:
    """A step, and how long hands are off after it.

    Attributes:
        shown: As on the build sheet.
        wait: What must pass; empty for nothing.
        wait_minutes: At least so long.
    """

    shown: SheetStep
    wait: str = ""
    wait_minutes: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class DayLine:
    """One line of the day's list.

    Attributes:
        start: When, as on a clock.
        what: Is done.
        minutes: Hands-on.
        then: What must pass behind it, and until when; empty for nothing.
    """

    start: str
    what: str
    minutes: int
    then: str = ""


def steps_page(stamp: Stamp, key: str, steps: Sequence[BenchStep]) -> bytes:
    """Return the steps of an article as a page; the phone keeps ticks, readings and timers.

    Args:
        stamp: For its head.
        key: Under which the phone keeps them, such as the id of the design.
        steps: In order.
    """
    body = ['<p><a href="./">All pages</a></p>']
    for number, one in enumerate(steps, start=1):
        body += step_section(number, one.shown, _timer(one))
    return sheet_page(stamp, "at the bench", body, _more(f"{key} {stamp.revision}"))


def day_page(title: str, day: str, lines: Sequence[DayLine]) -> bytes:
    """Return the list of a day as a page with ticks."""
    body = ['<p><a href="./">All pages</a></p>']
    body += [
        f'<section id="line-{n}"><h2><label><input type="checkbox"> {escape(one.start)} '
        f"{escape(one.what)}</label> <small>{one.minutes} min</small></h2>"
        f"{f'<p>Then {escape(one.then)}</p>' if one.then else ''}</section>"
        for n, one in enumerate(lines, start=1)
    ]
    if not lines:
        body.append("<p>Nothing is planned for this day, or all of it is done.</p>")
    stamp = Stamp(title=title, revision="", day=day)
    return sheet_page(stamp, "the day", body, _more(f"day {day}"))


def list_page(title: str, links: Sequence[tuple[str, str]]) -> bytes:
    """Return the page that leads to the others: (words, address)."""
    rows = "".join(
        f'<section><h2><a href="{escape(to)}">{escape(words)}</a></h2></section>'
        for words, to in links
    )
    empty = "<p>Nothing is shown yet: choose a design on its Papers page.</p>"
    stamp = Stamp(title=title, revision="", day="")
    return sheet_page(stamp, "at the bench", [rows or empty], _more(""))


def _timer(one: BenchStep) -> str:
    if not one.wait_minutes:
        return ""
    words = f"{one.wait}, {_long(one.wait_minutes)}"
    return (
        f'<p class="timer"><button type="button" data-minutes="{one.wait_minutes}" '
        f'data-words="{escape(words)}">Start the timer: {escape(words)}</button></p>'
    )


def _long(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    return " ".join(filter(None, (f"{hours} h" if hours else "", f"{rest} min" if rest else "")))


def _more(key: str) -> str:
    return f"<style>{_STYLE}</style><script>{script_for(key)}</script>"


def script_for(key: str) -> str:
    """Return the script of a page whose marks are kept under a key."""
    return _SCRIPT.replace("KEY", json.dumps(f"hidewright {key}").replace("<", "\\u003c"))


def script_hash(page: bytes) -> str:
    """Return the digest by which a content policy allows the script of a page, and no other."""
    script = page.partition(b"<script>")[2].partition(b"</script>")[0]
    return f"sha256-{base64.b64encode(hashlib.sha256(script).digest()).decode()}"


_STYLE = """
.timer button { font: inherit; min-height: 48px; padding: .5rem 1rem; border-radius: 8px;
  border: 2px solid #1c1a18; background: #fff; color: #1c1a18; text-align: left; }
.timer button.on { background: #1c1a18; color: #fff; }
.timer button.over { background: #fff; border-style: double; border-width: 6px; }
section:has(h2 input:checked) .step { display: none; }
h2 label { display: inline-block; min-height: 44px; }
h2 input[type=checkbox] { width: 28px; height: 28px; vertical-align: middle; }
.measure input { font: inherit; min-height: 44px; box-sizing: border-box; padding: 0 .5rem; }
a { color: #6d2d0c; display: inline-block; min-height: 44px; line-height: 44px; }
"""

_SCRIPT = """
addEventListener("DOMContentLoaded", () => {
  const key = KEY;
  const kept = JSON.parse(localStorage.getItem(key) || "{}");
  const keep = () => localStorage.setItem(key, JSON.stringify(kept));
  document.querySelectorAll("section").forEach((section, s) => {
    section.querySelectorAll("input").forEach((input, i) => {
      const name = section.id + " " + i;
      const tick = input.type === "checkbox";
      if (name in kept) tick ? (input.checked = kept[name]) : (input.value = kept[name]);
      input.addEventListener("input", () => {
        kept[name] = tick ? input.checked : input.value;
        keep();
      });
    });
    section.querySelectorAll(".timer button").forEach((button) => {
      const name = section.id + " timer";
      const show = () => {
        const end = kept[name];
        button.classList.toggle("on", !!end && end > Date.now());
        button.classList.toggle("over", !!end && end <= Date.now());
        if (!end) button.textContent = "Start the timer: " + button.dataset.words;
        else if (end > Date.now()) {
          const left = Math.ceil((end - Date.now()) / 1000);
          const two = (n) => String(n).padStart(2, "0");
          button.textContent = button.dataset.words + ": " + Math.floor(left / 3600) + ":" +
            two(Math.floor(left / 60) % 60) + ":" + two(left % 60) + " left. Press to stop.";
        } else {
          const at = new Date(end).toTimeString().slice(0, 5);
          button.textContent = button.dataset.words + ": over since " + at + ". Press to clear.";
        }
      };
      button.addEventListener("click", () => {
        kept[name] = kept[name] ? 0 : Date.now() + 60000 * Number(button.dataset.minutes);
        keep();
        show();
      });
      show();
      setInterval(show, 1000);
    });
  });
});
"""
