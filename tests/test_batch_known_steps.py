"""Steps worked out once are known the next time, as long as nothing they are made from changes."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from hidewright.design.step import Figure, Hold, Rest, Step
from hidewright.planning.known_steps import KnownSteps
from hidewright.planning.own_step import OwnStep
from hidewright.planning.workshop import Means, Workshop
from hidewright.store.book import Book
from hidewright.store.book_steps import MOST, STEPS, keep_steps, known_steps
from hidewright.store.design_file import read_design
from hidewright.workshop.batch import recipes
from hidewright.workshop.graph import Cache

FILE = Path(__file__).parents[1] / "examples" / "lens-case.yaml"
STEP = Step(
    name="soak",
    work="soak",
    place_kind="blank",
    place="pair of shells",
    how="Under water.",
    thing_minutes=0.5,
    interrupt="never",
    rest=Rest(what="soaking", least_minutes=12, most_minutes=30),
    holds=(Hold(station="tub", until="soak"),),
    load_limit=8,
    figures=(Figure(label="Water", value="30 °C"),),
    source="made up",
)
PACK = replace(STEP, name="pack", rest=None, holds=(), after=("soak",))
#: Of the laser, mm/s.
SPEED = 10.0
KNOWN = KnownSteps(steps=(STEP, PACK), first_off=(STEP,))


def test_steps_are_worked_out_again_only_when_what_they_go_by_has_changed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    spec = read_design(FILE.read_bytes(), name=FILE.name).specification
    asked: list[Any] = []

    def worked_out(one: Any, speed: float, bench: Any, *_: object) -> tuple[Step, ...]:
        asked.append((one, speed, bench))
        return KNOWN.steps

    monkeypatch.setattr(recipes, "_steps", worked_out)
    known: dict[str, KnownSteps] = {}

    def times_asked(
        workshop: Workshop, design: Any = spec, colour: str = "tan", speed: float = SPEED
    ) -> int:
        asked.clear()
        recipes.recipes_for(
            {"case": design}, [("case", colour)], workshop, Cache(), known=known, laser_speed=speed
        )
        return len(asked)

    shop = Workshop()
    both = 2  # of the batch and of its first-off
    assert times_asked(shop) == both
    assert times_asked(shop) == 0
    # what steps do not go by
    assert times_asked(replace(shop, vises=3, means=(Means(design="case", proven=True),))) == 0
    # what they do go by
    assert times_asked(replace(shop, bench=replace(shop.bench, humidity=0.8))) == both
    assert times_asked(shop, colour="black") == both
    assert times_asked(shop, speed=2.0 * SPEED) == both
    other = replace(spec, brief=replace(spec.brief, name="another"))
    assert times_asked(shop, design=other) == both
    monkeypatch.setattr(recipes, "program", lambda: b"a newer one")
    assert times_asked(shop) == both


def test_the_makers_own_changes_are_made_to_known_steps_too() -> None:
    spec = read_design(FILE.read_bytes(), name=FILE.name).specification
    own = OwnStep(what="add", step="stamp", behind="pack", minutes=2.0)
    shop = Workshop(means=(Means(design="case", own_steps=(own,)),))
    known = {recipes.key_of(spec, shop, "tan", SPEED): replace(KNOWN, first_off=KNOWN.steps)}
    (found,) = recipes.recipes_for(
        {"case": spec}, [("case", "tan")], shop, Cache(), known=known, laser_speed=SPEED
    )
    assert [step.name for step in found.steps] == ["soak", "pack", "stamp"]
    assert known == {
        recipes.key_of(spec, shop, "tan", SPEED): replace(KNOWN, first_off=KNOWN.steps)
    }


def test_the_book_gives_back_what_it_keeps_and_lets_the_oldest_go(tmp_path: Path) -> None:
    with Book(tmp_path / "book.sqlite") as book:
        keep_steps(book, {"first": KNOWN})
        assert known_steps(book) == {"first": KNOWN}
        more = {f"{number}": KNOWN for number in range(MOST)}
        keep_steps(book, more)
        assert known_steps(book) == more
        with book.writing() as connection:
            connection.execute("UPDATE kept SET body = '{}' WHERE kind = ?", (STEPS.kind,))
        assert known_steps(book) == {}
        keep_steps(book, {"anew": KNOWN})
        assert known_steps(book) == {"anew": KNOWN}
