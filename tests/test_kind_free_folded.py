"""Free designs that are folded, cut out and set with fittings: closed, what is to meet meets."""

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.design import Design
from hidewright.design.kinds.free import FREE
from hidewright.design.kinds.free_measures import (
    FreeBlank,
    FreeCutOut,
    FreeEdge,
    FreeFitting,
    FreeFold,
    FreeHole,
    FreeMagnet,
    FreeMeasures,
    FreePiece,
    FreeSeam,
    FreeZone,
    from_corners,
)
from hidewright.design.kinds.plans import walled
from hidewright.design.magnets import pull_between
from hidewright.design.safety import safety_remarks
from hidewright.design.specification import Brief, Specification
from hidewright.drawing.read_outlines import read_outlines
from hidewright.errors import Remark, RequestError
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats, Point
from hidewright.geometry.shapes import circle, rectangle
from hidewright.store.design_file import read_design
from hidewright.store.schema import design_file_schema
from hidewright.store.write_design import write_design
from hidewright.workshop.article import pack
from hidewright.workshop.begin import begin
from hidewright.workshop.begin_free import begin_from_outlines
from hidewright.workshop.graph import Cache

SHELF = built_in_catalogue()
WALLET = Path(__file__).parent / "data" / "free" / "card-wallet.yaml"
TEXT = WALLET.read_text(encoding="utf-8")
INCH, T = 25.4, 1.5  # the wallet's leather is 1.4-1.6 mm


def _read(text: str = TEXT) -> Specification[Any]:
    return read_design(text.encode(), name=WALLET.name).specification


@pytest.fixture(scope="module")
def wallet() -> Design:
    return FREE.construct(_read().brief)


def _at(design: Design, piece: str, *points: Point) -> Floats:
    """Return places on the flesh face of the closed article, (n, 3) mm."""
    out = []
    for x, y in points:
        pose = design.assembly.pose_of(design.assembly.panel_at(piece, (x, y)), 1.0)
        out.append(pose.of_points(np.array([[x, y, 0.0]]))[0])
    return np.array(out)


def _of_drawing(x: float, y: float) -> Point:
    """Return a place of the wallet's drawing, inches, in the piece's frame: about its middle."""
    return (x * INCH, (y - (2.75 - 4.3) / 2) * INCH)


def test_the_wallet_becomes_a_pack_that_its_independent_checkers_accept() -> None:
    # pack raises NotAcceptedError where holes do not meet or a part is not as asked
    files, findings = pack(_read(), Cache())
    assert not findings.forbids
    assert {"patterns/wallet.dxf", "patterns/loop.dxf", "patterns/cup.dxf"} <= set(files)
    cut = b"".join(data for name, data in files.items() if name.startswith("cut/"))
    assert b"cup height trim" in cut
    assert b"wallet trim template" not in files["patterns/wallet.svg"]


def test_a_folded_half_lies_twice_the_inside_radius_over_the_other(wallet: Design) -> None:
    # from a fold, flat distances d on either side come to lie over one another
    for d in (0.5, 1.7, 2.6):
        front, back = _at(wallet, "wallet", _of_drawing(1.0, d), _of_drawing(1.0, -d))
        assert front - back == pytest.approx([0.0, 0.0, -2 * 0.4], abs=1e-9), d
    flap, behind = _at(wallet, "wallet", _of_drawing(0.3, -3.8), _of_drawing(0.3, -2.4))
    assert flap - behind == pytest.approx([0.0, 0.0, -2 * 2.4], abs=1e-9)


