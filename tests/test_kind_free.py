"""Free designs: the maker's own outlines reach the pack as drawn, and their seams meet."""

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.kinds.free import FREE
from hidewright.design.kinds.free_measures import (
    FreeBlank,
    FreeEdge,
    FreeHollow,
    FreeMeasures,
    FreePiece,
    FreeSeam,
    FreeZone,
    from_corners,
)
from hidewright.design.specification import Specification
from hidewright.drawing.read_outlines import read_outlines
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats, Point
from hidewright.geometry.shapes import rectangle
from hidewright.store.design_file import read_design
from hidewright.store.write_design import write_design
from hidewright.tooling.acceptance.carried import accept_fit
from hidewright.workshop.acceptance import faults_of_seams
from hidewright.workshop.article import NODES
from hidewright.workshop.begin import begin
from hidewright.workshop.begin_free import begin_from_outlines
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of
from run_here import run

SHELF = built_in_catalogue()

#: A front with a hollow open at its upper edge and an eye, a back as its mirror image, some words.
#: The pieces lean differently, so neither lies as it is sewn.
SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="250mm" viewBox="0 0 400 250">
<g transform="rotate(20 70 80)">
<path id="front" d="M 20 20 H 120 V 110 A 30 30 0 0 1 90 140 H 60 L 20 100 Z"/>
<path id="hollow" d="M 40 20 H 104 V 105 A 15 15 0 0 1 89 120 H 65 A 25 25 0 0 1 40 95 Z"/>
<circle id="eye" cx="112" cy="40" r="2"/>
</g>
<g transform="rotate(-35 270 80)">
<path id="back" d="M 320 20 H 220 V 110 A 30 30 0 0 0 250 140 H 280 L 320 100 Z"/>
</g>
<text x="3" y="8">grain side</text>
</svg>"""


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    file = tmp_path / "pieces.svg"
    file.write_text(SVG, encoding="utf-8")
    return file


def _from_svg(svg: str) -> Specification[Any]:
    reading = read_outlines(svg.encode(), name="pieces.svg")
    return begin_from_outlines(reading, SHELF)[0]


def _with(spec: Specification[Any], **changed: Any) -> Specification[Any]:
    measures = replace(spec.brief.measures, **changed)
    return replace(spec, brief=replace(spec.brief, measures=measures))


def _named(drawn: Outline, sewn: tuple[str, ...]) -> Outline:
    return drawn.renamed(lambda span: "rim" if span in sewn else span)


def _sewn(spec: Specification[Any]) -> Specification[Any]:
    """Return the drawing's article with all its edges but the mouth sewn."""
    front, back = spec.brief.measures.pieces
    # each outline's straight upper edge of 100 mm is its mouth
    pieces = []
    for piece in (front, back):
        spans = piece.outline.spans
        mouth = next(s for s in spans if abs(piece.outline.span_path(s).length - 100.0) < 1e-3)
        rim = _named(piece.outline, tuple(s for s in spans if s != mouth))
        pieces.append(replace(piece, outline=rim, side="back" if piece.name == "back" else "front"))
    seam = FreeSeam(
        name="rim",
        edges=(
            FreeEdge(piece="front", span="rim"),
            FreeEdge(piece="back", span="rim", backwards=True),
        ),
    )
    return _with(spec, pieces=tuple(pieces), seams=(seam,))


def _refusal(spec: Specification[Any]) -> RequestError:
    with pytest.raises(RequestError) as refused:
        FREE.construct(spec.brief)
    return refused.value


def test_a_drawing_becomes_pieces_with_their_zone_hole_and_mouth() -> None:
    front, back = _from_svg(SVG).brief.measures.pieces
    assert (front.name, back.name) == ("front", "back")
    (zone,), (hole,) = front.zones, front.holes
    assert (zone.name, hole.name, hole.diameter_mm) == (
        "hollow",
        "eye",
        pytest.approx(4.0, abs=0.02),
    )
    assert (zone.depth_mm, zone.crown_radius_mm, zone.lip_radius_mm) == (10.0, 3.0, 2.0)
    assert len(zone.mouths) == 1
    assert zone.outline.span_path(zone.mouths[0]).length == pytest.approx(64.0, abs=1e-3)
    assert (back.zones, back.holes) == ((), ())


