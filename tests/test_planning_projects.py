"""Schedules that are built from orders: nothing is sooner possible, and pushing never harms."""

import random

import numpy as np
import pytest

from hidewright.planning.acceptance import breaches
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Hold, Operation, Order, Problem, Span, Station, Wait
from hidewright.planning.project_kernels import broken, built, by_key, improved, sound
from hidewright.planning.projects import Project

SEEDS = range(12)


def made_up(seed: int) -> Problem:
    """Return a problem without hands: random waits forward, some of them negative, and needs."""
    draw = random.Random(seed)
    count = draw.randint(3, 14)
    stations = tuple(Station(name=str(k), capacity=draw.randint(1, 4)) for k in range(2))
    pairs = [(a, b) for b in range(count) for a in range(b) if draw.random() < 0.2]
    return Problem(
        operations=tuple(
            Operation(
                load=k,
                step="work",
                minutes=draw.randint(1, 9),
                order=draw.randrange(2),
                hands=False,
            )
            for k in range(count)
        ),
        waits=tuple(Wait(before=a, after=b, least=draw.randint(-3, 5)) for a, b in pairs),
        stations=stations,
        holds=tuple(
            Hold(station=one.name, first=i, last=i, amount=draw.randint(1, one.capacity))
            for i in range(count)
            for one in stations
            if draw.random() < 0.7
        ),
        orders=(Order(name="now"), Order(name="later", release=draw.randint(1, 20))),
    )


def plan_of(problem: Problem, starts: np.ndarray) -> Plan:
    spans = (
        Span(start=s, end=s + one.minutes, operation=i, person=-1)
        for i, (s, one) in enumerate(zip(starts.tolist(), problem.operations, strict=True))
    )
    return Plan(spans=tuple(sorted(spans)))


def is_free(problem: Problem, starts: np.ndarray, placed: list[int], i: int, at: int) -> bool:
    """Whether an operation may start at a minute beside those that are placed."""
    one = problem.operations[i]
    if at < problem.orders[one.order].release:
        return False
    for wait in problem.waits:
        end = starts[wait.before] + problem.operations[wait.before].minutes
        if wait.after == i and at < end + wait.least:
            return False
    held = {(hold.station, hold.first): hold.amount for hold in problem.holds}
    return all(
        sum(
            held.get((station.name, j), 0)
            for j in placed
            if starts[j] <= minute < starts[j] + problem.operations[j].minutes
        )
        + held.get((station.name, i), 0)
        <= station.capacity
        for station in problem.stations
        if (station.name, i) in held
        for minute in range(at, at + one.minutes)
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_each_operation_starts_at_the_first_minute_at_which_it_may(seed: int) -> None:
    problem = made_up(seed)
    net = Project(problem, seed).net
    draw = np.random.default_rng(seed)
    for _ in range(4):
        order = by_key(net, draw.random(len(problem.operations)))
        starts = built(net, net.before, net.release, order)
        assert breaches(problem, plan_of(problem, starts)) == ()
        assert not net.used.any()
        placed: list[int] = []
        for i in order.tolist():
            free = (
                at for at in range(int(starts[i]) + 1) if is_free(problem, starts, placed, i, at)
            )
            assert next(free) == starts[i]
            placed.append(i)


@pytest.mark.parametrize("seed", SEEDS)
def test_orders_are_made_sound_and_those_that_are_stay(seed: int) -> None:
    problem = made_up(seed)
    net, draw = Project(problem, seed).net, np.random.default_rng(seed)
    count = len(problem.operations)
    by_chance = sound(net.before, draw.permutation(count))
    by_keys = by_key(net, draw.random(count))
    in_part = broken(net, by_keys, draw.random(4), draw.standard_normal(count))
    for order in (by_chance, by_keys, in_part):
        place = {i: k for k, i in enumerate(order.tolist())}
        assert sorted(place) == list(range(count))
        assert all(place[one.before] < place[one.after] for one in problem.waits)
        assert sound(net.before, order).tolist() == order.tolist()


@pytest.mark.parametrize("seed", SEEDS)
def test_pushing_right_and_left_finishes_no_later_and_nothing_is_gained_by_more(seed: int) -> None:
    problem = made_up(seed)
    net = Project(problem, seed).net
    order = by_key(net, np.random.default_rng(seed).random(len(problem.operations)))
    starts = built(net, net.before, net.release, order)
    finish, better, then = improved(net, order)
    assert breaches(problem, plan_of(problem, better)) == ()
    assert finish == plan_of(problem, better).finish <= plan_of(problem, starts).finish
    assert improved(net, then)[0] <= finish