def test_the_press_stud_goes_through_the_flap_and_its_own_hole(wallet: Design) -> None:
    (stud, ring, rivet), (one, two) = wallet.fittings, wallet.magnets
    assert [f.stack_mm for f in (stud, ring, rivet)] == pytest.approx([2 * T, T, 3 * T])
    holes = {h.name: h for h in wallet.piece("wallet").holes}
    assert holes["press stud"].diameter_mm == stud.fitting.hole_mm
    set_in, cap = _at(wallet, "wallet", holes["press stud"].at, holes["cap"].at)
    assert np.hypot(*(set_in - cap)[:2]) < 1e-9
    # flap's flesh 4.8 mm over the back's, front's 0.8 mm: less the flap magnet's own 2 mm
    for magnet in (one, two):
        assert magnet.leather_between_mm == pytest.approx(4.8 - 0.8 - 2.0, abs=1e-9)
    assert {one.pole_out, two.pole_out} == {"N", "S"}
    assert "ring" not in holes


def test_a_loop_that_only_a_rivet_holds_lies_on_the_wallet_as_thick_as_it_is(
    wallet: Design,
) -> None:
    # the loop's outer half lies on its inner half and that on the wallet: flesh two layers up
    place = next(f for f in wallet.fittings if f.name == "rivet")
    (inner,) = [h.at for h in wallet.piece("loop").holes if h.at != place.at]
    (through,) = [h.at for h in wallet.piece("wallet").holes if h.name == "rivet"]
    head, folded = _at(wallet, "loop", place.at, inner)
    (on,) = _at(wallet, "wallet", through)
    assert head - on == pytest.approx([0.0, 0.0, 2 * T], abs=1e-9)
    assert head[:2] == pytest.approx(folded[:2], abs=1e-9)
    assert _up(wallet, "loop", place.at) == pytest.approx([0.0, 0.0, 1.0], abs=1e-9)


@pytest.mark.parametrize(("off", "meets"), [(0.0, True), (0.15, True), (0.5, False)])
@pytest.mark.parametrize("side", ["front", "back"])
def test_two_rivets_turn_a_strap_until_its_holes_lie_over_theirs(
    side: Any, off: float, meets: bool
) -> None:
    # drawn upright, held level; turned over it lies mirrored, flesh to flesh
    strap = FreePiece(
        name="strap",
        side=side,
        outline=rectangle(14.0, 90.0, 3.0).moved(300.0, 0.0),
        holes=(
            FreeHole(name="a", at=(300.0, -30.0), diameter_mm=3.0),
            FreeHole(name="b", at=(300.0, 10.0 + off), diameter_mm=3.0),
        ),
    )
    rivets = tuple(
        FreeFitting(name=name, fitting="stud", piece="front", at=at, through=("strap",))
        for name, at in (("a", (-20.0, 8.0)), ("b", (20.0, 8.0)))
    )
    design = FREE.construct(_free(pieces=(_tag("front", 0.0), strap), fittings=rivets))
    codes = {code for code, _ in _codes(design.notes)}
    assert codes == (set() if meets else {"fitting-meets-no-hole"})
    # both share what the holes are off
    for name in ("a", "b"):
        (hole,) = [h.at for h in design.piece("strap").holes if h.name == name]
        (place,) = [f.at for f in design.fittings if f.name == name]
        there, here = _at(design, "strap", hole)[0], _at(design, "front", place)[0]
        assert math.dist(there[:2], here[:2]) == pytest.approx(off / 2, abs=1e-6)
        assert there[2] - here[2] == pytest.approx(-T if side == "front" else 0.0, abs=1e-9)
    assert abs(_up(design, "strap", (0.0, 0.0))[2]) == pytest.approx(1.0, abs=1e-9)


def test_a_wall_cut_at_a_height_leaves_no_flange_and_no_room_below_it(wallet: Design) -> None:
    cup = wallet.piece("cup")
    (zone,) = cup.zones
    assert zone.cut_height_mm == 7.0
    assert {zone.ending(span) for span in zone.outline.spans} == {"cut at height"}
    alone = walled("cup", "body", zone, T)
    assert cup.outline.area == pytest.approx(math.pi * (INCH + T) ** 2, rel=1e-9)
    assert cup.outline.area == pytest.approx(alone.outline.area, rel=1e-12)
    (hollow,) = wallet.hollows
    assert hollow.shells[0].depth_mm == 14.0 - 7.0