def test_spans_go_from_corner_to_corner_and_a_smooth_outline_is_one() -> None:
    front, _ = _from_svg(SVG).brief.measures.pieces
    # five sides and one tangent arc: top, right with the arc and the bottom, slope, left
    lengths = [front.outline.span_path(s).length for s in front.outline.spans]
    wanted = [100.0, 90.0 + 15.0 * math.pi + 30.0, 40.0 * math.sqrt(2.0), 80.0]
    assert sorted(lengths) == pytest.approx(sorted(wanted), abs=1e-3)
    assert front.outline.spans == ("side 1", "side 2", "side 3", "side 4")
    smooth = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" '
        'viewBox="0 0 90 90"><ellipse id="e" cx="45" cy="45" rx="40" ry="25"/></svg>'
    )
    (piece,) = _from_svg(smooth).brief.measures.pieces
    assert piece.outline.spans == ("rim",)


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_a_drawn_and_sewn_article_is_written_and_read_back_the_same(unit: str) -> None:
    for spec in (_from_svg(SVG), _sewn(_from_svg(SVG))):
        text = write_design(spec, unit="in" if unit == "in" else "mm")
        back = read_design(text.encode(), name="x.yaml").specification
        if unit == "mm":
            assert back == spec
        else:
            assert write_design(back) == write_design(spec)


@pytest.mark.slow
def test_from_drawing_to_pack_the_outlines_stay_as_drawn(
    drawing: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, target = tmp_path / "sleeve.yaml", tmp_path / "pack"
    assert run("begin", "free", "--outlines", str(drawing), "--out", str(file)) == 0
    told = capsys.readouterr().err
    assert "text" in told
    assert "zone hollow open at" in told
    assert "# seams:" in file.read_text(encoding="utf-8")
    assert run("check", str(file), "--json") == 0
    assert {r["severity"] for r in json.loads(capsys.readouterr().out)} <= {"note", "warning"}
    assert run("pack", str(file), "--out", str(target)) == 0
    packed = (target / "design.yaml").read_bytes()
    measures = read_design(packed, name="design.yaml").specification.brief.measures
    drawn = read_outlines(drawing.read_bytes(), name=drawing.name)
    for piece in measures.pieces:
        assert _apart(piece.outline, drawn.outline(piece.name)) < 0.01
    assert _apart(measures.pieces[0].zones[0].outline, drawn.outline("hollow")) < 0.01
    # the pattern is of the same shape, wherever it lies: by its length and its area
    for name in ("front", "back"):
        pattern, wanted = _largest(target / f"patterns/{name}.dxf"), drawn.outline(name)
        assert pattern.length == pytest.approx(wanted.length, abs=0.01)
        assert pattern.area == pytest.approx(wanted.area, abs=0.5)


def _largest(file: Path) -> Outline:
    found = []
    for line in ezdxf.readfile(file).modelspace().query("LWPOLYLINE"):
        if line.closed:
            points = line.get_points("xyb")
            found.append(from_corners([((x, y), bulge, "") for x, y, bulge in points]))
    return max(found, key=lambda one: one.area)


def _apart(one: Outline, two: Outline) -> float:
    there = max(two.nearest((float(x), float(y)))[1] for x, y in one.flat_points())
    back = max(one.nearest((float(x), float(y)))[1] for x, y in two.flat_points())
    return max(there, back)


def test_a_dxf_in_inches_gives_the_same_piece(tmp_path: Path) -> None:
    document = ezdxf.new("R2010", units=1)
    corners = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)]
    document.modelspace().add_lwpolyline(corners, close=True, dxfattribs={"layer": "flap"})
    file = tmp_path / "flap.dxf"
    document.saveas(file)
    out = tmp_path / "flap.yaml"
    assert run("begin", "free", "--outlines", str(file), "--out", str(out)) == 0
    spec = read_design(out.read_bytes(), name=out.name).specification
    (piece,) = spec.brief.measures.pieces
    assert piece.outline.bounds == pytest.approx((0.0, 0.0, 101.6, 76.2), abs=1e-6)
    assert run("pack", str(out), "--out", str(tmp_path / "flap")) == 0


