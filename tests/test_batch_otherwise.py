"""What comes after a plan: ticks, mishaps, other days, promises and what would be sooner."""

import random
from dataclasses import replace
from datetime import date, timedelta

import pytest

from batch_made import (
    FEW,
    MONDAY,
    NOW,
    accepted,
    batch,
    made_up,
    order,
    planned,
    steps,
)
from hidewright.planning.calendar import DAY
from hidewright.planning.grouping import Room, groups_of
from hidewright.planning.hands import DaysOff, minute_of
from hidewright.planning.laid import key_of
from hidewright.planning.loads import Load, Share
from hidewright.planning.schedule import Budget
from hidewright.planning.workshop import Means, Moulds, Workshop
from hidewright.workshop.batch.otherwise import asked_for, difference, newly_made, ticked
from hidewright.workshop.batch.promise import promised
from hidewright.workshop.batch.relief import Relief, reliefs
from hidewright.workshop.batch.week import plan_batch, shifted
from hidewright.workshop.batch.words import plain_plan


def test_where_all_goes_as_planned_nothing_moves() -> None:
    one = batch(order(8), order(4, "black"))
    plan = planned(one)
    now = minute_of(NOW + timedelta(hours=33), plan.monday)
    for task in plan.tasks:
        if task.end <= now:
            plan = ticked(plan, task.key, "done", now, one.workshop)
        elif task.start < now:
            plan = ticked(plan, task.key, "started", now, one.workshop)
    then = replace(one, now=NOW + timedelta(hours=33), before=plan)
    new = planned(then, anew=False)
    accepted(then, new)
    assert {t.key: t.times for t in new.tasks} == {t.key: t.times for t in plan.tasks}
    assert difference(plan, new).sentences == ("Nothing moves to another day.",)


@pytest.mark.parametrize("seed", range(4))
def test_after_any_ticks_and_mishaps_the_plan_can_be_worked(seed: int) -> None:
    draw = random.Random(seed)
    one = made_up(100 + seed)
    plan = planned(one)
    for days in (1, 3):
        now = NOW + timedelta(days=days, hours=draw.randint(0, 9))
        minute = minute_of(now, plan.monday)
        begun = plan
        for task in plan.tasks:
            if task.start < minute and draw.random() < 0.5:
                state = draw.choice(("started", "done"))
                if plan.task(task.key).state == "planned":  # type: ignore[union-attr]
                    plan = ticked(plan, task.key, state, minute, one.workshop)  # type: ignore[arg-type]
        made = newly_made(begun, plan)
        shop = one.workshop
        if days == 1:
            moulds = shop.of("case").moulds_of("shell")
            fewer = replace(moulds, plugs=max(1, moulds.plugs - 1))
            shop = shop.with_means(replace(shop.of("case"), moulds=(fewer,)))
        else:
            away = DaysOff(first=now.date(), last=now.date() + timedelta(days=1))
            hands = shop.hands[0]
            hands = replace(hands, days_off=(*hands.days_off, away))
            shop = replace(shop, hands=(hands, *shop.hands[1:]))
        rows = {id: replace(row, made=row.made + made.get(id, 0)) for id, row in one.orders.items()}
        one = replace(one, orders=rows, now=now, before=plan, workshop=shop)
        done = {
            t.key: t.times
            for t in plan.tasks
            if t.state != "planned" and not plan.is_finished(t.load)
        }
        new = plan_batch(one, budget=FEW, anew=False)
        if new is None:
            assert all(row.made == row.quantity for row in rows.values())
            return
        assert new.monday == plan.monday
        kept = {t.key: t.times for t in new.tasks if not new.is_finished(t.load)}
        assert {k: kept[k] for k in done} == done
        assert all(
            work.start >= minute
            for task in new.tasks
            if task.state == "planned"
            for work in task.times
        )
        plan = new


def test_a_tick_brings_what_was_before_it_and_takes_back_what_is_behind_it() -> None:
    one = batch(order(4))
    plan = planned(one)
    sew = next(task for task in plan.tasks if task.step == "sew")
    now = sew.end
    on = ticked(plan, sew.key, "done", now, one.workshop)
    done = {task.step for task in on.tasks if task.state == "done"}
    assert done == {task.step for task in plan.tasks} - {"pack"}
    off = ticked(on, next(t for t in on.tasks if t.step == "dye").key, "planned", now, one.workshop)
    assert {t.step for t in off.tasks if t.state == "planned"} == {
        "dye",
        "glue",
        "clamp",
        "unclamp",
        "sew",
        "pack",
    }


def test_what_is_packed_counts_as_made_and_no_more_once_it_is_taken_back() -> None:
    one = batch(order(4))
    plan = planned(one)
    pack = next(task for task in plan.tasks if task.step == "pack")
    on = ticked(plan, pack.key, "done", pack.end, one.workshop)
    assert newly_made(plan, on) == {"order 0": 4}
    assert newly_made(on, ticked(on, pack.key, "planned", pack.end, one.workshop)) == {
        "order 0": -4
    }
    assert newly_made(on, on) == {}


def test_soaked_leather_that_waited_too_long_is_planned_and_said() -> None:
    one = batch(order(2))
    plan = planned(one)
    soak = next(task for task in plan.tasks if task.step == "soak")
    plan = ticked(plan, soak.key, "done", soak.end, one.workshop)
    late = replace(one, now=NOW + timedelta(days=1), before=plan)
    new = planned(late, anew=False)
    assert any("press of load 1 comes later than it should" in note for note in new.notes)


