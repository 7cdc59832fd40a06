"""Figures with their likely ranges: closed forms, sheets solved anew, what readings narrow."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.bench_reading import KINDS, BenchReading
from hidewright.design.interval import Interval
from hidewright.errors import RequestError
from hidewright.forming.answers import pull_in
from hidewright.forming.on_blank import flat_blank
from hidewright.forming.solve import pressed
from hidewright.forming.solved import Pressed
from hidewright.learning.belief import Belief, prior
from hidewright.learning.priors import leather_prior, leather_with
from hidewright.learning.quantities import LEATHER, Quantity
from hidewright.learning.ranges import Shifted, likely_ranges
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.workshop import learned_ranges
from hidewright.workshop.article import NODES
from hidewright.workshop.graph import Cache, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.learned import NOTHING, LearnedShelf, learned_shelf
from hidewright.workshop.learned_beliefs import beliefs_of, leather_belief
from hidewright.workshop.learned_facts import dry_lines, gap_range, tooling_ranges
from hidewright.workshop.learned_pressing import disc, measures_of, plug_sheet, sheet_foretold
from hidewright.workshop.learned_ranges import BEARS, PIECE_MM, Ranges, ranges_of
from hidewright.workshop.learned_words import told as words

LIKELY = 1.6448536269514722
SHOULDER = find(built_in_catalogue().leathers, "vegetable-tanned shoulder 1.4-1.6 mm")
LENS: Any = read_design(demo_designs()["lens-case.yaml"], name="lens-case.yaml").specification
TWO = tuple(
    Quantity(name=name, words=name, unit="", spread=s) for name, s in (("a", 0.1), ("b", 0.2))
)


@pytest.fixture(scope="module")
def plug() -> Pressed:
    """The round test plug at 12 mm."""
    return plug_sheet(SHOULDER, 12.0)


def told(sheet: Pressed, belief: Belief, leather: Leather = SHOULDER) -> Ranges:
    return ranges_of(sheet, leather, (True,), (("plug",),), belief)


@pytest.fixture(scope="module")
def by_catalogue(plug: Pressed) -> Ranges:
    return told(plug, leather_prior(SHOULDER))


def knowing(belief: Belief, *names: str) -> Belief:
    """The belief with only some quantities in doubt."""
    kept = np.array([one.name in names for one in belief.quantities], dtype=float)
    return replace(belief, spread=belief.spread * np.outer(kept, kept))


def deviation(one: Interval) -> float:
    """Of the logarithm."""
    return math.log(one.high / one.low) / (2 * LIKELY)


# -- the range of a figure ------------------------------------------------------------------------


@pytest.mark.parametrize("share", [0.0, 0.5, -0.9])
def test_a_power_law_is_as_wide_as_its_exponents_and_their_doubts_say(share: float) -> None:
    """log y = 2 log a - log b: deviation^2 is 4 va + vb - 4 cab, whatever the step."""
    belief = prior({"a": 3.0, "b": 5.0}, TWO)
    cross = share * 0.1 * 0.2
    belief = replace(belief, spread=np.array([[0.01, cross], [cross, 0.04]]))
    ends = [
        Shifted(name=name, step=step, figures={"y": 1.8 * math.exp(power * step)})
        for name, power, step in (("a", 2, 0.3), ("a", 2, -0.1), ("b", -1, 0.2))
    ]
    y = likely_ranges(belief, {"y": 1.8}, ends)["y"]
    off = math.sqrt(4 * 0.01 + 0.04 - 4 * cross)
    assert y.likely == 1.8
    assert (math.log(y.low / 1.8), math.log(y.high / 1.8)) == pytest.approx(
        (-LIKELY * off, LIKELY * off)
    )


def test_a_figure_that_may_be_below_nothing_is_spread_evenly_either_way() -> None:
    belief = prior({"a": 3.0, "b": 5.0}, TWO)
    ends = [Shifted(name="a", step=s, figures={"y": 0.2 + 4 * s}) for s in (-0.1, 0.1)]
    y = likely_ranges(belief, {"y": 0.2}, ends, {"y": 0.3})["y"]
    off = LIKELY * math.hypot(4 * 0.1, 0.3)
    assert (y.low, y.high) == pytest.approx((0.2 - off, 0.2 + off))


def test_a_figure_that_nothing_moves_is_known_but_for_the_next_piece() -> None:
    belief = prior({"a": 3.0, "b": 5.0}, TWO)
    found = likely_ranges(belief, {"x": 44.0, "y": 2.0}, [], {"x": 0.15})
    assert found["y"] == Interval(likely=2.0, low=2.0, high=2.0)
    assert deviation(found["x"]) == pytest.approx(0.15 / 44.0)


# -- of a pressed layer ---------------------------------------------------------------------------


def test_without_any_doubt_only_the_scatter_of_pieces_is_left(plug: Pressed) -> None:
    known = told(plug, knowing(leather_prior(SHOULDER)))
    for one in (known.force_N, known.thinnest, known.most_pull_in_mm, known.drying):
        assert one.high == pytest.approx(one.low)
    (size,) = known.dry
    for way in (size.along, size.across):
        assert way.high - way.low == pytest.approx(2 * LIKELY * PIECE_MM, rel=1e-4)
    assert deviation(known.use) == pytest.approx(BEARS)


def test_each_figure_is_as_doubtful_as_the_quantity_it_is_proportional_to(plug: Pressed) -> None:
    belief = leather_prior(SHOULDER)
    spread = {one.name: one.spread for one in belief.quantities}
    hours = told(plug, knowing(belief, "drying_hours")).drying
    assert (hours.likely, deviation(hours)) == pytest.approx((1.0, spread["drying_hours"]))
    drawn = told(plug, knowing(belief, "pull_in_factor"))
    assert deviation(drawn.most_pull_in_mm) == pytest.approx(spread["pull_in_factor"])
    assert drawn.force_N.high == pytest.approx(drawn.force_N.low)
    # with little friction force follows stiffness, but not in full: the plate's own does not
    stiff = deviation(told(plug, knowing(belief, "stiffness")).force_N)
    assert 0.8 * spread["stiffness"] < stiff < spread["stiffness"]


def test_the_range_holds_what_the_solver_gives_a_deviation_and_a_half_off(
    plug: Pressed, by_catalogue: Ranges
) -> None:
    """Both ends of the joint belief's longest way for the force, solved from the beginning."""
    belief = leather_prior(SHOULDER)
    row = belief.place("stiffness")
    for sign in (-1.0, 1.0):
        logs = belief.mean.copy()
        logs[row] += sign * LIKELY * belief.deviations[row]
        own = leather_with(SHOULDER, {"stiffness": belief.values_at(logs)["stiffness"]})
        anew = told(plug_sheet(own, 12.0), knowing(leather_prior(own)), own)
        alone = told(plug, knowing(belief, "stiffness")).force_N
        end = alone.low if sign < 0 else alone.high
        assert anew.force_N.likely == pytest.approx(end, rel=0.03)
        assert by_catalogue.force_N.low < anew.force_N.likely < by_catalogue.force_N.high