def test_a_seam_assigned_between_leaning_pieces_gives_holes_that_meet() -> None:
    spec = _sewn(_from_svg(SVG))
    values = evaluate(NODES, inputs_of(spec, "A4"), ("design", "sewn"), Cache()).values
    (design, _), (seams, remarks) = values["design"], values["sewn"]
    assert not [r for r in remarks if r.severity == "forbids"]
    # by an independent reckoning: the back's frame is a mirrored, turned and shifted front's
    front, back = ([h.at for h in layer.holes] for layer in seams[0].layers)
    assert len(front) == len(back) > 60
    one, two = np.array(front), np.array(back)
    assert _gaps(one) == pytest.approx(_gaps(two), abs=1e-3)
    assert not faults_of_seams(design.pieces, design.seams, design.assembly, design.leathers, seams)


def _gaps(points: Floats) -> Floats:
    out: Floats = np.linalg.norm(points[:, None] - points[None], axis=2)
    return out.ravel()


def test_a_smooth_rim_sewn_all_round_meets_wherever_its_outlines_begin() -> None:
    egg = from_corners(
        [((40.0, 0.0), 0.6, "rim"), ((-5.0, 30.0), 0.5, "rim"), ((-8.0, -28.0), 0.45, "rim")]
    )
    turned = from_corners(
        [((s.start[0], s.start[1]), s.bulge, s.span) for s in egg.mirrored().segments[1:]]
        + [(s.start, s.bulge, s.span) for s in egg.mirrored().segments[:1]]
    ).moved(200.0, 30.0)
    pieces = (
        FreePiece(name="front", outline=egg),
        FreePiece(name="back", side="back", outline=turned),
    )
    spec = _with(begin("free", SHELF), pieces=pieces, blanks=(), hollows=())
    values = evaluate(NODES, inputs_of(spec, "A4"), ("design", "sewn"), Cache()).values
    design, (seams, _) = values["design"][0], values["sewn"]
    assert not faults_of_seams(design.pieces, design.seams, design.assembly, design.leathers, seams)


def test_a_lining_lies_between_front_and_back_as_drawn() -> None:
    spec = begin("free", SHELF)
    front, back = spec.brief.measures.pieces
    lining = replace(front, name="lining", zones=())
    (seam,) = spec.brief.measures.seams
    first, last = seam.edges
    three = replace(seam, edges=(first, replace(first, piece="lining"), last))
    design = FREE.construct(_with(spec, pieces=(front, lining, back), seams=(three,)).brief)
    poses = {p.name: p.pose for p in design.assembly.panels}
    thick = spec.brief.leather("body").thickness_mm
    # flesh faces: the front's at 0, the lining's a thickness below, the back's against the lining's
    assert [poses[n].shift[2] for n in ("front", "lining", "back")] == pytest.approx(
        [0.0, -thick, -thick]
    )


def test_the_frame_of_a_piece_has_its_mouth_on_the_x_axis_and_the_piece_below() -> None:
    design = FREE.construct(_from_svg(SVG).brief)
    zone = design.piece("front").zones[0]
    mouth = zone.outline.span_path(zone.mouths[0])
    assert (*mouth.start, *mouth.end) == pytest.approx((32.0, 0.0, -32.0, 0.0), abs=1e-3)
    assert zone.outline.bounds[3] == pytest.approx(0.0, abs=1e-3)
    # the drawing leans by 20 degrees: it is turned back, and the backbone with it
    assert design.piece("front").stretch_angle == pytest.approx(math.radians(20.0), abs=1e-4)


def test_what_is_carried_fits_the_starter_that_was_sized_for_it() -> None:
    spec = begin("free", SHELF, things=(("sighting compass", 1),))
    (hollow,) = FREE.construct(spec.brief).hollows
    assert accept_fit(hollow, spec.brief.carried) == ()
    own = _from_svg(SVG).brief
    assert FREE.sized_for(own.measures, spec.brief.carried) == own.measures