def test_coordinates_of_inches_are_those_of_millimetres_over_25_4() -> None:
    spec = _read()
    inches, mm = write_design(spec, unit="in"), write_design(spec)
    assert "  unit: in" in inches
    assert "  unit: mm" in mm
    measures = spec.brief.measures
    for text in (mm, inches):
        back = _read(text).brief.measures
        for one, two in zip(back.pieces, measures.pieces, strict=True):
            assert one.outline == two.outline
            assert [c.outline for c in one.cut_outs] == [c.outline for c in two.cut_outs]
            assert [f.line for f in one.folds] == [f.line for f in two.folds]
        assert (back.fittings, back.magnets) == (measures.fittings, measures.magnets)
    (fold,) = measures.pieces[1].folds
    assert fold.line == ((114.3, 25.4), (124.46, 25.4))
    # with a unit of its own a coordinate means the same in both
    assert measures.pieces[0].holes[2].at == (34.925, -38.1)
    assert "1 3/8 in" in TEXT
    other = TEXT.replace("unit: in", "unit: mm")
    assert _read(other).brief.measures.pieces[0].holes[2].at == (34.925, -38.1)


def test_the_file_agrees_with_the_published_schema() -> None:
    import yaml

    jsonschema.validate(yaml.safe_load(TEXT), design_file_schema())


ANGLE = "angle: {} deg\n          inside_radius: 0.4"


@pytest.mark.parametrize(
    ("old", "new", "said", "line_of"),
    [
        ("unit: in", "unit: feet", "mm, in", "unit: feet"),
        ("at: [1 3/8 in,", "at: [1 3/8 furlong,", "not a plain number", "furlong"),
        ("line: [[-1, 0], [1, 0]]", "line: [[-1, 0]]", "has 1 points", "line: [[-1, 0]]"),
        ("line: [[-1, 0], [1, 0]]", "line: [[1, 0], [1, 0]]", "0.00 mm apart", "name: bottom"),
        ("line: [[-1, 0], [1, 0]]", "line: [[-1, 9], [1, 9]]", "does not cross", "name: bottom"),
        ("line: [[-1, -3.1], [1, -3.1]]", "line: [[-1, 0.1], [1, 0.1]]", "run into", "name: top"),
        (ANGLE.format(180), ANGLE.format(0), "turns by 0", "name: bottom"),
        (ANGLE.format(180), ANGLE.format(200), "Allowed", "angle: 200"),
        (ANGLE.format(180), ANGLE.format(90), "do not lie flat", "span: back right"),
        ("inside_radius: 0.4 mm", "inside_radius: 3 mm", "6.00 mm over one another",
         "span: back right"),
        ("line: [[-1, 0], [1, 0]]", "line: [[-1, 0.05], [1, 0.05]]", "2.54 mm apart",
         "span: back right"),
        ("[1, 0.6], [1, 1.5], [-1, 1.5], [-1, 0.6]", "[1, 0.6], [1, 2.74], [-1, 2.74], [-1, 0.6]",
         "0.3 mm of leather", "name: window"),
        ("[1, 0.6], [1, 1.5]", "[3, 0.6], [3, 1.5]", "leaves the piece", "name: window"),
        ("slit: [1.375, -1.2]", "slit: [1.375, -1.45]", "inside the hole", "name: pen strap"),
        ("slit: [1.375, -1.2]", "slit: [2.5, -1.2]", "runs out", "name: pen strap"),
        ("fitting: press stud,", "fitting: stud,", "Add fittings.stud", "{name: press stud"),
        ("piece: wallet, at: [0, 2.4], through", "piece: walet, at: [0, 2.4], through",
         "wallet, loop, cup", "{name: press stud"),
        ("at: [0, 2.4], through", "at: [0, 0], through", "bent strip of bottom", "{name: press st"),
        ("at: [0, 2.4], through", "at: [0, 4], through", "33.75 mm beyond", "{name: press stud"),
        ("through: [wallet]", "through: [purse]", "no piece is called", "{name: press stud"),
        ("loop, at: [4.725, 1]", "loop, at: [4.725, 0.3]", "on no fold", "name: ring"),
        ("partner: flap magnet", "partner: ring", "no other magnet", "name: front magnet"),
        ("pole_out: S", "pole_out: N", "like poles", "name: front magnet"),
        ("at: [1, -3.8]", "at: [1.95, -3.8]", "does not lie within", "at: [1.95"),
        ("edge: cut at height", "edge: cut", "flange, cut at height", "edge: cut"),
        ("cut_height: 7 mm", "cut_height: 15 mm", "14 mm deep", "cut_height: 15"),
    ],
)  # fmt: skip
def test_what_cannot_be_drawn_is_refused_at_its_line_and_field(
    old: str, new: str, said: str, line_of: str
) -> None:
    text = TEXT.replace(old, new, 1)
    assert text != TEXT
    with pytest.raises(RequestError) as refused:
        _construct(text)
    assert said in str(refused.value)
    lines = text.splitlines()
    number = int(refused.value.where.split("line ")[1].split(",")[0])
    # the field, or the entry that it belongs to
    assert any(line_of in line for line in lines[number - 1 : number + 3]), (number, refused.value)