def test_the_likely_figures_are_those_of_the_sheet(plug: Pressed, by_catalogue: Ranges) -> None:
    measures = measures_of(plug, SHOULDER)
    (size,) = by_catalogue.dry
    assert size.along.likely == pytest.approx(40.0 * measures["along 0"], rel=1e-9)
    assert size.across.likely == pytest.approx(40.0 * measures["across 0"], rel=1e-9)
    assert size.height.likely == pytest.approx(12.0 * measures["height 0"], rel=1e-9)
    assert by_catalogue.most_pull_in_mm.likely == pytest.approx(float(pull_in(plug)[1].max()))


# -- pull-in has a factor of its own --------------------------------------------------------------


def test_the_factor_draws_the_edge_in_so_much_further_and_makes_the_blank_larger(
    plug: Pressed,
) -> None:
    more = replace(plug, conditions=replace(plug.conditions, pull_in_factor=1.2))
    at, drawn = pull_in(more)
    assert drawn == pytest.approx(1.2 * pull_in(plug)[1], rel=5e-3)
    ring = plug.layout.edge
    formed, flat = plug.shape.points[ring, :2], plug.flat[ring]
    assert at - formed == pytest.approx(1.2 * (flat - formed), abs=1e-12)
    assert flat_blank(more).width == pytest.approx(float(np.ptp(at[:, 0])), abs=0.1)
    assert flat_blank(more).width > flat_blank(plug).width + 1.0


def drawn_in(way: str, depth: float, value: float, key: int) -> BenchReading:
    from datetime import date, timedelta

    return BenchReading(
        what=f"pull-in {way}",  # type: ignore[arg-type]
        subject=SHOULDER.name,
        value=value,
        depth_mm=depth,
        day=date(2026, 3, 1) + timedelta(days=key),
    )


