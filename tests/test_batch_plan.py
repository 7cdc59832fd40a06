"""Batches to plans: any orders and calendars can be worked, and what is known of the plans."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from xml.etree import ElementTree as ET

import pytest

from batch_made import (
    ALWAYS,
    FEW,
    MONDAY,
    NOW,
    accepted,
    batch,
    first_off,
    made_up,
    means,
    order,
    planned,
    step,
    steps,
)
from hidewright.design.step import Hold, Step
from hidewright.errors import RequestError
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.batch_problem import MEASURED, Recipe
from hidewright.planning.calendar import DAY
from hidewright.planning.grouping import Room, groups_of, open_time
from hidewright.planning.hands import DaysOff, Hands, Week, day_of, minute_of
from hidewright.planning.loads import Wanted, load_size, loads_for
from hidewright.planning.own_step import OwnStep
from hidewright.planning.schedule import Budget
from hidewright.planning.workshop import Moulds, Workshop
from hidewright.workshop.batch.chart import by_load, by_station, minutes_a_day
from hidewright.workshop.batch.otherwise import ticked
from hidewright.workshop.batch.week import plan_batch, shifted
from hidewright.workshop.batch.words import plain_plan


def test_windows_too_short_for_what_must_follow_in_time_are_told() -> None:
    short: Week = (((540, 550),),) * 5 + ((), ())  # soaked leather is pressed 12 to 30 min later
    shop = Workshop(vises=2, means=(means(),), hands=(Hands(name="A", week=short),))
    with pytest.raises(RequestError, match=r"longer than 10 min in one go.*longer window"):
        plan_batch(batch(order(1), shop=shop), budget=FEW)


@pytest.mark.parametrize("seed", range(12))
def test_any_orders_and_calendars_give_a_plan_that_can_be_worked(seed: int) -> None:
    one = made_up(seed)
    plan = planned(one)
    accepted(one, plan)
    # every piece is finished once: all articles of every order are packed in its loads
    packed = {
        load.number: sum(
            int(task.words.split(", ")[1].split()[0])
            for task in plan.tasks
            if task.load == load.number and task.step == "pack"
        )
        for load in plan.loads
    }
    assert packed == {load.number: load.count for load in plan.loads}
    made: dict[str, int] = {}
    for load in plan.loads:
        for share in load.shares:
            made[share.order] = made.get(share.order, 0) + share.count
    assert made == {id: row.quantity for id, row in one.orders.items()}
    # no break parts a step for a few minutes
    parts = [work for task in plan.tasks if len(task.times) > 1 for work in task.times]
    assert all(work.end - work.start >= one.workshop.least_part_minutes for work in parts)
    # nobody works on a holiday or a day off, and nothing begins before now
    for work, _, _ in plan.entries():
        assert work.start >= plan.made
        day = day_of(work.start, plan.monday)
        hands = next(h for h in one.workshop.hands if h.name == work.person)
        off = {d for some in (*one.workshop.holidays, *hands.days_off) for d in some.days()}
        assert day not in off
        assert any(
            begin <= work.start % DAY and (work.end - 1) % DAY < end
            for begin, end in hands.week[day.weekday()]
        )


@pytest.mark.parametrize("seed", range(12, 16))
def test_the_same_seed_and_rounds_give_the_same_plan_to_the_byte(seed: int) -> None:
    one = made_up(seed)
    assert repr(plain_plan(planned(one))) == repr(plain_plan(planned(one)))


@pytest.mark.parametrize(("moulds", "dry"), [(1, 300), (2, 500), (3, 700), (2, 1000)])
def test_where_moulds_are_short_their_cycles_say_what_a_day_brings(moulds: int, dry: int) -> None:
    """Output per day = moulds x floor(24 h / (load + dry)), hands never being short."""
    route = steps(dry, sew=1.0)
    hands = tuple(Hands(name=f"hands {k}", week=ALWAYS) for k in range(3))
    shop = Workshop(hands=hands, vises=9, clamps=40, drying_places=40, means=(means(moulds),))
    cycle = (1 + 4 * moulds) + 60 + 2 * moulds + dry + 2 * moulds
    a_day = moulds * (DAY // cycle)
    one = batch(order(4 * a_day), route=route, shop=shop)
    plan = planned(one)
    off = sorted(
        (task.end, int(task.words.split(", ")[1].split()[0]))
        for task in plan.tasks
        if task.step == "unmould"
    )
    first = min(task.start for task in plan.tasks if task.step == "press")
    for day in range(1, 5):
        done = sum(count for end, count in off if end <= first + day * DAY)
        assert done >= day * a_day, "so many at least: moulds are never idle"
    # and a mould can do no more than its cycles
    for end, _ in off:
        within = sum(count for one_end, count in off if first < one_end <= end)
        assert within <= moulds * ((end - first) // cycle)


def test_a_first_off_is_measured_before_the_batch_is_cut() -> None:
    shop = Workshop(means=(means(proven=False),))
    plan = planned(batch(order(6), shop=shop))
    measured = next(task for task in plan.tasks if task.step == MEASURED)
    first = next(load for load in plan.loads if load.first_off)
    assert first.count == 1
    cuts = [t for t in plan.tasks if t.step == "cut blank" and t.load != first.number]
    assert cuts
    assert min(task.start for task in cuts) >= measured.end
    proven = planned(batch(order(6), shop=Workshop(means=(means(),))))
    assert not any(load.first_off for load in proven.loads)


def test_boards_of_one_kind_are_cut_after_one_another_where_others_cost_a_set_up() -> None:
    """Two designs' first-offs on one laser: as few set-ups as there are boards, less one."""
    boards = ("card", "MDF 6 mm")

    def with_boards(route: tuple[Step, ...]) -> tuple[Step, ...]:
        cuts = tuple(
            step(
                f"cut the {board}",
                "tooling",
                thing_minutes=20,
                holds=(Hold(station="laser", until=f"cut the {board}"),),
                setup=board,
                first_off=True,
            )
            for board in boards
        )
        tool, *rest = first_off(route)
        return (*cuts, replace(tool, after=tuple(one.name for one in cuts)), *rest)

    two = {"case": "Case", "box": "Box"}
    shop = Workshop(means=(means(proven=False), replace(means(proven=False), design="box")))

    def cut(board_minutes: int) -> list[tuple[str, int]]:
        one = batch(order(2), replace(order(2), design="box"))
        one = replace(
            one,
            articles=two,
            recipes=tuple(
                Recipe(design=d, colour="tan", steps=steps(), first_off=with_boards(steps()))
                for d in two
            ),
            workshop=replace(shop, board_minutes=board_minutes),
        )
        plan = planned(one, Budget(rounds=60))
        accepted(one, plan)
        assert not any(task.colour for task in plan.tasks if task.step.startswith("cut the"))
        return [
            (task.step, sum(work.end - work.start for work in task.times) - 20)
            for task in plan.tasks
            if task.step.startswith("cut the")
        ]

    cuts = cut(60)
    assert len(cuts) == 2 * len(boards)
    for k, (board, more) in enumerate(cuts):
        assert more == (60 if k and board != cuts[k - 1][0] else 0)
    assert sum(more for _, more in cuts) == 60 * (len(boards) - 1)
    assert [more for _, more in cut(0)] == [0, 0, 0, 0]


