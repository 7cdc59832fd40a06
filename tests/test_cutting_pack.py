"""A design's pack with the layout that it is cut by, and where its pieces show."""

import hashlib
import io
import json
import math
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from coarse_cache import CACHE
from hidewright.design.cut_layout import CutLayout
from hidewright.design.cutting import Placement
from hidewright.design.kinds.registry import kind_named
from hidewright.design.pose import Pose
from hidewright.design.stock_hide import StockHide
from hidewright.drawing.cut_layout import PLAN_MM, layout_drawings, plan_drawings
from hidewright.drawing.drawing import union_bounds
from hidewright.errors import RequestError
from hidewright.store.book import Book
from hidewright.store.book_hides import HIDES, leather_in_stock
from hidewright.store.book_stock import stock_quantities
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.store.hides_file import demo_hides
from hidewright.store.layout_file import demo_layouts, read_layouts, write_layouts
from hidewright.workshop import article
from hidewright.workshop.cutting.choice import choice_for
from hidewright.workshop.cutting.files import layout_files
from hidewright.workshop.cutting.in_pack import pack_layouts
from hidewright.workshop.cutting.layout import check_layout
from hidewright.workshop.cutting.shows import where_it_shows
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from run_here import run

LEATHER = "vegetable-tanned shoulder 1.4-1.6 mm"
LAY_IT_ANEW = (
    "hidewright cut 'examples/lens-case.yaml x 2' examples/compass-pouch.yaml --sets 12 "
    "--hide examples/workshop/hides.json --keep examples/workshop/layout.json"
)


def design_of(name: str) -> Any:
    brief = read_design(demo_designs()[name], name=name).specification.brief
    return kind_named(brief.kind).construct(brief)


@pytest.fixture(scope="module")
def cut() -> CutLayout:
    (layout,) = demo_layouts()
    return layout


@pytest.fixture(scope="module")
def pouch() -> dict[str, Any]:
    spec = read_design(demo_designs()["compass-pouch.yaml"], name="p").specification
    wanted = ("design", "pressed blanks")
    return dict(evaluate(article.NODES, inputs_of(spec, "A4"), wanted, CACHE).values)


# -- the demo's layout


def test_the_demo_batch_lies_on_its_two_hides(cut: CutLayout) -> None:
    assert dict(cut.articles) == {"Lens case": 24, "Compass pouch": 12}
    assert check_layout(cut) == ()
    assert [hide.name for hide in cut.hides] == [
        stock.hide.name for stock in reversed(demo_hides())
    ]
    assert cut.used_hides == (0, 1)


@pytest.mark.slow
def test_the_demo_layout_is_of_the_designs_as_they_are_however_long_the_search_took(
    cut: CutLayout, pouch: dict[str, Any]
) -> None:
    slower = replace(cut, seconds=cut.seconds + 100.0)
    files, remarks = pack_layouts((slower,), pouch["design"][0], pouch["pressed blanks"], "A4")
    assert remarks == (), LAY_IT_ANEW
    assert files == {f"layout/{name}": data for name, data in layout_files(cut, "A4").items()}
    assert {name.rpartition("/")[2].rpartition(".")[2] for name in files} == {
        "csv", "pdf", "svg", "dxf",
    }  # fmt: skip
    assert all(name.startswith("layout/") for name in files)
    assert len(files) == 2 + 4 * len(cut.used_hides)


def test_a_layout_of_another_version_is_left_out_and_told(
    cut: CutLayout, pouch: dict[str, Any]
) -> None:
    design, pressed = pouch["design"][0], pouch["pressed blanks"]

    def told(layout: CutLayout) -> str:
        files, (remark,) = pack_layouts((layout,), design, pressed, "A4")
        assert files == {}
        assert remark.severity == "warning"
        return remark.sentence

    wider = tuple(
        replace(one, outline=tuple((1.01 * x, y) for x, y in one.outline))
        if one.name == "Compass pouch: back"
        else one
        for one in cut.pieces
    )
    assert "the outline of Compass pouch: back has changed" in told(replace(cut, pieces=wider))
    gone = tuple(replace(p, name=p.name.replace(": back", ": rear")) for p in cut.pieces)
    assert "the design has no rear any more" in told(replace(cut, pieces=gone))
    back = next(k for k, p in enumerate(cut.pieces) if p.name == "Compass pouch: back")
    moved = tuple(replace(p, x_mm=p.x_mm + 15.0) if p.piece == back else p for p in cut.placements)
    assert "Cut it anew" in told(replace(cut, placements=moved))


