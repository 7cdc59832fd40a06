"""The contents page of a pack: one HTML file that shows every drawing and needs nothing else."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from hidewright.drawing.line_styles import number
from hidewright.errors import Remark


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """One drawing shown on the page.

    Attributes:
        title: What it shows.
        svg: Path of the SVG in the pack.
        files: (words, path) of the files that hold the same drawing; the first opens on a click.
        note: One sentence, may be empty.
        view: (left, top, width, height) of what is shown of the SVG, in its own units; all of it
            when left out.
    """

    title: str
    svg: str
    files: tuple[tuple[str, str], ...]
    note: str = ""
    view: tuple[float, float, float, float] | None = None

    @property
    def source(self) -> str:
        """Where the picture comes from: the SVG, or a view of it (SVG 1.1, 17.3.2)."""
        if self.view is None:
            return self.svg
        return f"{self.svg}#svgView(viewBox({','.join(map(number, self.view))}))"


@dataclass(frozen=True, slots=True, kw_only=True)
class Chapter:
    """A heading with rows of facts, paragraphs of notes and pictures under it."""

    title: str
    facts: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()
    pictures: tuple[Picture, ...] = ()
    files: tuple[tuple[str, str], ...] = ()


def contents_page(
    *,
    title: str,
    lead: str,
    chapters: Sequence[Chapter],
    remarks: Sequence[Remark],
    cautions: Sequence[str],
) -> bytes:
    """Return the page as UTF-8 HTML: heading, remarks, chapters with pictures, cautions."""
    body = [
        f"<header><h1>{escape(title)}</h1><p>{escape(lead)}</p></header><main>",
        "<section><h2>Remarks</h2>",
        *_remarks(remarks),
        "</section>",
        *(line for chapter in chapters for line in _chapter(chapter)),
        *_cautions(cautions),
        "</main>",
    ]
    return _page(title, body).encode()


def chapters_page(
    *,
    title: str,
    lead: str,
    back: tuple[str, str],
    chapters: Sequence[Chapter],
    cautions: Sequence[str],
) -> bytes:
    """Return a page of its own that the contents page leads to, with large pictures.

    Args:
        title: Its heading.
        lead: What it is about.
        back: (words, path) of the way back to the contents.
        chapters: What is on it.
        cautions: At its end.
    """
    body = [
        f"<header><p>{_links((back,))}</p><h1>{escape(title)}</h1><p>{escape(lead)}</p></header>",
        '<main class="large">',
        *(line for chapter in chapters for line in _chapter(chapter)),
        *_cautions(cautions),
        "</main>",
    ]
    return _page(title, body).encode()


def kit_page(title: str, pictures: Sequence[Picture]) -> str:
    """Return a page that leads to several packs, one picture each."""
    body = [
        f"<header><h1>{escape(title)}</h1></header><main>",
        *_chapter(Chapter(title="Articles", pictures=tuple(pictures))),
        "</main>",
    ]
    return _page(title, body)


def _page(title: str, body: Sequence[str]) -> str:
    return "\n".join(
        [
            "<!doctype html>",
            '<html lang="en"><head><meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escape(title)}</title>",
            f"<style>{_STYLE}</style></head><body>",
            *body,
            "</body></html>",
            "",
        ]
    )


def _cautions(cautions: Sequence[str]) -> list[str]:
    return [
        '<section class="cautions"><h2>Cautions</h2><ul>',
        *(f"<li>{escape(c)}</li>" for c in cautions),
        "</ul></section>",
    ]


_ORDER = {"forbids": 0, "warning": 1, "note": 2}
_SAID = {"forbids": "must not be made so", "warning": "look at this", "note": "for your knowledge"}


def _remarks(remarks: Sequence[Remark]) -> list[str]:
    if not remarks:
        return ["<p>Nothing stands in the way.</p>"]
    out = ['<ul class="remarks">']
    for remark in sorted(remarks, key=lambda r: _ORDER[r.severity]):
        mend = "; ".join(
            f"{r.field}: {r.value}" + "".join(f", {f}: {v}" for f, v in r.also)
            for r in remark.remedies
        )
        out.append(
            f'<li class="{remark.severity}"><b>{escape(remark.place)}</b> '
            f"<i>{_SAID[remark.severity]}</i><br>{escape(remark.sentence)}"
            + (f'<br><span class="mend">Would mend it: {escape(mend)}</span>' if mend else "")
            + "</li>"
        )
    return [*out, "</ul>"]


def _chapter(chapter: Chapter) -> list[str]:
    out = [f"<section><h2>{escape(chapter.title)}</h2>"]
    if chapter.facts:
        out.append("<table>")
        out += [
            f"<tr><th scope='row'>{escape(name)}</th><td>{escape(value)}</td></tr>"
            for name, value in chapter.facts
        ]
        out.append("</table>")
    out += [f"<p>{escape(note)}</p>" for note in chapter.notes]
    if chapter.files:
        out.append(f"<p>{_links(chapter.files)}</p>")
    if chapter.pictures:
        out.append('<div class="pictures">')
        for picture in chapter.pictures:
            out.append(
                f'<figure><a href="{escape(picture.files[0][1])}">'
                f'<img src="{escape(picture.source)}" alt="Drawing: {escape(picture.title)}"></a>'
                f"<figcaption><b>{escape(picture.title)}</b>"
                + (f"<br>{escape(picture.note)}" if picture.note else "")
                + (f"<br>{_links(picture.files)}" if picture.files else "")
                + "</figcaption></figure>"
            )
        out.append("</div>")
    return [*out, "</section>"]


def _links(files: Sequence[tuple[str, str]]) -> str:
    return " · ".join(f'<a href="{escape(path)}">{escape(words)}</a>' for words, path in files)


_STYLE = """
:root { --ink: #2b2622; --paper: #faf7f2; --line: #d8cfc2; --accent: #7a4a1f; }
* { box-sizing: border-box; }
body { margin: 0; background: var(--paper); color: var(--ink);
  font: 17px/1.5 system-ui, "DejaVu Sans", sans-serif; }
header, main { max-width: 1180px; margin: 0 auto; padding: 1rem 1.5rem; }
header { border-bottom: 3px solid var(--accent); }
h1 { margin: .4rem 0 0; font-size: 2rem; } h2 { color: var(--accent); font-size: 1.35rem; }
table { border-collapse: collapse; } th, td { text-align: left; padding: .25rem .9rem .25rem 0;
  border-bottom: 1px solid var(--line); vertical-align: top; font-weight: normal; }
th { color: #5b5148; }
.pictures { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(330px, 100%), 1fr));
  gap: 1.2rem; }
figure { margin: 0; background: #fff; border: 1px solid var(--line); border-radius: 6px; }
figure img { display: block; width: 100%; height: 300px; object-fit: contain; padding: .6rem; }
.large .pictures { grid-template-columns: repeat(auto-fill, minmax(min(480px, 100%), 1fr)); }
.large figure img { height: min(500px, 110vw); } section p { max-width: 75ch; }
figcaption { border-top: 1px solid var(--line); padding: .6rem .8rem; font-size: .95rem; }
a { color: var(--accent); }
ul.remarks { list-style: none; padding: 0; } ul.remarks li { border-left: 6px solid var(--line);
  background: #fff; padding: .5rem .8rem; margin: .5rem 0; }
ul.remarks li.forbids { border-color: #a11d1d; } ul.remarks li.warning { border-color: #b8860b; }
.mend { color: #5b5148; } .cautions { font-size: .95rem; }
@media print { body { background: #fff; } figure { break-inside: avoid; }
  .large .pictures { grid-template-columns: 1fr 1fr; gap: 5mm; }
  .large figure img { height: 85mm; } figcaption { font-size: 9pt; } }
"""
