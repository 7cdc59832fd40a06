"""Orders files read strictly, holidays brought, and the plan's files read back by others."""

import csv
import io
import json
import sys
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pikepdf
import pytest
import vobject  # type: ignore[import-untyped]

from hidewright.cli import main
from hidewright.design.customer_order import CustomerOrder
from hidewright.errors import RequestError
from hidewright.planning.calendar import Calendar
from hidewright.planning.hands import DaysOff, days_off_of, windows_of, words_of
from hidewright.planning.own_step import OwnStep
from hidewright.planning.step_times import OWN_SOURCE, times_with
from hidewright.planning.workshop import Means, Workshop
from hidewright.store.demo import demo_orders
from hidewright.store.holidays import read_holidays
from hidewright.store.orders_file import OrdersFile, read_orders
from hidewright.workshop.batch import settings_words, times_words

EXAMPLES = Path(__file__).parents[1] / "examples"
DEMO = EXAMPLES / "workshop" / "orders.yaml"
NOW = datetime.fromisoformat("2026-11-30T08:00")
SMALL = """format: 1
start: 2026-11-30 08:00
designs:
  pouch: {file: pouch.yaml, first_off: done}
orders:
  - {customer: A, design: pouch, quantity: 2, due: 2026-12-18}
"""


def orders(text: str) -> OrdersFile:
    design = (EXAMPLES / "compass-pouch.yaml").read_bytes()

    def design_bytes(path: str) -> bytes:
        if path != "pouch.yaml":
            raise RequestError(f"{path} cannot be read")
        return design

    return read_orders(text.encode(), name="o.yaml", design_bytes=design_bytes, now=NOW)


# -- orders files ---------------------------------------------------------------------------------


def test_the_demo_file_says_what_it_seems_to() -> None:
    found = read_orders(
        DEMO.read_bytes(),
        name=DEMO.name,
        design_bytes=lambda path: (DEMO.parent / path).read_bytes(),
        now=NOW,
    )
    by_design: dict[str, int] = {}
    for row in found.orders.values():
        by_design[row.article] = by_design.get(row.article, 0) + row.quantity
    assert by_design == {"Lens case": 24, "Compass pouch": 12}
    assert {row.colour for row in found.orders.values()} == {"tan", "black"}
    shop = found.workshop
    assert (shop.vises, shop.wet_limit_minutes, shop.flush_minutes) == (2, 720, 20)
    assert shop.of("lens case").moulds_of("pair of shells").plugs == 4
    assert shop.of("lens case").proven
    assert date(2026, 12, 7) in list(shop.hands[0].days_off[0].days())
    assert len(list(shop.holidays[0].days())) == 3


def test_a_small_file_leaves_the_rest_as_usual() -> None:
    found = orders(SMALL)
    assert found.workshop == Workshop(means=(Means(design="pouch", proven=True),))
    assert found.orders["order 1"] == CustomerOrder(
        customer="A",
        design="pouch",
        article="Compass pouch",
        quantity=2,
        received=NOW.date(),
        due=date(2026, 12, 18),
        status="agreed",
    )