def test_layouts_of_other_designs_and_of_boards_are_no_part_of_a_pack(
    cut: CutLayout, pouch: dict[str, Any]
) -> None:
    other = replace(cut, articles=(("Lens case", 24),))
    boards = replace(cut, question="fewest sheets")
    both = (other, boards)
    assert pack_layouts(both, pouch["design"][0], pouch["pressed blanks"], "A4") == ({}, ())


def test_a_plan_is_the_drawing_made_small_by_a_whole_number(cut: CutLayout) -> None:
    for plan, full in zip(plan_drawings(cut), layout_drawings(cut), strict=True):
        times = int(plan.title.rpartition(" ")[2])
        strokes = [one for one in plan.strokes if one.layer.name != "pointer"]
        left, bottom, right, top = union_bounds(one.curve.bounds for one in strokes)
        assert right - left <= PLAN_MM[0]
        assert top - bottom <= PLAN_MM[1]
        for small, large in zip(strokes, full.strokes, strict=True):
            assert small.curve.length * times == pytest.approx(large.curve.length)
        # one step larger would not fit
        sides = sorted((right - left, top - bottom))
        assert any(
            side * times / (times - 1) > room for side, room in zip(sides, PLAN_MM, strict=True)
        )


def test_every_mark_stands_clear_in_its_piece_or_beside_it_with_a_pointer(cut: CutLayout) -> None:
    ring = [(0, 0), (90, 0), (90, 80), (70, 80), (70, 20), (20, 20), (20, 80), (0, 80)]
    slim = [(0.0, 0.0), (80.0, 0.0), (80.0, 2.0), (0.0, 2.0)]
    horseshoe = replace(
        cut.pieces[0], name="x: horseshoe", outline=tuple(ring), holes=(), others=()
    )
    lace = replace(horseshoe, name="x: lace", outline=tuple(slim))
    hide = replace(cut.hides[0], outline=((0, 0), (3800, 0), (3800, 500), (0, 500)), flaws=())
    laid = [
        Placement(
            piece=k % 2, copy=k // 2, hide=0, x_mm=260.0 * k + 130.0, y_mm=200.0, angle_deg=15.0 * k
        )
        for k in range(14)
    ]
    odd = replace(cut, pieces=(horseshoe, lace), hides=(hide,), placements=tuple(laid))
    for drawing in (*plan_drawings(cut), *layout_drawings(odd), *plan_drawings(odd)):
        lines = [
            shapely.LineString(one.curve.flat_points())
            for one in drawing.strokes
            if one.layer.name not in ("pointer", "backbone direction")
        ]
        rings = {
            one.part: shapely.Polygon(one.curve.flat_points())
            for one in drawing.strokes
            if one.layer.name == "cut"
        }
        pointers = {one.part: one.curve for one in drawing.strokes if one.layer.name == "pointer"}
        boxes = {one.words: (shapely.Polygon(one.corners), one.height_mm) for one in drawing.texts}
        boxes.pop("backbone")
        assert boxes.keys() == rings.keys()
        for mark, (box, height) in boxes.items():
            assert min(box.distance(one) for one in lines) >= 0.19 * height
            others = [one for name, (one, _) in boxes.items() if name != mark]
            assert not any(box.intersects(one) for one in others)
            if mark not in pointers:
                assert rings[mark].contains(box)
                continue
            assert not any(one.intersects(box) for one in rings.values())
            begin, end = pointers[mark].flat_points().tolist()
            assert rings[mark].contains(shapely.Point(end))
            assert box.distance(shapely.Point(begin)) <= 0.35 * height + 1e-6
            pointer = shapely.LineString([begin, end])
            assert not any(pointer.intersects(one) for one in others)
    assert pointers.keys() >= {f"b{k}" for k in range(1, 8)}, "2 mm have no room for words"