def _construct(text: str) -> Design:
    file = read_design(text.encode(), name="x.yaml")
    try:
        return FREE.construct(file.specification.brief)
    except RequestError as refused:
        raise file.located(refused) from None


def _free(**measures: Any) -> Brief[FreeMeasures]:
    spec = begin("free", SHELF)
    told = FreeMeasures(**{"seams": (), "blanks": (), "hollows": (), **measures})
    rows = {"stud": "solid brass stud 6 mm", "steel": "stainless steel stud 6 mm"}
    return replace(
        spec.brief,
        measures=told,
        fittings=tuple((role, find(SHELF.fittings, row)) for role, row in rows.items()),
        magnets=(("disc", find(SHELF.magnets, "disc 10 x 2 mm N38")),),
    )


def _cross(relief: float) -> FreePiece:
    """Return a box laid flat: floor 80 x 60, four walls 25 high, corners cut out by a relief."""
    a, b, h, r = 40.0, 30.0, 25.0, relief
    corners = [
        (a - r, -b - h), (a - r, -b + r), (a + h, -b + r), (a + h, b - r), (a - r, b - r),
        (a - r, b + h), (-a + r, b + h), (-a + r, b - r), (-a - h, b - r), (-a - h, -b + r),
        (-a + r, -b + r), (-a + r, -b - h),
    ]  # fmt: skip
    ends = {
        "right": ((a, -b), (a, b)),
        "top": ((a, b), (-a, b)),
        "left": ((-a, -b), (-a, b)),
        "bottom": ((a, -b), (-a, -b)),
    }
    folds = tuple(
        FreeFold(name=name, line=line, inside_radius_mm=1.0, k_factor=0.3, angle_rad=math.pi / 2)
        for name, line in ends.items()
    )
    return FreePiece(
        name="box", outline=from_corners([(c, 0.0, "rim") for c in corners]), folds=folds
    )


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_four_walls_fold_up_square_to_the_floor_whichever_way_their_lines_run(sense: float) -> None:
    box = _cross(relief=6.0)
    folds = tuple(replace(f, angle_rad=sense * f.angle_rad) for f in box.folds)
    design = FREE.construct(_free(pieces=(replace(box, folds=folds),)))
    # half the strip, pi/4 (R + K t), lies on either side of a fold's line; the wall then stands
    # one inside radius (seen on its inside face) beyond the strip's beginning
    half = math.pi / 4 * (1.0 + 0.3 * T)
    inside = 0.0 if sense > 0 else T  # height of the face that is inside
    for flat, wanted in (
        ((60.0, 10.0), (40.0 - half + 1.0, 10.0)),
        ((-60.0, 10.0), (-40.0 + half - 1.0, 10.0)),
        ((10.0, 50.0), (10.0, 30.0 - half + 1.0)),
        ((10.0, -50.0), (10.0, -30.0 + half - 1.0)),
    ):
        panel = design.assembly.panel_at("box", flat)
        x, y, z = design.assembly.pose_of(panel, 1.0).of_points(np.array([[*flat, inside]]))[0]
        assert (x, y) == pytest.approx(wanted, abs=1e-9)
        assert z == pytest.approx(inside - sense * (20.0 - half + 1.0), abs=1e-9)
    names = {p.name for p in design.assembly.panels}
    assert names == {"box", *(f"box beyond {n}" for n in ("right", "top", "left", "bottom"))}
    assert design.assembly.panels[0].hinge is None
    assert design.assembly.panel_at("box", (0.0, 0.0)).name == "box"