WORKSHOP = "format: 1\nworkshop: {%s}\n" + SMALL.split("\n", 2)[2]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("format: 1\ndesigns: {}\n", "no orders"),
        (SMALL.replace("format: 1", "format: 2"), r"line 1, format: another format.*format: 1"),
        (SMALL.replace("quantity", "quantitty"), r"line 6.*quantitty.*quantity"),
        (SMALL.replace("quantity: 2", "quantity: 0"), r"line 6.*order of 0"),
        (SMALL.replace("quantity: 2", "quantity: two"), "no whole number"),
        (SMALL.replace("design: pouch", "design: puoch"), r"no design 'puoch'.*pouch"),
        (SMALL.replace("2026-12-18", "2026-11-18"), r"due on 2026-11-18.*past.*later day"),
        (SMALL.replace("2026-12-18", "18 Dec"), r"no day.*2026-12-24"),
        (SMALL.replace("pouch.yaml", "gone.yaml"), "gone.yaml cannot be read"),
        (SMALL.replace("done", "yes"), "done when it has been made"),
        (SMALL.replace("2026-11-30 08:00", "Monday"), r"no local time.*2026-11-30 08:00"),
        (WORKSHOP % "vises: -1", "no whole number"),
        (WORKSHOP % "wet_limit: 5", "a unit is never guessed"),
        (WORKSHOP % "wet_limit: 300 h", "mould grows within days"),
        (WORKSHOP % "dyed_limit: 800 h", "what is dyed waits"),
        (WORKSHOP % "least_part: 0 min", r"parts of 0 minutes.*1 to 120 min"),
        (WORKSHOP % "goals: [on time, cheap]", "no goal is 'cheap'"),
        (WORKSHOP % "hands: [{name: A, hours: 9 to 5}]", r"no time at work.*9:00-12:30"),
        (WORKSHOP % "hands: [{name: A, hours: '13-17, 9-12'}]", "in order"),
        (WORKSHOP % "hands: [{name: A, hours: {monday: 9-12, funday: 9-12}}]", "no field 'funday'"),
        (WORKSHOP % "hands: [{name: A, hours: {monday: ''}}]", "no plain value"),
        (WORKSHOP % "holidays: ['2026-12-24 to 2026-12-01']", "not before the first"),
        (WORKSHOP % "bench: {dye: sometimes}", "before moulding"),
        (WORKSHOP % "bench: {water_C: 80}", "shrinks for good"),
        (WORKSHOP % "times: {sow: {unit_minutes: 1}}", r"no step is a 'sow'.*sew"),
        (SMALL.replace("done}", "done, moulds: [{plugs: 2}]}"), "blank:"),
        (SMALL.replace("done}", "done, steps: [{move: sew rim}]}"), "behind which"),
        (SMALL.replace("done}", "done, steps: [{remove: sew rim}]}"), "no field 'remove'"),
    ],
)
def test_what_cannot_be_is_refused_with_its_place_and_a_remedy(text: str, said: str) -> None:
    with pytest.raises(RequestError, match=said) as refused:
        orders(text)
    assert "o.yaml" in str(refused.value)


def test_the_maker_s_own_times_and_steps_are_read() -> None:
    text = SMALL.replace(
        "done}",
        "done, load: 3, steps: [{leave_out: condition again}, "
        "{add: stamp the back, behind: check, minutes: 2, needs: [sew rim]}]}",
    ).replace("designs:", "workshop: {times: {sew: {unit_minutes: 0.5}}}\ndesigns:")
    found = orders(text)
    assert found.workshop.of("pouch").own_steps == (
        OwnStep(what="leave out", step="condition again"),
        OwnStep(what="add", step="stamp the back", behind="check", minutes=2.0, needs=("sew rim",)),
    )
    assert found.workshop.of("pouch").load == 3
    assert found.workshop.bench.times[0].unit_minutes == 0.5


def test_the_demo_s_orders_come_in_on_any_day() -> None:
    today = date(2027, 3, 3)
    shop, rows = demo_orders({"Lens case": "id 1", "Compass pouch": "id 2"}, today)
    assert {row.design for row in rows} == {"id 1", "id 2"}
    assert min(row.due for row in rows if row.due) == today + timedelta(days=18)
    assert shop.of("id 1").moulds
    assert {one.why: (one.first, one.last) for one in shop.holidays} == {
        "Christmas": (date(2027, 12, 24), date(2027, 12, 26)),
        "New Year's Day": (date(2028, 1, 1), date(2028, 1, 1)),
    }
    with pytest.raises(RequestError, match="Compass pouch is not in the book"):
        demo_orders({"Lens case": "id 1"}, today)


# -- words ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["09:00-12:30, 13:30-17:00", "off", "00:00-24:00"])
def test_hours_are_written_as_they_are_read(text: str) -> None:
    assert words_of(windows_of(text)) == text


def test_hours_that_run_backwards_are_told_as_hours() -> None:
    with pytest.raises(RequestError, match=r"from 12:30 to 09:00.*such as 09:00-12:30"):
        Calendar(week=(windows_of("12:30-9:00"), (), (), (), (), (), ()))