def test_an_arrow_lies_along_the_backbone_outside_of_the_hide(cut: CutLayout) -> None:
    for degrees in (0.0, 90.0, 30.0):
        hides = tuple(replace(one, backbone_deg=degrees) for one in cut.hides)
        for plan, full in zip(
            plan_drawings(replace(cut, hides=hides)),
            layout_drawings(replace(cut, hides=hides)),
            strict=True,
        ):
            sides = [
                next(one.curve for one in drawing.strokes if one.layer.name == "cut")
                for drawing in (full, plan)
            ]
            turned = [math.atan2(*reversed(one.tangent_at(0.0))) for one in sides]
            for drawing, by in ((full, 0.0), (plan, turned[1] - turned[0])):
                strokes = [o for o in drawing.strokes if o.layer.name == "backbone direction"]
                edge = next(o.curve for o in drawing.strokes if o.layer.name.startswith("edge"))
                hide = shapely.Polygon(edge.flat_points())
                arrow = [o.curve.flat_points() for o in strokes]
                assert not any(hide.intersects(shapely.LineString(one)) for one in arrow)
                (x0, y0), (x1, y1) = arrow[0].tolist()
                off = math.atan2(y1 - y0, x1 - x0) - math.radians(degrees) - by
                assert math.remainder(off, math.pi) == pytest.approx(0.0, abs=1e-9)
                (text,) = [one for one in drawing.texts if one.words == "backbone"]
                assert not hide.intersects(shapely.Polygon(text.corners))
    (boards,) = layout_drawings(replace(cut, question="fewest sheets"))[:1]
    assert "backbone" not in [one.words for one in boards.texts], "boards have none"


def test_a_layout_file_reads_back_and_a_bad_one_is_refused_with_its_place(cut: CutLayout) -> None:
    assert read_layouts(write_layouts((cut,)), name="it.json") == (cut,)
    told = json.loads(write_layouts((cut,)))
    told[0]["placements"][3]["x_mm"] = "far"
    with pytest.raises(RequestError, match=r"it\.json.*placements\.3\.x_mm"):
        read_layouts(json.dumps(told).encode(), name="it.json")
    with pytest.raises(RequestError, match="no layouts can be read"):
        read_layouts(b"{", name="it.json")


def test_batch_yield_and_leather_go_on_to_the_lists(cut: CutLayout) -> None:
    choice = choice_for("Lens case", (cut,))
    assert choice.batch == 24
    assert choice.layouts == (cut,)
    ((leather, share),) = choice.yields
    assert leather == LEATHER
    assert share == pytest.approx(cut.pieces_m2 / cut.taken_m2)
    assert dict(choice.stock) == {LEATHER: pytest.approx(1.2 + 1.05, abs=1e-6)}
    bought = replace(cut, hide_ids=("", cut.hide_ids[1]))
    assert dict(choice_for("Lens case", (bought,)).stock)[LEATHER] == pytest.approx(
        cut.hides[1].area_mm2 / 1e6
    )
    assert choice_for("Specimen tray", (cut,)).layouts == ()


