"""The files of a layout: full size for paper, projector and plotter, a plan, the cutting list."""

from hidewright.design.cut_layout import CutLayout
from hidewright.drawing.cut_layout import layout_drawings, plan_drawings
from hidewright.drawing.cut_list import to_csv, to_list_pdf
from hidewright.drawing.dxf import to_dxf
from hidewright.drawing.pdf import patterns_to_pdf
from hidewright.drawing.svg import to_svg
from hidewright.drawing.tiles import Paper
from hidewright.units.written import METRIC, Written
from hidewright.workshop.papers_chain import file_stem


def layout_files(layout: CutLayout, paper: Paper, written: Written = METRIC) -> dict[str, bytes]:
    """Return the files of a layout by path; rounds and seed that were equal give equal bytes."""
    files = {
        "cutting list.csv": to_csv(layout),
        f"cutting list {paper}.pdf": to_list_pdf(layout, paper, written),
    }
    for drawing, plan in zip(layout_drawings(layout), plan_drawings(layout), strict=True):
        stem = file_stem(drawing.title)
        files[f"plan {stem}.svg"] = to_svg(plan)
        files[f"full size/{stem}.svg"] = to_svg(drawing)
        files[f"full size/{stem}.dxf"] = to_dxf(drawing)
        files[f"full size/{stem} {paper}.pdf"] = patterns_to_pdf(
            [drawing], paper, f"{drawing.title}: {layout.title}"[:120], written
        )
    return files