def test_days_on_which_nobody_works_are_shaded_in_the_pictures() -> None:
    thursday = MONDAY + timedelta(days=3)
    saturdays = (*Hands(name="x").week[:5], ((540, 600),), ())
    hands = (
        Hands(name="me", days_off=(DaysOff(first=MONDAY, last=MONDAY),)),
        Hands(name="you", week=saturdays),
    )
    shop = Workshop(
        hands=hands, holidays=(DaysOff(first=thursday, last=thursday),), means=(means(1),)
    )
    plan = planned(batch(order(12), shop=shop))
    shown = range(plan.finish // DAY + 1)
    assert [day for day in plan.off if day in shown] == [
        day for day in shown if day == 3 or day % 7 == 6
    ]
    assert len(shown) > 7
    for draw, pictures in ((by_station, 2), (by_load, 2), (minutes_a_day, 1)):
        drawn = draw(plan).split("<svg")[1:]
        assert len(drawn) == pictures
        for svg in drawn:
            days = re.findall(r'<rect class="(day|day-off)"', svg)
            assert [k for k, look in enumerate(days) if look == "day-off"] == [
                day for day in shown if day in plan.off
            ]
    later = shifted(plan, MONDAY + timedelta(days=7))
    assert later.off[:2] == (-4, -1)


@pytest.mark.parametrize("draw", [by_station, by_load])
def test_the_picture_for_a_phone_gives_its_width_to_the_days(
    draw: Callable[[BatchPlan], str],
) -> None:
    """Names stand above their bars there, again and again, so that one is always seen."""
    plan = planned(batch(order(12)))
    wide, narrow = (ET.fromstring(f"<svg{one}") for one in draw(plan).split("<svg")[1:])

    def bars(svg: ET.Element) -> list[tuple[float, float, float]]:
        found = [one.attrib for one in svg.findall(".//{*}g/{*}rect")]
        return [(float(one["x"]), float(one["y"]), float(one["width"])) for one in found]

    def names(svg: ET.Element) -> list[tuple[str, float, float]]:
        texts = [one for one in svg.findall("{*}text") if one.find("{*}title") is not None]
        return [(str(t.text), float(t.attrib["x"]), float(t.attrib["y"])) for t in texts]

    days = 84.0 * ((plan.finish - 1) // DAY + 1)
    assert float(narrow.attrib["width"]) == days
    # the same bars, by so much further left as names had stood there
    by = float(wide.attrib["width"]) - days
    for a, b in zip(bars(wide), bars(narrow), strict=True):
        assert a[0] - b[0] == pytest.approx(by, abs=0.11)
    assert [a[2] for a in bars(wide)] == [b[2] for b in bars(narrow)]
    assert {name for name, _, _ in names(narrow)} == {name for name, _, _ in names(wide)}
    for start in range(0, int(days) - 300, 10):  # in a window of 364 px
        for _, y in {name[1:] for name in names(narrow)}:
            assert any(start - 84 <= x <= start + 336 for _, x, at in names(narrow) if at == y)
    lines = {y for _, _, y in names(narrow)}
    assert all(not (y - 12 < top < y + 2) for _, top, _ in bars(narrow) for y in lines)


def test_what_is_dyed_is_not_left_over_a_weekend_if_the_maker_says_so() -> None:
    """From Friday evening to Monday morning are 64 hours: 36 hold no weekend, but every night."""

    def left_alone(limit: int) -> list[int]:
        shop = Workshop(means=(means(2),), dyed_limit_minutes=limit)
        one = batch(order(14), order(6, "black"), shop=shop)
        plan = planned(one)
        accepted(one, plan)
        by_key = {task.key: task for task in plan.tasks}
        return [
            task.start - by_key[key].end
            for task in plan.tasks
            if task.step == "glue"
            for key in task.after
        ]

    assert max(left_alone(0)) > 60 * 60
    assert max(left_alone(36 * 60)) <= 36 * 60
    with pytest.raises(RequestError, match="dries for 600 minutes"):
        left_alone(8 * 60)


def test_wet_leather_is_not_closed_longer_than_the_limit() -> None:
    """An hour in the evening is too short to press and to open: it stays closed over night."""
    evening, morning, long = ((1320, 1380),), ((420, 480),), ((540, 900),)
    week: Week = (evening, morning, evening, morning, (), long, ())
    saturday = 5
    for limit, nights in ((720, True), (300, False)):
        shop = Workshop(
            hands=(Hands(name="me", week=week),), wet_limit_minutes=limit, means=(means(2),)
        )
        plan = planned(batch(order(2), shop=shop))
        by_key = {task.key: task for task in plan.tasks}
        for task in plan.tasks:
            if task.step == "open":
                closed = next(by_key[key] for key in task.after if by_key[key].step == "press")
                assert task.start - closed.end <= limit
        pressed = min(task.start for task in plan.tasks if task.step == "press") // DAY
        assert (pressed < saturday) == nights


def test_a_design_that_was_measured_once_needs_no_other_first_off() -> None:
    one = batch(order(6), shop=Workshop(means=(means(proven=False),)))
    plan = planned(one)
    first = next(load for load in plan.loads if load.first_off)
    last = max((t for t in plan.tasks if t.load == first.number), key=lambda task: task.end)
    plan = ticked(plan, last.key, "done", last.end, one.workshop)
    assert plan.is_finished(first.number)
    rows = {"order 0": replace(one.orders["order 0"], made=1, quantity=9)}
    now = NOW + timedelta(minutes=last.end - minute_of(NOW, plan.monday))
    new = planned(replace(one, orders=rows, now=now, before=plan), anew=False)
    assert [load.number for load in new.loads if load.first_off] == [first.number]
    assert sum(load.count for load in new.loads) == 9


def test_loads_fill_the_plugs_of_whole_nights() -> None:
    route = steps()
    for plugs, size in ((1, 4), (2, 4), (3, 6), (4, 4), (5, 5), (8, 8)):
        assert load_size(route, means(plugs)) == size
    assert load_size(steps(articles=2), means(3)) == 6
    assert load_size(route, replace(means(3), load=2)) == 2


def test_orders_share_only_their_last_loads() -> None:
    rows = [
        Wanted(order="b", design="case", colour="tan", count=5, due=9000),
        Wanted(order="a", design="case", colour="tan", count=6, due=5000),
        Wanted(order="c", design="case", colour="black", count=1),
        Wanted(order="d", design="case", colour="tan", count=3),
    ]
    loads = loads_for(rows, lambda *_: 4, lambda _: True)
    assert [[(s.order, s.count) for s in one.shares] for one in loads] == [
        [("a", 4)],
        [("b", 4)],
        [("a", 2), ("b", 1)],
        [("d", 3)],
        [("c", 1)],
    ]
    apart = loads_for(rows, lambda *_: 4, lambda _: True, share=False)
    assert all(len(one.shares) == 1 for one in apart)


def test_loads_that_are_kept_stay_and_only_what_is_missing_is_added() -> None:
    row = Wanted(order="a", design="case", colour="tan", count=9)
    kept = loads_for([replace(row, count=6)], lambda *_: 4, lambda _: True)
    loads = loads_for([row], lambda *_: 4, lambda _: True, kept, lambda one: one.number == 1)
    assert loads[:2] == kept
    assert [one.count for one in loads] == [4, 2, 3]
    fewer = loads_for([replace(row, count=5)], lambda *_: 4, lambda _: True, kept)
    assert [one.count for one in fewer] == [4, 1]


def test_groups_keep_to_stations_and_to_the_open_time_of_what_comes_first() -> None:
    stations = {"vise": 2, "plug of shell": 4, "frame of shell": 9, "hold-down ring of shell": 9}
    room = Room(stations=stations, longest_window=210, wet_limit=720)
    by_step: dict[str, list[int]] = {}
    for group in groups_of(steps(), 7, room):
        by_step.setdefault(group.step.name, []).append(group.things)
    assert by_step["press"] == by_step["soak"] == by_step["unmould"] == [2, 2, 2, 1]
    assert by_step["dye"] == [4, 3]
    # glue takes 2 minutes each and is open for 8: the first of five would wait too long at six
    assert max(by_step["glue"]) <= 1 + 8 // 2
    glue = next(one for one in steps() if one.name == "glue")
    clamp = next(one for one in steps() if one.name == "clamp")
    assert open_time(glue, clamp, 4, room) == (0, 8 - 3 * 2)


def test_groups_leave_no_plug_empty_overnight() -> None:
    for plugs, vises, size in ((3, 2, 1), (4, 2, 2), (4, 3, 2), (5, 3, 1), (6, 4, 3), (3, 9, 3)):
        stations = {"vise": vises, "plug of shell": plugs}
        room = Room(stations=stations, longest_window=210, wet_limit=720)
        groups = groups_of(steps(), 12, room)
        assert {one.things for one in groups if one.step.name == "press"} == {size}


def test_a_pair_is_half_as_many_blanks() -> None:
    room = Room(stations={}, longest_window=210, wet_limit=720)
    groups = groups_of(steps(articles=2), 5, room)
    assert sum(one.things for one in groups if one.step.name == "press") == 3
    assert sum(one.things for one in groups if one.step.name == "sew") == 5


def test_a_step_longer_than_any_window_is_refused_in_words() -> None:
    short = Workshop(
        hands=(Hands(name="me", week=(((540, 544),),) * 7),),
        means=(means(),),
    )
    with pytest.raises(RequestError, match=r"press takes 5 minutes in one go.*4 minutes.*pause"):
        planned(batch(order(2), shop=short))


def test_a_mould_that_does_not_exist_is_refused_in_words() -> None:
    wrong = replace(means(), moulds=(Moulds(blank="lid"),))
    with pytest.raises(RequestError, match=r"no mould of 'lid'.*shell"):
        planned(batch(order(2), shop=Workshop(means=(wrong,))))
    none = replace(means(), moulds=(Moulds(blank="shell", plugs=0),))
    with pytest.raises(RequestError, match=r"press needs a plug of shell.*there is none"):
        planned(batch(order(2), shop=Workshop(means=(none,))))


def test_a_circular_order_of_steps_is_refused_in_words() -> None:
    own = OwnStep(what="add", step="polish", behind="glue", minutes=2, needs=("sew",))
    with pytest.raises(RequestError, match="glue"):
        own.applied(steps())
    own = replace(own, behind="unclamp")
    with pytest.raises(RequestError, match=r"polish stands before sew.*only be done after it"):
        own.applied(steps())