def test_pull_in_read_at_three_depths_moves_the_factor_and_the_blank_follows() -> None:
    belief = leather_prior(SHOULDER)
    plugs = {d: sheet_foretold(plug_sheet(SHOULDER, d), SHOULDER, belief, disc()) for d in (6, 12)}

    def predict(reading: BenchReading) -> Any:
        return plugs[int(reading.depth_mm or 0)].prediction(reading.what)

    readings = {
        str(k): drawn_in(way, depth, 1.2 * predict_at, k)
        for k, (way, depth, predict_at) in enumerate(
            (way, float(d), plugs[d].prediction(f"pull-in {way}")(belief.values))
            for _ in range(4)
            for d in plugs
            for way in ("along", "across")
        )
    }
    from hidewright.costing.workshop_rates import WorkshopRates
    from hidewright.workshop.learned import Subject

    shelf = learned_shelf(
        readings,
        built_in_catalogue(),
        {Subject(sort="leather", name=SHOULDER.name): predict},
        WorkshopRates(),
    )
    about = shelf.of("leather", SHOULDER.name)
    assert about is not None
    assert "pull_in_factor" in about.result.informed
    # friction, stiffness and the factor share what was read; together they foretell it
    for d, one in plugs.items():
        ratio = [one.prediction("pull-in along")(b.values) for b in (about.result.after, belief)]
        assert ratio[0] / ratio[1] == pytest.approx(1.2, abs=0.03), d
    assert about.own["pull_in_factor"] > 1.05
    own = leather_with(SHOULDER, about.own)
    assert own.pull_in_factor == about.own["pull_in_factor"]


# -- what is believed of a design's rows ----------------------------------------------------------


def measured(what: str, *values: float, subject: str = SHOULDER.name) -> LearnedShelf:
    from datetime import date

    from hidewright.costing.workshop_rates import WorkshopRates

    readings = {
        str(k): BenchReading(
            what=what,  # type: ignore[arg-type]
            subject=subject,
            value=value,
            day=date(2026, 3, 2),
        )
        for k, value in enumerate(values)
    }
    return learned_shelf(readings, built_in_catalogue(), {}, WorkshopRates())


def test_a_design_has_the_doubt_the_readings_leave_and_its_own_values_in_the_middle() -> None:
    shelf = measured("leather thickness", 1.52, 1.54, 1.53)
    about = shelf.of("leather", SHOULDER.name)
    assert about is not None
    own = leather_with(SHOULDER, about.own)
    belief = leather_belief(own, shelf)
    assert belief.values["thickness_mm"] == pytest.approx(own.thickness_mm)
    row = belief.place("thickness_mm")
    assert belief.deviations[row] == pytest.approx(about.result.after.deviations[row])
    # what the maker wrote himself is doubted as the catalogue's
    written = replace(own, thickness_min_mm=1.8, thickness_max_mm=2.0)
    mine = leather_belief(written, shelf)
    assert mine.values["thickness_mm"] == pytest.approx(1.9)
    assert mine.deviations[row] == pytest.approx(leather_prior(written).deviations[row])
    assert (
        leather_belief(SHOULDER, NOTHING).spread.tolist() == leather_prior(SHOULDER).spread.tolist()
    )


def test_the_gap_has_the_doubt_of_thickness_and_growth_and_readings_narrow_it() -> None:
    """Gap = 1.1 (t + 0.1) (1 + g): slopes 1.1 t (1 + g) and 1.1 (t + 0.1) g on logarithms."""
    belief = leather_prior(SHOULDER)
    gap = gap_range(SHOULDER, 1.1, belief)
    t, g = 1.5, 0.05
    by_thickness = 1.1 * t * (1 + g) * belief.deviations[belief.place("thickness_mm")]
    by_growth = 1.1 * (t + 0.1) * g * 0.4
    off = LIKELY * math.hypot(by_thickness, by_growth)
    assert gap.likely == pytest.approx(1.1 * 1.6 * 1.05)
    assert (gap.likely - gap.low, gap.high - gap.likely) == pytest.approx((off, off), rel=1e-5)
    shelf = measured("leather thickness", 1.5, 1.5, 1.5, 1.5)
    narrower = gap_range(SHOULDER, 1.1, leather_belief(SHOULDER, shelf))
    assert narrower.high - narrower.low < 0.8 * (gap.high - gap.low)


def test_the_tooling_tells_gap_kerf_and_thickness_of_each_board_with_their_ranges() -> None:
    tooling = LENS.tooling
    boards = (tooling.mould_board, tooling.template_board)
    shelf = measured("kerf", 0.17, 0.17, 0.18, subject=tooling.mould_board.name)
    rows = dict(tooling_ranges(LENS, (), beliefs_of(LENS.brief.leathers, boards, shelf)))
    assert list(rows) == [
        "Kerf, MDF 6 mm",
        "Thickness, MDF 6 mm",
        "Kerf, clear acrylic 5 mm",
        "Thickness, clear acrylic 5 mm",
    ]
    assert rows["Kerf, clear acrylic 5 mm"] == "0.24 mm, likely 0.16-0.37"
    inches = dict(tooling_ranges(LENS, (), beliefs_of(LENS.brief.leathers, boards, NOTHING), "in"))
    assert inches["Thickness, MDF 6 mm"] == "0.236 in, likely 0.230-0.243"