def test_settings_are_written_as_they_are_read() -> None:
    week = "Monday: 09:00-12:30\nTuesday: off\nWednesday: off\nThursday: off\nFriday: off\n"
    week += "Saturday: 08:00-10:00\nSunday: off"
    assert settings_words.week_words(settings_words.week_of(week)) == week
    assert settings_words.week_of("mon: 9-12:30\nSat: 8-10") == settings_words.week_of(week)
    steps = (
        OwnStep(what="leave out", step="a"),
        OwnStep(what="move", step="b c", behind="d"),
        OwnStep(what="add", step="e", behind="f", minutes=5),
    )
    words = "leave out: a\nmove: b c behind d\nadd: e behind f, 5 min"
    assert settings_words.own_step_words(steps) == words
    days = "2026-12-24 to 2026-12-26, Christmas\n2027-01-01"
    assert settings_words.days_off_words(settings_words.days_off_lines(days)) == days
    for wrong in ("Funday: 9-12", "T: 9-12", "Monday 9-12"):
        with pytest.raises(RequestError, match="weekday"):
            settings_words.week_of(wrong)
    with pytest.raises(RequestError, match="on time"):
        settings_words.goals_of("cheap")
    assert days_off_of("2026-12-24").words == "2026-12-24"


def test_own_times_are_read_as_they_are_written_and_what_is_not_named_stays() -> None:
    lines = "sew: 0.3 min for each stitch\nsoak: 2 min a load, rest 15 min to 40 min"
    sew, soak = times_words.own_times_of(lines)
    built_in = times_with()
    assert times_words.own_time_words((sew, soak)) == lines
    assert sew.minutes(10) == built_in["sew"].thing_minutes + 3.0
    assert (soak.rest_least_minutes, soak.rest_most_minutes) == (15, 40)
    assert soak.thing_minutes == built_in["soak"].thing_minutes
    every = times_words.built_in_time_words()
    assert times_words.own_times_of(every) == tuple(
        replace(row, source=OWN_SOURCE) for row in built_in.values()
    )
    for wrong in ("sow: 1 min each", "sew: 1 min for each hole", "sew: fast", "pack: rest 1 h"):
        with pytest.raises(RequestError):
            times_words.own_times_of(wrong)


# -- holidays -------------------------------------------------------------------------------------


def calendar(*events: str) -> bytes:
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//made up//EN"]
    for number, event in enumerate(events):
        lines += ["BEGIN:VEVENT", f"UID:{number}", "DTSTAMP:20260101T000000Z", *event.split("|")]
        lines.append("END:VEVENT")
    return ("\r\n".join((*lines, "END:VCALENDAR")) + "\r\n").encode()


def holidays(data: bytes) -> list[DaysOff]:
    found = read_holidays(data, name="h.ics", first=date(2026, 11, 1), last=date(2028, 1, 31))
    return list(found)


def test_whole_days_are_days_off_and_come_again() -> None:
    data = calendar(
        # the end of an all-day event is the day behind it (RFC 5545, 3.6.1)
        "DTSTART;VALUE=DATE:20201225|DTEND;VALUE=DATE:20201227|RRULE:FREQ=YEARLY|SUMMARY:Christmas",
        "DTSTART;VALUE=DATE:20261224|SUMMARY:the eve",
        "DTSTART;VALUE=DATE:20261102|DURATION:P3D|SUMMARY:three days",
        "DTSTART;VALUE=DATE:20261116|RRULE:FREQ=WEEKLY;UNTIL=20261207|EXDATE;VALUE=DATE:20261123"
        "|SUMMARY:Mondays",
        "DTSTART:20261201T100000|DTEND:20261201T110000|SUMMARY:a meeting",
        "DTSTART;VALUE=DATE:20200101|SUMMARY:long ago",
    )
    assert [(one.words) for one in holidays(data)] == [
        "2026-11-02 to 2026-11-04, three days",
        "2026-11-16, Mondays",
        "2026-11-30, Mondays",
        "2026-12-07, Mondays",
        "2026-12-24, the eve",
        "2026-12-25 to 2026-12-26, Christmas",
        "2027-12-25 to 2027-12-26, Christmas",
    ]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"hello", "no calendar"),
        (calendar("DTSTART:20261201T100000|SUMMARY:a meeting"), "no whole days"),
        (calendar("DTSTART;VALUE=DATE:20261201|RRULE:FREQ=WEEKLY;BYDAY=XX"), "h.ics"),
        (b"x" * 2_000_001, "2 MB"),
    ],
)
def test_what_is_no_calendar_of_holidays_is_refused(data: bytes, said: str) -> None:
    with pytest.raises(RequestError, match=said):
        holidays(data)


