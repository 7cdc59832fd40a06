"""What the processes beside the server answer, asked directly."""

from typing import Any

import pytest

from hidewright.app import answers
from hidewright.app.asked import CheckAsked, Checked, PackAsked, Packed
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.workshop import forming_chain, learned_ranges


def test_a_pack_made_after_the_close_look_presses_nothing_more(
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