def _spot(x: float, y: float, wide: float = 10.0) -> Outline:
    return rectangle(wide, wide, 4.0).moved(x, y)


PIECE = FreePiece(name="tag", outline=rectangle(80.0, 60.0, 10.0).renamed(lambda _: "rim"))
ALONE = FreeMeasures(pieces=(PIECE,), seams=(), blanks=(), hollows=())
MOULDED = replace(PIECE, zones=(FreeZone(name="boss", outline=_spot(0.0, 0.0, 30.0)),))


def _edge(piece: str, span: str = "rim", backwards: bool = False) -> FreeEdge:
    return FreeEdge(piece=piece, span=span, backwards=backwards)


def _seam(*edges: FreeEdge) -> tuple[FreeSeam, ...]:
    return (FreeSeam(name="edge", edges=edges),)


OTHER = replace(PIECE, name="lid", side="back")
SMALLER = replace(OTHER, outline=rectangle(78.0, 60.0, 10.0).renamed(lambda _: "rim"))


@pytest.mark.parametrize(
    ("measures", "where", "said"),
    [
        (replace(ALONE, pieces=()), "measures.pieces", "no piece"),
        (replace(ALONE, pieces=(PIECE, PIECE)), "measures.pieces.2.name", "two are called"),
        (
            replace(ALONE, pieces=(replace(PIECE, role="lining"),)),
            "measures.pieces.1.role",
            "no leather",
        ),
        (
            replace(ALONE, seams=_seam(_edge("tag"), _edge("lid"))),
            "measures.seams.1.edges.2.piece",
            "no piece is called 'lid'",
        ),
        (
            replace(ALONE, pieces=(PIECE, OTHER), seams=_seam(_edge("tag"), _edge("lid", "side"))),
            "measures.seams.1.edges.2.span",
            "It has: rim",
        ),
        (
            replace(ALONE, pieces=(PIECE, OTHER), seams=_seam(_edge("tag"), _edge("lid"))),
            "measures.seams.1.edges.2.backwards",
            "Write backwards: true",
        ),
        (
            replace(
                ALONE,
                pieces=(PIECE, SMALLER),
                seams=_seam(_edge("tag"), _edge("lid", backwards=True)),
            ),
            "measures.seams.1.edges.2",
            "apart",
        ),
        (replace(ALONE, seams=_seam(_edge("tag"))), "measures.seams.1.edges", "two or more"),
        (
            replace(
                ALONE,
                pieces=(replace(PIECE, zones=(FreeZone(name="boss", outline=_spot(38.0, 0.0)),)),),
                blanks=(FreeBlank(name="b", pieces=("tag",)),),
            ),
            "measures.pieces.1.zones.1",
            "beyond the piece",
        ),
        (
            replace(
                ALONE,
                pieces=(
                    replace(
                        PIECE,
                        zones=(
                            FreeZone(name="boss", outline=_spot(0.0, 0.0)),
                            FreeZone(name="dome", outline=_spot(6.0, 0.0)),
                        ),
                    ),
                ),
            ),
            "measures.pieces.1.zones.2",
            "overlap",
        ),
        (
            replace(
                ALONE,
                pieces=(replace(MOULDED, zones=(replace(MOULDED.zones[0], mouths=("top",)),)),),
            ),
            "measures.pieces.1.zones.1.mouths",
            "is not straight",
        ),
        (replace(ALONE, pieces=(MOULDED,)), "measures.blanks", "pieces: [tag]"),
        (
            replace(
                ALONE, pieces=(MOULDED,), blanks=(FreeBlank(name="b", pieces=("tag",), pair=True),)
            ),
            "measures.blanks.1.pair",
            "without its one mouth",
        ),
        (
            replace(ALONE, blanks=(FreeBlank(name="b", pieces=("tag",)),)),
            "measures.blanks.1.pieces",
            "no moulded zone",
        ),
        (
            replace(
                ALONE,
                pieces=(MOULDED,),
                blanks=(FreeBlank(name="b", pieces=("tag",)),),
                hollows=(FreeHollow(zone="tag/dome"),),
            ),
            "measures.hollows.1.zone",
            "It has: boss",
        ),
        (
            replace(
                ALONE, pieces=(replace(PIECE, zones=(replace(MOULDED.zones[0], depth_mm=900),)),)
            ),
            "measures.pieces.1.zones.1.depth",
            "Allowed: 1 mm to 100 mm",
        ),
    ],
)
def test_what_cannot_be_made_is_refused_at_its_field(
    measures: FreeMeasures, where: str, said: str
) -> None:
    spec = begin("free", SHELF)
    refused = _refusal(replace(spec, brief=replace(spec.brief, measures=measures)))
    assert refused.where == where
    assert said in str(refused)