def test_a_step_goes_to_another_day_or_it_is_said_why_not() -> None:
    one = batch(order(4), order(4, "black"))
    plan = planned(one)
    sew = next(task for task in plan.tasks if task.step == "sew")
    later = sew.start // DAY + 1
    wish = asked_for(plan, sew.key, later)
    new = planned(replace(one, before=wish), anew=False)
    accepted(replace(one, before=wish), new)
    moved = new.task(sew.key)
    assert moved is not None
    assert {work.start // DAY for work in moved.times} == {later}
    assert difference(plan, new, sew.key).on_its_day is True
    # not before the leather is dry
    wish = asked_for(plan, sew.key, 0)
    new = planned(replace(one, before=wish), anew=False)
    found = difference(plan, new, sew.key)
    assert found.on_its_day is False
    assert "cannot be done on Monday 30 November" in found.sentences[0]


def test_no_wish_breaks_a_limit_behind_what_is_done() -> None:
    """Leather that is soaked is not pressed a day later because that was asked for."""
    one = batch(order(4), order(4, "black"))
    plan = planned(one)
    soak = min((task for task in plan.tasks if task.step == "soak"), key=lambda task: task.start)
    (press,) = (t for t in plan.tasks if t.step == "press" and soak.key in t.after)
    plan = ticked(plan, soak.key, "done", soak.end, one.workshop)
    then = replace(one, now=NOW + timedelta(minutes=soak.end - minute_of(NOW, plan.monday)))
    wish = asked_for(plan, press.key, press.start // DAY + 1)
    new = planned(replace(then, before=wish), anew=False)
    found = difference(plan, new, press.key)
    assert found.on_its_day is False
    assert len(found.sentences) == 1, "nothing else moves"
    assert not any("comes later" in note for note in new.notes)
    assert {t.key: t.times for t in new.tasks} == {t.key: t.times for t in plan.tasks}


@pytest.mark.parametrize("seed", range(6))
def test_any_step_moved_to_any_day_gives_a_plan_that_can_be_worked(seed: int) -> None:
    draw = random.Random(seed)
    one = made_up(200 + seed)
    plan = planned(one)
    for task in draw.sample(plan.tasks, 4):
        day = max(0, task.start // DAY + draw.choice((-2, -1, 1, 2)))
        then = replace(one, before=asked_for(plan, task.key, day))
        new = planned(then, anew=False)
        accepted(then, new)


def test_days_are_counted_from_another_monday_without_a_change() -> None:
    plan = planned(batch(order(3, due=20)))
    before = shifted(plan, MONDAY - timedelta(days=14))
    assert before.tasks[0].start == plan.tasks[0].start + 14 * DAY
    assert shifted(before, MONDAY) == plan
    assert plain_plan(before) == plain_plan(plan)


def test_a_promise_is_kept_by_a_plan_and_makes_nobody_late() -> None:
    one = batch(order(4, due=9, who="first"), order(4, "black", due=11, who="second"))
    asked = order(4, who="new")
    found = promised(one, asked)
    assert found.late == ()
    assert found.in_time is None
    rows = {**one.orders, "new": replace(asked, due=found.day)}
    plan = planned(replace(one, orders=rows), Budget(rounds=60))
    assert not any(row.late_days for row in plan.orders)
    alone = promised(replace(one, orders={}), asked)
    assert alone.day <= found.day
    early = promised(one, replace(asked, due=MONDAY))
    assert early.in_time is False
    assert "later than it is wanted" in early.words


def test_the_remedy_names_a_plug_and_not_a_whole_set() -> None:
    """One plug beside many rings and frames: a second plug halves the nights, a ring does not."""
    only = Means(
        design="case", moulds=(Moulds(blank="shell", plugs=1, frames=4, rings=4),), proven=True
    )
    one = batch(order(8), shop=Workshop(vises=4, means=(only,)))
    plan = planned(one)
    found = reliefs(one, plan, {}, (), rounds=2)
    assert found[0].what == "a second plug for the shell of Case"
    assert found[0].sooner >= 2 * DAY
    with_it = planned(replace(one, workshop=found[0].workshop))
    assert with_it.finish < plan.finish
    assert not any("ring" in relief.what for relief in found)


def test_a_plug_without_a_ring_is_named_together_with_one() -> None:
    only = Means(
        design="case", moulds=(Moulds(blank="shell", plugs=1, frames=4, rings=1),), proven=True
    )
    one = batch(order(8), shop=Workshop(vises=4, means=(only,)))
    found = reliefs(one, planned(one), {}, (), rounds=2)
    assert found[0].what == "a second plug and a second hold-down ring for the shell of Case"


def test_what_brings_no_whole_day_is_told_in_hours() -> None:
    day = date(2026, 11, 30)
    brings = Relief(what="a helper", workshop=Workshop(), now=day, then=day, sooner=436)
    assert brings.words == "A helper brings it 7 h 16 min sooner."


def test_keys_are_the_same_in_every_plan() -> None:
    load = Load(number=7, design="case", colour="tan", shares=(Share(order="a", count=2),))
    room = Room(stations={"vise": 1}, longest_window=210, wet_limit=720)
    keys = [key_of(load, group) for group in groups_of(steps(), 2, room)]
    assert keys[1:3] == ["7/soak/1 of 2", "7/soak/2 of 2"]
    assert len(set(keys)) == len(keys)
