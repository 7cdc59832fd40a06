"""The build sheet and the first-off sheet as HTML pages that need nothing else."""

import base64
from collections.abc import Sequence
from html import escape

from hidewright.drawing.build_sheet import SheetStep, Stamp
from hidewright.drawing.drawing import Drawing
from hidewright.drawing.first_off_sheet import COLUMNS, FirstOffRow
from hidewright.drawing.line_styles import number
from hidewright.drawing.svg import BORDER_MM, to_svg

#: Pictures are this many times as large on the page as on paper.
SHOWN = 1.5


def build_sheet_html(stamp: Stamp, lead: str, steps: Sequence[SheetStep]) -> bytes:
    """Return the build sheet as UTF-8 HTML: one section a step, with a box to tick."""
    body = [
        f"<p>{escape(lead)}</p>",
        *(line for n, step in enumerate(steps, start=1) for line in step_section(n, step)),
    ]
    return sheet_page(stamp, "build sheet", body)


def first_off_html(stamp: Stamp, lead: str, rows: Sequence[FirstOffRow]) -> bytes:
    """Return the first-off sheet as UTF-8 HTML: a table with a field for what is found."""
    body = [
        f"<p>{escape(lead)}</p>",
        '<table class="readings"><thead><tr>',
        *(f'<th scope="col">{escape(name)}</th>' for name, _ in COLUMNS),
        "</tr></thead><tbody>",
    ]
    for row in rows:
        found = f'<input type="text" size="8" aria-label="{escape(row.what)}">'
        cells = [
            f'<td data-of="{name}">{found if name == "found" else escape(words)}</td>'
            for words, (name, _) in zip(row.cells, COLUMNS, strict=True)
        ]
        body.append(f"<tr>{''.join(cells)}</tr>")
    return sheet_page(stamp, "first-off sheet", [*body, "</tbody></table>"])


def step_section(number: int, step: SheetStep, more: str = "") -> list[str]:
    """Return the lines of one step.

    Args:
        number: Of the step.
        step: As it is shown.
        more: HTML that stands under its words.
    """
    once = " <small>first-off only</small>" if step.once else ""
    out = [
        f'<section id="step-{number}"><h2><label><input type="checkbox"> {number}. '
        f"{escape(step.title)}</label>{once} <small>{escape(step.time)}</small></h2>"
        '<div class="step"><div>',
        f"<p>{escape(step.how)}</p>",
    ]
    if step.figures:
        rows = "".join(
            f'<tr><th scope="row">{escape(label)}</th><td>{escape(value)}</td></tr>'
            for label, value in step.figures
        )
        out.append(f"<table>{rows}</table>")
    if step.wait:
        out.append(f"<p><b>Then:</b> {escape(step.wait)}</p>")
    out += [f'<p class="caution">{escape(words)}</p>' for words in step.cautions]
    out += [
        f'<p class="measure"><label>Measure {escape(what)}'
        + (f" (should be {escape(expected)})" if expected else "")
        + ': <input type="text" size="10"></label></p>'
        for what, expected in step.measured
    ]
    out.append(f"{more}</div>")
    if step.picture:
        out.append(_picture(step.picture))
    return [*out, "</div></section>"]


def _picture(drawing: Drawing) -> str:
    data = base64.b64encode(to_svg(drawing)).decode()
    alt = escape(f"Drawing: {drawing.title}")
    left, _, right, _ = drawing.extent
    wide = number(SHOWN * (right - left + 2 * BORDER_MM))
    return f'<img src="data:image/svg+xml;base64,{data}" alt="{alt}" style="width:{wide}mm">'


def sheet_page(stamp: Stamp, what: str, body: Sequence[str], more: str = "") -> bytes:
    """Return a page that needs nothing else.

    Args:
        stamp: For its head.
        what: It is.
        body: Lines of its main part.
        more: Styles and scripts at the end of its head.
    """
    title = escape(f"{stamp.title}: {what}")
    told = escape(stamp.told)
    return "\n".join(
        [
            "<!doctype html>",
            '<html lang="en"><head><meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{title}</title><style>{_STYLE}</style>{more}</head><body>",
            f"<header><h1>{title}</h1><p>{told}</p></header><main>",
            *body,
            "</main><footer><p>Estimates until proved on a test piece; the makers' data sheets "
            "come first.</p></footer></body></html>",
            "",
        ]
    ).encode()


_STYLE = """
body { margin: 0; background: #fff; color: #1c1a18;
  font: 17px/1.45 system-ui, "DejaVu Sans", sans-serif; }
header, main, footer { max-width: 980px; margin: 0 auto; padding: .6rem 1rem; }
header { border-bottom: 2px solid #1c1a18; } h1 { margin: 0; font-size: 1.6rem; }
h2 { font-size: 1.15rem; margin: 0 0 .3rem; } h2 small { font-weight: normal; color: #504a44; }
section { border-top: 1px solid #8d857c; padding: .8rem 0; break-inside: avoid; }
.step { display: flex; flex-wrap: wrap; gap: 1.2rem; } .step > div { flex: 1 1 320px; }
.step img { max-width: 100%; height: auto; align-self: flex-start; }
p { margin: .3rem 0; max-width: 70ch; } input[type=checkbox] { width: 1.3em; height: 1.3em; }
table { border-collapse: collapse; } th, td { text-align: left; vertical-align: top;
  padding: .15rem .8rem .15rem 0; font-weight: normal; border-bottom: 1px solid #d9d3cb; }
th { color: #504a44; } thead th { border-bottom: 2px solid #1c1a18; }
.caution { border-left: 6px double #1c1a18; padding-left: .6rem; font-size: .95rem; }
footer { border-top: 2px solid #1c1a18; font-size: .9rem; }
@media screen and (max-width: 720px) { .readings thead, .readings td:empty { display: none; }
  .readings tr, .readings td { display: block; border: 0; }
  .readings tr { border-top: 1px solid #8d857c; padding: .6rem 0; }
  .readings td::before { content: attr(data-of) ": "; color: #504a44; } }
""".strip()