TEXT = write_design(begin("free", SHELF))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("at: [-10, 0]", "at: [-10]", "measures.pieces.1.outline.1.at"),
        ("at: [-10, 0]", "at: [-10 ft, 0]", "3 1/8 in"),
        ("at: [-10, 0]", "at: [.nan, 0]", "not a plain number"),
        ("at: [-10, 0]", "at: [1e300, 0]", "within 100 m"),
        ("{at: [-10, 0], span: mouth}", "{span: mouth}", "Write {at: [x, y], span: name}"),
        ("{at: [-10, 0], span: mouth}", "[-10, 0, 0, 0]", "is no corner"),
        ("{at: [-10, 0], span: mouth}", "{at: [-98, 0]}", "same point"),
        ("{at: [-10, 0], span: mouth}", "{at: [-60, -200], span: mouth}", "crosses or touches"),
        ("bulge: 0.4142135624", "bulge: round", "measures.pieces.1.outline.3.bulge"),
        ("depth: 12 mm", "depth: 12", "measures.pieces.1.zones.1.depth"),
        ("depth: 12 mm", "depht: 12 mm", "depth"),
        ("side: front", "side: left", "front, back"),
        ("backwards: true", "backwards: yes", "neither true nor false"),
        ("pieces: [front]", "pieces: front", "not a list"),
    ],
)
def test_a_wrong_value_is_refused_with_its_line_and_field(old: str, new: str, said: str) -> None:
    line = next(i for i, text in enumerate(TEXT.splitlines(), 1) if old in text)
    with pytest.raises(RequestError) as refused:
        read_design(TEXT.replace(old, new, 1).encode(), name="x.yaml")
    assert said in str(refused.value)
    at = int(refused.value.where.split("line ")[1].split(",")[0])
    # what is wrong with an outline as a whole is told where it begins
    assert at == line or ("outline" in refused.value.where and line - 6 <= at <= line)


def test_lists_left_out_beside_pieces_are_empty() -> None:
    begun = TEXT.index("  seams:\n")
    text = TEXT[:begun] + "\n" + TEXT[TEXT.index("leathers:\n") :]
    measures = read_design(text.encode(), name="x.yaml").specification.brief.measures
    assert (measures.seams, measures.blanks, measures.hollows) == ((), (), ())
    assert measures.pieces == FreeMeasures().pieces


@pytest.mark.parametrize(
    ("old", "new", "field", "at"),
    [
        ("- piece: back ", "- piece: bakc ", "measures.seams.1.edges.2.piece", "- piece: back "),
        ("at: [98, 0]", "at: [97, 0]", "measures.seams.1.edges.2", "- piece: back "),
        ("at: [-85, 0]", "at: [-80, -5]", "measures.pieces.1.zones.1.mouths", "mouths: [mouth]"),
        (
            "crown_radius: 3 mm",
            "crown_radius: 20 mm",
            "measures.pieces.1.zones.1",
            "- name: hollow ",
        ),
    ],
)
def test_a_refusal_of_the_design_names_line_and_field_of_the_file(
    old: str, new: str, field: str, at: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "x.yaml"
    assert old in TEXT
    file.write_text(TEXT.replace(old, new), encoding="utf-8")
    line = next(i for i, t in enumerate(TEXT.splitlines(), 1) if at in t)
    assert run("check", str(file)) == 2
    assert f"x.yaml line {line}, {field}" in capsys.readouterr().err


def _svg(inside: str) -> str:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" '
        f'viewBox="0 0 90 90">{inside}</svg>'
    )