def test_an_event_every_second_is_no_holiday_and_ends() -> None:
    data = calendar("DTSTART;VALUE=DATE:20261201|RRULE:FREQ=SECONDLY|SUMMARY:hostile")
    assert [one.words for one in holidays(data)] == ["2026-12-01, hostile"]


# -- the command and its files --------------------------------------------------------------------


def run(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    monkeypatch.setattr(sys, "argv", ["hidewright", *words])
    with pytest.raises(SystemExit) as left:
        main()
    return int(left.value.code or 0)


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Return the demo's plan as the command prints and writes it."""
    folder = tmp_path_factory.mktemp("plan")
    out = io.StringIO()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "stdout", out)
        files = {name: folder / f"plan.{name}" for name in ("ics", "csv", "pdf")}
        options = [word for name, file in files.items() for word in (f"--{name}", str(file))]
        code = run(patch, "plan", str(DEMO), "--rounds", "2", "--json", *options)
    assert code == 0
    told: dict[str, Any] = json.loads(out.getvalue())
    told["files"] = {name: file.read_bytes() for name, file in files.items()}
    return told


def test_the_demo_is_planned_and_in_time(planned: dict[str, Any]) -> None:
    assert planned["checked"]
    assert planned["bound"] <= planned["finish"]
    assert [row["late_days"] for row in planned["orders"]] == [0, 0, 0, 0]
    begins = [time["begin"] for one in planned["steps"] for time in one["times"]]
    assert min(begins) >= "2026-11-30T09:00"
    assert not any(begin.startswith("2026-12-07") for begin in begins), "away at a fair"


def test_the_calendar_holds_every_time_at_work_as_an_independent_reader_sees_it(
    planned: dict[str, Any],
) -> None:
    read = vobject.readOne(planned["files"]["ics"].decode())
    events = {(one.dtstart.value, one.dtend.value, one.summary.value) for one in read.vevent_list}
    wanted = {
        (
            datetime.fromisoformat(time["begin"]),
            datetime.fromisoformat(time["end"]),
            f"{one['what']} ({time['who']})",
        )
        for one in planned["steps"]
        for time in one["times"]
    }
    assert events == wanted
    assert len({one.uid.value for one in read.vevent_list}) == len(read.vevent_list)


def test_an_alarm_goes_when_a_wait_ends_and_not_in_the_night(planned: dict[str, Any]) -> None:
    read = vobject.readOne(planned["files"]["ics"].decode())
    alarms = {}
    for event in read.vevent_list:
        if hasattr(event, "valarm"):
            trigger = event.valarm.trigger
            assert trigger.related_param == "END"
            alarms[event.summary.value, event.dtend.value] = event.dtend.value + trigger.value
    waits = [one for one in planned["steps"] if one["ready"]]
    assert len(alarms) == len(waits)
    for one in waits:
        last = one["times"][-1]
        ready = datetime.fromisoformat(one["ready"])
        goes = alarms[f"{one['what']} ({last['who']})", datetime.fromisoformat(last["end"])]
        assert goes >= ready
        assert 7 <= goes.hour <= 21
        if 7 <= ready.hour < 21:
            assert goes == ready