def test_walls_whose_strips_share_a_corner_are_refused_until_it_is_cut_out() -> None:
    with pytest.raises(RequestError, match="corner") as no:
        FREE.construct(_free(pieces=(_cross(relief=0.0),)))
    assert no.value.where.startswith("measures.pieces.1.folds.")


def test_a_flange_folded_along_a_wall_is_sewn_flat_on_the_floor_of_another_piece() -> None:
    # a strip with a flange at each long edge, folded up by 90 degrees, towards the grain and back
    strip = FreePiece(
        name="gusset",
        outline=from_corners(
            [((0, 0), 0, "low"), ((90, 0), 0, ""), ((90, 40), 0, "high"), ((0, 40), 0, "")]
        ),
        folds=(
            FreeFold(name="one", line=((0, 12), (90, 12)), inside_radius_mm=1.0),
            FreeFold(name="two", line=((0, 28), (90, 28)), inside_radius_mm=1.0),
        ),
    )
    face = FreePiece(
        name="face",
        outline=from_corners(
            [((200, 0), 0, "rim"), ((290, 0), 0, ""), ((290, 70), 0, "top"), ((200, 70), 0, "")]
        ),
    )
    back = replace(face, name="back", side="back")

    def seam(name: str, piece: str, span: str) -> FreeSeam:
        # grain of the flange out, flesh of the face on it
        edges = (
            FreeEdge(piece=piece, span="rim"),
            FreeEdge(piece="gusset", span=span, backwards=True),
        )
        return FreeSeam(name=name, inset_mm=4.0, edges=edges)

    brief = _free(
        pieces=(face, strip, back), seams=(seam("a", "face", "low"), seam("b", "back", "high"))
    )
    design = FREE.construct(brief)
    # both faces stand apart by the wall between the two bends and twice what those take
    face_up = _up(design, "face", design.piece("face").outline.centroid)
    back_up = _up(design, "back", design.piece("back").outline.centroid)
    assert face_up @ back_up == pytest.approx(-1.0, abs=1e-9)
    strip_mm = math.pi / 2 * (1.0 + T / 2)
    apart = 16.0 - strip_mm + 2 * 1.0
    here = _at(design, "face", design.piece("face").outline.centroid)[0]
    there = _at(design, "back", design.piece("back").outline.centroid)[0]
    assert abs((there - here) @ face_up) == pytest.approx(apart, abs=1e-6)


def _up(design: Design, piece: str, at: Point) -> Floats:
    pose = design.assembly.pose_of(design.assembly.panel_at(piece, at), 1.0)
    up: Floats = np.array(pose.rotation)[:, 2]
    return up


def _tag(name: str, x: float, side: Any = "front") -> FreePiece:
    rim = rectangle(80.0, 60.0, 10.0).renamed(lambda _: "rim").moved(x, 0.0)
    return FreePiece(name=name, outline=rim, side=side)


RIM = (
    FreeSeam(
        name="rim",
        edges=(
            FreeEdge(piece="front", span="rim"),
            FreeEdge(piece="back", span="rim", backwards=True),
        ),
    ),
)