def test_every_quantity_of_a_leather_is_carried_into_its_figures_or_changes_none() -> None:
    from hidewright.workshop.learned_ranges import READ_OFF, SOLVED

    lengths_only = {"soak_growth_along", "soak_growth_across"}
    assert {one.name for one in LEATHER} == {*SOLVED, *READ_OFF} | lengths_only


def test_the_first_off_sheet_tells_what_a_hollow_is_likely_off_and_where_readings_go() -> None:
    wanted = ("first-off rows", "pressing report")
    values = evaluate(NODES, inputs_of(LENS, "A4"), wanted, Cache()).values
    rows = {row.what.partition(",")[0]: row for row in values["first-off rows"]}
    (size,) = values["pressing report"][0].spread.dry
    across, along = (
        100 * (way.high - way.low) / 2 / way.likely for way in (size.across, size.along)
    )
    assert dry_lines(values["pressing report"]) == (
        "dry size, front/hollow and back/hollow with the waste between: along the backbone "
        f"{words(size.along, 'mm')}; "
        f"across {words(size.across, 'mm')}",
    )
    report = values["pressing report"][0]
    alike = replace(size, places=("front/hollow", "front/hollow"))
    (line,) = dry_lines([replace(report, spread=replace(report.spread, dry=(alike,)))])
    assert line.startswith("dry size, 2 x front/hollow with the waste between: ")
    measures = LENS.brief.measures
    both = 2 * measures.height_mm + measures.mouth_waste_mm
    assert size.along.likely == pytest.approx(both, abs=0.5)
    for piece in ("front", "back"):
        row = rows[f"hollow of {piece}"]
        assert row.expected.endswith(
            f"; likely within {across:.1f} % across, {along:.1f} % along the backbone"
        )
        assert row.into == f"book: dry size along, dry size across, {piece}/hollow"
        height = 100 * (size.height.high - size.height.low) / 2 / size.height.likely
        assert rows[f"depth of {piece}"].expected.endswith(f"; give or take {height:.1f} %")
    into = [row.into for row in values["first-off rows"] if row.into.startswith("book: ")]
    assert len(into) >= 6
    for one in into:
        assert one.removeprefix("book: ").split(", ")[0] in KINDS


def test_an_end_that_no_sheet_reaches_tells_nothing_and_the_other_gives_the_slope(
    plug: Pressed, monkeypatch: pytest.MonkeyPatch
) -> None:
    solve = pressed
    less: list[Pressed] = []

    def only_with_less_friction(form: Any, conditions: Any, *more: Any, **how: Any) -> Pressed:
        if conditions.friction > plug.conditions.friction:
            raise RequestError("no sheet takes this form")
        less.append(solve(form, conditions, *more, **how))
        return less[-1]

    monkeypatch.setattr(learned_ranges, "pressed", only_with_less_friction)
    drawn = told(plug, knowing(leather_prior(SHOULDER), "wet_friction")).most_pull_in_mm
    middle, other = less
    one, two = (math.log(float(pull_in(sheet)[1].max())) for sheet in (middle, other))
    assert deviation(drawn) == pytest.approx(abs(one - two))


def test_ends_on_a_coarser_mesh_give_the_ranges_of_ends_on_the_sheets_own(
    plug: Pressed, by_catalogue: Ranges, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Within a tenth of each range; what is likely is told of the sheet itself."""
    monkeypatch.setattr(learned_ranges, "ENDS_COARSER", 1.0)
    fine = told(plug, leather_prior(SHOULDER))
    for name in ("force_N", "thinnest", "largest_stretch", "most_pull_in_mm", "use", "drying"):
        one, other = getattr(by_catalogue, name), getattr(fine, name)
        assert one.likely == other.likely
        assert deviation(one) == pytest.approx(deviation(other), rel=0.1)
    for one, other in zip(by_catalogue.dry, fine.dry, strict=True):
        for way in ("along", "across", "height"):
            mine, own = getattr(one, way), getattr(other, way)
            assert deviation(mine) == pytest.approx(deviation(own), rel=0.1)


def test_a_sheet_without_balance_on_the_coarser_mesh_is_shifted_on_its_own(
    plug: Pressed, by_catalogue: Ranges, monkeypatch: pytest.MonkeyPatch
) -> None:
    solve, own = pressed, plug.warm.size_mm

    def only_fine(form: Any, conditions: Any, size_mm: float, *warm: Any, **how: Any) -> Pressed:
        if size_mm > own:
            raise RequestError("no balance was found for this form")
        return solve(form, conditions, size_mm, *warm, **how)

    monkeypatch.setattr(learned_ranges, "pressed", only_fine)
    belief = knowing(leather_prior(SHOULDER), "stiffness")
    assert told(plug, belief).force_N.likely == by_catalogue.force_N.likely
    assert deviation(told(plug, belief).force_N) > 0.1
