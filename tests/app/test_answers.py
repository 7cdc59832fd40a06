"""What the processes beside the server answer, asked directly."""

from typing import Any

import pytest

from hidewright.app import answers
from hidewright.app.asked import Asked, CheckAsked, Checked, PackAsked, Packed, Shown
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.workshop import article, forming_chain, learned_ranges
from hidewright.workshop.graph import Cache, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.views.solid_view import blank_solid, encode

SHEETS = ("pressed blanks", "all leathers")


@pytest.mark.slow
def test_pictures_and_pack_after_the_close_look_press_nothing_more(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    data = demo_designs()["compass-pouch.yaml"]
    spec: Any = read_design(data, name="compass-pouch.yaml").specification
    answer = answers.whole()
    (found,) = answer(CheckAsked(spec=spec), lambda _: None)
    assert isinstance(found, Checked)

    def again(*_: object, **__: object) -> None:
        raise AssertionError("it is pressed again")

    for module in (forming_chain, learned_ranges):
        monkeypatch.setattr(module, "pressed", again)
    (made,) = answer(PackAsked(spec=spec, paper="A4"), lambda _: None)
    assert isinstance(made, Packed)
    assert made.remarks == found.remarks
    with pytest.raises(AssertionError, match="pressed again"):
        list(answers.whole()(PackAsked(spec=spec, paper="A4"), lambda _: None))
    (sharp,) = answer(Asked(design="", spec=spec, views=("blank",)), lambda _: None)
    assert isinstance(sharp, Shown)
    monkeypatch.undo()
    values = evaluate(article.NODES, inputs_of(spec, "A4"), SHEETS, Cache()).values
    (one,) = values["pressed blanks"][0]
    leather = dict(values["all leathers"])[one.layers[0].role]
    assert sharp.solid == encode(blank_solid(one, one.layers[0], leather))
