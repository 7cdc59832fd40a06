"""The workshop in an orders file: hands with their hours, stations, goals, the bench."""

from dataclasses import fields, replace
from functools import partial
from typing import Any, Literal, get_args, get_origin, get_type_hints

import yaml

from hidewright.catalogue.rows import near
from hidewright.catalogue.strict_yaml import plain
from hidewright.errors import RequestError
from hidewright.planning.hands import (
    USUAL_WEEK,
    WEEKDAYS,
    DaysOff,
    Hands,
    Week,
    days_off_of,
    windows_of,
)
from hidewright.planning.step_times import own_times
from hidewright.planning.steps_choice import BenchChoice
from hidewright.planning.workshop import GOALS, Workshop
from hidewright.store.fields import Place, entries, items, word
from hidewright.store.orders_values import minutes, number, told_at, whole

_COUNTS = ("vises", "clamps", "drying_places")
_MINUTES = ("wet_limit", "dyed_limit", "least_part", "flush", "board")
_OWN_BENCH = ("colour", "new", "times", "own_steps")


def workshop_from(node: yaml.Node | None, place: Place) -> Workshop:
    """Return the workshop that a section of the file describes; the usual one without it."""
    if node is None:
        return Workshop()
    known = (*_COUNTS, *_MINUTES, "hands", "holidays", "goals", "bench", "times", "zone")
    got = entries(node, place, known=known)
    made: dict[str, Any] = {key: whole(got[key], place.into(key)) for key in _COUNTS if key in got}
    if "hands" in got:
        here = place.into("hands")
        made["hands"] = tuple(_hands(one, here) for one in items(got["hands"], here))
    if "holidays" in got:
        made["holidays"] = _days_off(got["holidays"], place.into("holidays"))
    for key in _MINUTES:
        if key in got:
            made[f"{key}_minutes"] = minutes(got[key], place.into(key))
    if "goals" in got:
        made["goals"] = _goals(got["goals"], place.into("goals"))
    if "zone" in got:
        made["zone"] = word(got["zone"], place.into("zone"))
    bench = _bench(got.get("bench"), place.into("bench"))
    if "times" in got:
        bench = replace(bench, times=_times(got["times"], place.into("times")))
    return told_at(lambda: Workshop(bench=bench, **made), node, place)


def _hands(node: yaml.Node, place: Place) -> Hands:
    got = entries(node, place, known=("name", "hours", "days_off"))
    if "name" not in got:
        raise RequestError("hands without a name", mend="Write 'name:'", where=place.at(node))
    week = _week(got["hours"], place.into("hours")) if "hours" in got else USUAL_WEEK
    off = _days_off(got["days_off"], place.into("days_off")) if "days_off" in got else ()
    name = word(got["name"], place.into("name"))
    return told_at(lambda: Hands(name=name, week=week, days_off=off), node, place)


def _week(node: yaml.Node, place: Place) -> Week:
    """Return the windows of a week: one text for Monday to Friday, or one for each weekday."""
    if isinstance(node, yaml.ScalarNode):
        day = windows_of(word(node, place), place.at(node))
        return (day, day, day, day, day, (), ())
    names = tuple(one.lower() for one in WEEKDAYS)
    got = entries(node, place, known=names)
    days = [
        windows_of(word(got[one], place.into(one)), place.into(one).at(got[one]))
        if one in got
        else ()
        for one in names
    ]
    return (days[0], days[1], days[2], days[3], days[4], days[5], days[6])


def _days_off(node: yaml.Node, place: Place) -> tuple[DaysOff, ...]:
    """Return days off: a day, or ``first to last``, each with a reason behind it or none."""
    return tuple(
        told_at(partial(days_off_of, word(one, place)), one, place) for one in items(node, place)
    )


def _goals(node: yaml.Node, place: Place) -> tuple[Any, ...]:
    out = []
    for one in items(node, place):
        goal = word(one, place)
        if goal not in GOALS:
            raise RequestError(f"no goal is {goal!r}", mend=near(goal, GOALS), where=place.at(one))
        out.append(goal)
    return tuple(out)


def _bench(node: yaml.Node | None, place: Place) -> BenchChoice:
    usual = Workshop().bench
    if node is None:
        return usual
    hints = get_type_hints(BenchChoice)
    known = tuple(one.name for one in fields(BenchChoice) if one.name not in _OWN_BENCH)
    made: dict[str, Any] = {}
    for key, child in entries(node, place, known=known).items():
        here, text = place.into(key), word(child, place.into(key))
        hint = hints[key]
        if get_origin(hint) is Literal:
            if text not in get_args(hint):
                raise RequestError(
                    f"{text!r} is not one of the choices",
                    mend=f"Choose one of: {', '.join(get_args(hint))}",
                    where=here.at(child),
                )
            made[key] = text
        else:
            made[key] = whole(child, here) if hint is int else number(text, child, here)
    return told_at(lambda: replace(usual, **made), node, place)


def _times(node: yaml.Node, place: Place) -> Any:
    found = plain(node, place.file)
    if not isinstance(found, dict) or not all(isinstance(one, dict) for one in found.values()):
        raise RequestError(
            "no list of times",
            mend="Write such as 'sew: {unit_minutes: 0.3}', one kind of work a line",
            where=place.at(node),
        )
    return told_at(lambda: own_times(found), node, place)