def _codes(remarks: tuple[Remark, ...]) -> list[tuple[str, str]]:
    return [(r.code, r.severity) for r in remarks]


@pytest.mark.parametrize(("off", "meets"), [(0.0, True), (0.09, True), (0.12, False)])
def test_a_fitting_must_meet_a_hole_of_what_it_goes_through(off: float, meets: bool) -> None:
    hole = FreeHole(name="stud", at=(200.0 - 10.0 + off, 5.0), diameter_mm=3.0)
    brief = _free(
        pieces=(_tag("front", 0.0), replace(_tag("back", 200.0, "back"), holes=(hole,))),
        seams=RIM,
        fittings=(
            FreeFitting(
                name="stud", fitting="stud", piece="front", at=(10.0, 5.0), through=("back",)
            ),
        ),
    )
    found = _codes(FREE.construct(brief).notes)
    assert found == ([] if meets else [("fitting-meets-no-hole", "forbids")])


def test_a_fitting_without_any_hole_opposite_is_forbidden() -> None:
    brief = _free(
        pieces=(_tag("front", 0.0), _tag("back", 200.0, "back")),
        seams=RIM,
        fittings=(
            FreeFitting(name="s", fitting="stud", piece="front", at=(0.0, 0.0), through=("back",)),
        ),
    )
    (note,) = FREE.construct(brief).notes
    assert (note.code, note.severity) == ("fitting-meets-no-hole", "forbids")
    assert "has none" in note.sentence


@pytest.mark.parametrize(("off", "meets"), [(0.9, True), (1.1, False)])
def test_magnets_of_a_pair_must_lie_on_one_axis_when_closed(off: float, meets: bool) -> None:
    # the tag is folded in half round its short middle; each magnet lies under its half's flesh
    tag = replace(
        _tag("front", 0.0),
        folds=(
            FreeFold(
                name="half", line=((0.0, -30.0), (0.0, 30.0)), angle_rad=math.pi, inside_radius_mm=4
            ),
        ),
    )
    pair = (
        FreeMagnet(name="a", magnet="disc", piece="front", at=(25.0, 5.0), partner="b"),
        FreeMagnet(
            name="b", magnet="disc", piece="front", at=(-25.0 - off, 5.0), partner="a", pole_out="S"
        ),
    )
    design = FREE.construct(_free(pieces=(tag,), magnets=pair))
    assert _codes(design.notes) == ([] if meets else [("magnets-do-not-meet", "forbids")])
    # flesh faces 8 mm apart, both magnets of 2 mm between them
    assert [m.leather_between_mm for m in design.magnets] == [pytest.approx(4.0)] * 2
    disc = find(SHELF.magnets, "disc 10 x 2 mm N38")
    assert pull_between(disc, disc, 4.0) > 0


def test_a_heavy_thing_is_told_to_pull_a_weak_pair_open() -> None:
    brief = begin("pocket with fold-over tray", SHELF).brief
    heavy = replace(brief.carried[0], thing=replace(brief.carried[0].thing, mass_g=2000.0))
    tag = replace(
        _tag("front", 0.0),
        folds=(
            FreeFold(
                name="half", line=((0.0, -30.0), (0.0, 30.0)), angle_rad=math.pi, inside_radius_mm=6
            ),
        ),
    )
    pair = (
        FreeMagnet(name="a", magnet="disc", piece="front", at=(25.0, 5.0), partner="b"),
        FreeMagnet(
            name="b", magnet="disc", piece="front", at=(-25.0, 5.0), partner="a", pole_out="S"
        ),
    )
    design = FREE.construct(replace(_free(pieces=(tag,), magnets=pair), carried=(heavy,)))
    assert _codes(design.notes) == [("magnets-too-weak", "warning")]