def test_the_pack_has_the_layout_in_its_manifest_and_contents_and_comes_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "pouch.yaml").write_bytes(demo_designs()["compass-pouch.yaml"])
    (tmp_path / "layout.json").write_bytes(write_layouts(demo_layouts()))
    words = ["pack", str(tmp_path / "pouch.yaml"), "--layout", str(tmp_path / "layout.json")]
    assert run(*words, "--out", str(tmp_path / "pack.zip")) == 0
    with zipfile.ZipFile(io.BytesIO((tmp_path / "pack.zip").read_bytes())) as pack:
        names = pack.namelist()
        manifest = json.loads(pack.read("manifest.json"))["files"]
        page = pack.read("index.html").decode()
        laid = [name for name in names if name.startswith("layout/")]
        for name in laid:
            assert manifest[name]["sha256"] == hashlib.sha256(pack.read(name)).hexdigest()
    assert "layout/cutting list A4.pdf" in laid
    assert any(name.startswith("layout/full size/") and name.endswith(".dxf") for name in laid)
    assert "Layout on hides" in page
    assert page.count("layout/plan ") >= 2
    capsys.readouterr()


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--hide", "shoulder:0.6 m2"], "a hide and a kept layout"),
        ([], "nothing of Specimen tray lies there"),
    ],
)
def test_a_pack_that_cannot_be_cut_so_is_refused(
    more: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "tray.yaml").write_bytes(demo_designs()["specimen-tray.yaml"])
    (tmp_path / "layout.json").write_bytes(write_layouts(demo_layouts()))
    words = ["pack", str(tmp_path / "tray.yaml"), "--layout", str(tmp_path / "layout.json")]
    assert run(*words, *more, "--out", str(tmp_path / "out")) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


# -- leather in stock


def test_leather_in_stock_is_that_of_the_hides_that_are_there(tmp_path: Path) -> None:
    with Book(tmp_path / "book.sqlite") as book:
        for number, stock in enumerate(demo_hides()):
            HIDES.put(book, str(number), stock)
        first = demo_hides()[0]
        HIDES.put(book, "cut", replace(first, state="cut"))
        HIDES.put(book, "goat", StockHide(hide=first.hide, material="goat"))
        assert leather_in_stock(book) == {
            LEATHER: pytest.approx(2.25, abs=1e-6),
            "goat": pytest.approx(1.2, abs=1e-6),
        }
        assert stock_quantities(book)["goat"] == pytest.approx(1.2, abs=1e-6)


# -- where a piece shows


@pytest.mark.parametrize(
    ("name", "shows"),
    [
        # a flap or strap that comes round to the front shows there, whatever the piece is called
        ("compass-pouch.yaml", {"front": "front", "back": "front"}),
        ("trowel-cover.yaml", {"front": "front", "back": "front"}),
        # a back without one is seen from behind alone
        ("tube-sleeve.yaml", {"front": "front", "back": "behind"}),
        # the pocket lies in the hollow of the tray that folds over it
        ("forceps-pocket.yaml", {"pocket": "inside", "outer": "front"}),
        # the lid comes down over the base, whose floor alone is bare
        ("label-box.yaml", {"base": "behind", "lid": "front"}),
        ("lens-case.yaml", {"front": "front", "back": "front", "strap": "front"}),
        ("specimen-tray.yaml", {"tray": "front"}),
    ],
)
def test_a_piece_shows_where_nothing_covers_it_in_the_closed_article(
    name: str, shows: dict[str, str]
) -> None:
    design = design_of(name)
    assert {one.name: where_it_shows(design, one) for one in design.pieces} == shows


def test_a_lining_is_told_by_its_role() -> None:
    design = design_of("tube-sleeve.yaml")
    back = replace(design.piece("back"), role="lining")
    assert where_it_shows(design, back) == "lining"


@settings(max_examples=25, deadline=None)
@given(x=st.floats(-200, 200), y=st.floats(-200, 200), angle=st.floats(-3.1, 3.1))
def test_where_the_article_lies_on_the_table_does_not_matter(
    x: float, y: float, angle: float
) -> None:
    design = design_of("tube-sleeve.yaml")
    c, s = math.cos(angle), math.sin(angle)
    by = Pose(rotation=((c, -s, 0.0), (s, c, 0.0), (0.0, 0.0, 1.0)), shift=(x, y, 0.0))
    panels = tuple(replace(p, pose=p.pose.then(by)) for p in design.assembly.panels)
    moved = replace(design, assembly=replace(design.assembly, panels=panels))
    for one in design.pieces:
        assert where_it_shows(moved, one) == where_it_shows(design, one)