def test_the_table_has_a_row_for_every_time_at_work(planned: dict[str, Any]) -> None:
    text = planned["files"]["csv"].decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == sum(len(one["times"]) for one in planned["steps"])
    minutes = sum(int(row["minutes"]) for row in rows)
    assert minutes >= sum(one["minutes"] for one in planned["steps"])
    assert {row["weekday"] for row in rows} <= {
        "Monday",
        "Tuesday",
        "Wednesday",
        "Thursday",
        "Friday",
    }


@pytest.mark.parametrize(("paper", "points"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_the_day_list_is_paper_of_one_size_with_its_own_letters(
    planned: dict[str, Any], paper: str, points: tuple[int, int]
) -> None:
    from hidewright.drawing.day_list import day_list

    data = planned["files"]["pdf"] if paper == "A4" else day_list(_plan(), "Letter")
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for page in pdf.pages:
            box: Any = page.mediabox
            assert [round(float(v)) for v in list(box)[2:]] == list(points)
            fonts: Any = page.resources["/Font"]
            assert {str(font["/BaseFont"])[8:] for _, font in fonts.items()} == {"DejaVuSans"}
            heights = [
                height
                for one in pikepdf.parse_content_stream(page)
                if str(one.operator) == "Tm" and (height := float(one.operands[5])) > 0
            ]
            # all that is written lies between the margins, the page's number 12 mm from the edge
            assert min(heights) == pytest.approx(12 / 25.4 * 72, abs=0.1)
            assert max(heights) <= points[1] - 18 / 25.4 * 72
    if paper == "Letter":
        assert data == day_list(_plan(), "Letter")
        with pytest.raises(RequestError, match="A5"):
            day_list(_plan(), "A5")  # type: ignore[arg-type]


def _plan() -> Any:
    """Return a plan of many days."""
    from hidewright.planning.batch_plan import BatchPlan, Outcome, Task, Work
    from hidewright.planning.loads import Load, Share

    share = (Share(order="a", count=4),)
    tasks = tuple(
        Task(
            key=f"1/{k}",
            load=1,
            step=f"step {k}",
            words=f"step {k} of a name that is so long that it takes two lines, 4 pieces",
            minutes=10,
            times=(
                Work(start=1440 * (k // 20) + 540 + k, end=1440 * (k // 20) + 550 + k, person="A"),
            ),
        )
        for k in range(100)
    )
    return BatchPlan(
        monday=date(2026, 11, 30),
        made=0,
        loads=(Load(number=1, design="d", colour="tan", shares=share),),
        articles=(("d", "=Case"),),
        tasks=tasks,
        taken=(),
        stations=(),
        orders=(Outcome(order="a", customer="A", article="Case", count=4, ready=7000, due=5760),),
        status="feasible",
        finish=7000,
        bound=6000,
        rounds=1,
        seed=0,
    )


def test_a_name_that_looks_like_a_formula_is_none_in_a_spreadsheet() -> None:
    from hidewright.drawing.plan_table import plan_table

    rows = list(csv.DictReader(io.StringIO(plan_table(_plan()).decode("utf-8-sig"))))
    assert {row["article"] for row in rows} == {"'=Case"}


def test_lateness_is_told_in_begun_days() -> None:
    late = _plan().orders[0]
    assert late.due is not None
    for ready, days, words in (
        (late.due, 0, ""),
        (late.due + 1, 1, "1 day late"),
        (late.due + 1440, 1, "1 day late"),
        (late.due + 1441, 2, "2 days late"),
    ):
        one = replace(late, ready=ready)
        assert (one.late_days, one.late_words) == (days, words)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("plan",), "nothing to plan"),
        (("plan", str(DEMO), "--problem", "p.json"), "two things to plan"),
        (("plan", "--problem", "p.json", "--ics", "a.ics"), "a problem has no days"),
        (("plan", "nowhere.yaml"), "nowhere.yaml cannot be read"),
        (("plan", str(DEMO), "--rounds", "0"), "0 rounds"),
    ],
)
def test_a_command_that_says_too_little_or_too_much_is_refused(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: tuple[str, ...],
    said: str,
) -> None:
    assert run(monkeypatch, *words) == 2
    assert said in capsys.readouterr().err