@pytest.mark.parametrize(
    ("fitting", "magnets", "code"),
    [("steel", False, "steel-near-compass"), ("stud", True, "magnet-spoils"), ("stud", False, "")],
)
def test_no_magnet_and_no_steel_lies_beside_a_compass(
    fitting: str, magnets: bool, code: str
) -> None:
    compass = begin("flat-back pouch", SHELF).brief.carried
    pair = (
        FreeMagnet(name="a", magnet="disc", piece="front", at=(0.0, 5.0), partner="b"),
        FreeMagnet(
            name="b", magnet="disc", piece="back", at=(200.0, 5.0), partner="a", pole_out="S"
        ),
    )
    brief = _free(
        pieces=(_tag("front", 0.0), _tag("back", 200.0, "back")),
        seams=RIM,
        fittings=(FreeFitting(name="s", fitting=fitting, piece="front", at=(20.0, 0.0)),),
        magnets=pair if magnets else (),
    )
    design = FREE.construct(replace(brief, carried=compass))
    found = safety_remarks(compass, design.fittings, design.magnets, design.leathers)
    assert [r.code for r in found if r.severity == "forbids"] == ([code] if code else [])


def test_a_hole_in_a_bent_strip_is_warned_of() -> None:
    tag = replace(
        _tag("front", 0.0),
        folds=(FreeFold(name="half", line=((0.0, -30.0), (0.0, 30.0))),),
        holes=(FreeHole(name="cord", at=(0.5, 10.0)), FreeHole(name="eye", at=(20.0, 10.0))),
    )
    (note,) = FREE.construct(_free(pieces=(tag,))).notes
    assert (note.code, note.severity) == ("punched-hole-in-fold", "warning")
    assert "cord" in note.sentence


def _moulded(**changed: Any) -> FreePiece:
    boss = FreeZone(name="boss", outline=circle(12.0).renamed(lambda _: "rim"), **changed)
    return replace(_tag("front", 0.0), zones=(boss,))


@pytest.mark.parametrize(
    ("piece", "said"),
    [
        (replace(_moulded(), folds=(FreeFold(name="f", line=((10, -30), (10, 30))),)), "the zone"),
        (
            replace(_moulded(), cut_outs=(FreeCutOut(name="w", outline=circle(4.0)),)),
            "lies in the moulded zone",
        ),
        (_moulded(edge="cut at height"), "Draw the two alike"),
        (
            replace(
                _moulded(edge="cut at height"),
                folds=(FreeFold(name="f", line=((30, -30), (30, 30))),),
            ),
            "Make it a piece of its own",
        ),
    ],
)
def test_zones_keep_clear_of_folds_windows_and_flanges_that_fall_off(
    piece: FreePiece, said: str
) -> None:
    with pytest.raises(RequestError, match=said):
        FREE.construct(_free(pieces=(piece,), blanks=(FreeBlank(name="b", pieces=("front",)),)))


def test_straight_lines_across_a_drawn_piece_become_folds_and_named_outlines_windows() -> None:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="90mm" viewBox="0 0 200 90">'
        '<path id="tag" d="M 10 10 H 110 V 70 H 10 Z"/><path id="crease" d="M 40 10 V 70"/>'
        '<path id="astray" d="M 150 10 V 70"/><rect id="window" x="60" y="20" width="30" '
        'height="20"/></svg>'
    )
    spec, said = begin_from_outlines(read_outlines(svg.encode(), name="tag.svg"), SHELF)
    (piece,) = spec.brief.measures.pieces
    (fold,), (window,) = piece.folds, piece.cut_outs
    assert (fold.name, fold.angle_rad, piece.zones) == ("crease", math.pi / 2, ())
    assert {x for x, _ in fold.line} == {40.0}
    assert (window.name, window.outline.area) == ("window", pytest.approx(600.0, abs=1e-6))
    assert any("Left out astray" in line for line in said)
    assert not any("Left out crease" in line for line in said)
    (made,) = FREE.construct(spec.brief).pieces
    assert made.folds[0].line.length == pytest.approx(60.0, abs=1e-6)
    assert isinstance(made.cut_outs[0], Outline)