@pytest.mark.parametrize(
    ("drawn", "said"),
    [
        (_svg(""), "no closed outline"),
        (
            _svg('<path id="edge" d="M 1 1 H 50 V 50"/>'),
            "these stayed open: edge, its ends 69.30 mm",
        ),
        (_svg('<text x="5" y="9">a tongue</text>'), "text was left out, as words are not outlines"),
    ],
)
def test_a_drawing_without_closed_outlines_is_refused_in_words(
    drawn: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "d.svg"
    file.write_text(drawn, encoding="utf-8")
    assert run("begin", "free", "--outlines", str(file)) == 2
    assert said in capsys.readouterr().err


def test_outlines_are_for_the_free_kind_only(
    drawing: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("begin", "open tray", "--outlines", str(drawing)) == 2
    assert "begin free" in capsys.readouterr().err


def test_closed_gaps_open_paths_and_what_is_left_out_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "d.svg"
    file.write_text(
        _svg(
            '<path id="tag" d="M 1 1 H 60 V 60 H 1 V 1.03"/><path id="loose" d="M 70 1 V 50"/>'
            '<rect id="boss" x="10" y="10" width="40" height="40"/>'
            '<rect id="rib" x="20" y="20" width="15" height="15"/>'
            '<rect id="inlay" x="24" y="24" width="5" height="5"/>'
        ),
        encoding="utf-8",
    )
    assert run("begin", "free", "--outlines", str(file), "--out", str(tmp_path / "d.yaml")) == 0
    told = capsys.readouterr().err
    assert "Closed a gap of 0.030 mm" in told
    assert "Left out loose: it is not closed" in told
    assert "zone boss with divider rib" in told
    assert "Left out inlay: it lies inside a divider of a moulded zone" in told


def test_a_pack_made_anyway_has_all_but_the_solid_that_its_radii_do_not_go_round(
    tmp_path: Path,
) -> None:
    """One hollow is drawn with sharp corners, the other with corners that its crown goes round."""
    file, design, out = tmp_path / "d.svg", tmp_path / "d.yaml", tmp_path / "pack"
    file.write_text(
        _svg(
            '<rect id="one" width="100" height="80"/>'
            '<rect id="two" x="110" width="100" height="80"/>'
            '<rect id="sharp" x="25" y="20" width="50" height="40"/>'
            '<rect id="round" x="135" y="20" width="50" height="40" rx="12"/>'
        ),
        encoding="utf-8",
    )
    assert run("begin", "free", "--outlines", file, "--out", design) == 0
    assert run("pack", design, "--out", out) == 1
    assert not out.exists()
    assert run("pack", design, "--out", out, "--anyway") == 0
    made = {path.name for path in out.rglob("*")}
    assert {name for name in made if name.endswith(".stl")} == {
        "two round plug.stl",
        "two round frame.stl",
    }
    cut = "".join(path.read_text(encoding="utf-8") for path in (out / "cut").glob("*.svg"))
    assert "one plug sharp" in cut
    assert {"one.dxf", "two.dxf", "index.html"} <= made


@pytest.mark.parametrize(
    ("left", "crosses"), [(40, False), (59, True), (60, False), (61, False), (80, False)]
)
def test_a_zone_drawn_over_its_pieces_edge_is_told_of_and_a_piece_beside_another_is_not(
    left: int, crosses: bool
) -> None:
    """The piece ends at x = 60; a zone of 20 mm may touch that line from either side."""
    tag = '<rect id="tag" width="60" height="60"/>'
    svg = _svg(f'{tag}<rect id="zone" x="{left}" y="5" width="20" height="40"/>')
    spec, said = begin_from_outlines(read_outlines(svg.encode(), name="d.svg"), SHELF)
    told = [one for one in said if "cross" in one]
    assert [one.partition(":")[0] for one in told] == ["tag and zone cross"] * crosses
    assert len(spec.brief.measures.pieces) == 1 + (left > 40)


def test_an_outline_inside_a_zone_becomes_a_divider_with_the_floor_its_block_hangs_from() -> None:
    spec = _from_svg(
        _svg(
            '<rect id="tray" x="0" y="0" width="120" height="90"/>'
            '<rect id="hollow" x="15" y="15" width="90" height="60" rx="10"/>'
            '<rect id="rib" x="54" y="28" width="12" height="34" rx="5.9"/>'
            '<circle id="vent" cx="30" cy="45" r="2"/>'
        )
    )
    (piece,) = spec.brief.measures.pieces
    (zone,), (vent,) = piece.zones, piece.holes
    (rib,) = zone.islands
    assert (vent.name, rib.name) == ("vent", "rib")
    assert (rib.outline.width, rib.outline.height) == pytest.approx((12.0, 34.0), abs=0.02)
    assert spec.tooling.cavity_floor
    (made,) = FREE.construct(spec.brief).pieces[0].zones
    (island,) = made.islands
    # in the piece's frame as in the drawing: half way between the hollow's ends
    assert made.outline.bounds[0] + made.outline.bounds[2] == pytest.approx(
        island.outline.bounds[0] + island.outline.bounds[2], abs=0.02
    )
    assert not _from_svg(SVG).tooling.cavity_floor


def test_what_is_carried_is_checked_against_the_drawn_hollow(drawing: Path, tmp_path: Path) -> None:
    for thing, tight in (("sighting compass", True), ("specimen labels", False)):
        file = tmp_path / f"{thing}.yaml"
        begun = ("begin", "free", "--outlines", str(drawing), "--carry", thing)
        assert run(*begun, "--out", str(file)) == 0
        text = file.read_text(encoding="utf-8").replace("depth: 10 mm", "depth: 20 mm")
        spec = read_design(text.encode(), name=file.name).specification
        values = evaluate(NODES, inputs_of(spec, "A4"), ("fit remarks",), Cache()).values
        codes = [r.code for r in values["fit remarks"] if r.severity == "forbids"]
        # the hollow is 64 mm wide and 100 mm high: the compass of 100 x 60 mm has no room below
        assert codes == (["too-tight"] if tight else [])


def test_two_outlines_of_one_name_become_pieces_of_two_names() -> None:
    reading = read_outlines(SVG.encode(), name="x.svg")
    front, back = reading.outline("front"), reading.outline("back")
    same = tuple(replace(o, name="tag") for o in reading.outlines if o.outline in (front, back))
    spec, _ = begin_from_outlines(replace(reading, outlines=same), SHELF)
    assert [p.name for p in spec.brief.measures.pieces] == ["tag", "tag 2"]


def test_a_pair_faces_mouth_to_mouth_whichever_way_it_was_drawn() -> None:
    spec = _from_svg(SVG)
    front, back = spec.brief.measures.pieces
    blank = replace(spec.brief.measures.blanks[0], pair=True)
    refused = _refusal(_with(spec, blanks=(blank,)))
    assert refused.where == "measures.pieces.1.backbone"
    assert "backbone: -20.0000 deg" in str(refused)
    along = replace(front, backbone_rad=-math.radians(20.0))
    paired = _with(spec, blanks=(blank,), pieces=(along, back))
    wanted = ("mouldings", "solid files")
    values = evaluate(NODES, inputs_of(paired, "A4"), wanted, Cache()).values
    assert not any(isinstance(value, Missing) for value in values.values())
    design = FREE.construct(paired.brief)
    one, two = design.blanks[0].places
    assert design.blanks[0].articles == 2
    ends: list[Point] = []
    zone = design.piece("front").zones[0]
    for place in (one, two):
        mouth = zone.outline.span_path(zone.mouths[0])
        turned = mouth.rotated(place.turn).moved(*place.shift)
        ends.append((turned.start[1], turned.end[1]))
    # the two mouths lie half the waste below and above the middle of the blank
    assert ends[0] == pytest.approx((-2.5, -2.5), abs=1e-3)
    assert ends[1] == pytest.approx((2.5, 2.5), abs=1e-3)
