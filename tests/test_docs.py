"""The documents keep up with the program."""

import json
from pathlib import Path

import jsonschema
import pytest
import typer.main
import yaml

from hidewright.cli import app
from hidewright.design.kinds.registry import KINDS
from hidewright.store.design_file import SECTIONS
from hidewright.store.schema import design_file_schema

ROOT = Path(__file__).parents[1]
HANDBOOK = (ROOT / "docs" / "handbook.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_every_command_is_in_the_handbook_and_has_help() -> None:
    commands = typer.main.get_group(app).commands
    assert commands
    for name, command in commands.items():
        assert command.help, f"{name} says what it does"
        assert f"hidewright {name}" in HANDBOOK, f"{name} is in the handbook"


def test_every_option_has_help() -> None:
    for name, command in typer.main.get_group(app).commands.items():
        for parameter in command.params:
            help_text = getattr(parameter, "help", None)
            assert help_text or parameter.name == "help", f"{name} {parameter.name}"


def test_every_section_of_a_design_file_is_in_the_handbook() -> None:
    for section in SECTIONS:
        if section not in ("kind", "name"):
            assert f"`{section}" in HANDBOOK, section


def test_the_schema_in_the_documents_is_the_one_the_reader_reads_by() -> None:
    kept = (ROOT / "docs" / "design-file.schema.json").read_text(encoding="utf-8")
    assert json.loads(kept) == design_file_schema(), "run: hidewright schema > docs/..."


def test_every_kind_is_in_the_readme_and_has_an_example() -> None:
    examples = "\n".join(p.read_text(encoding="utf-8") for p in (ROOT / "examples").glob("*.yaml"))
    for kind in KINDS:
        assert kind.name in README
        assert f"\nkind: {kind.name}\n" in examples


def test_the_readme_gives_the_two_commands_that_do_all_the_set_up() -> None:
    assert "python3 run.py demo" in README
    assert "python3 run.py test" in README


def test_every_room_says_what_it_is_for() -> None:
    for init in (ROOT / "src" / "hidewright").glob("*/__init__.py"):
        assert init.read_text(encoding="utf-8").startswith('"""'), init


@pytest.mark.parametrize("file", sorted((ROOT / "examples").glob("*.yaml")), ids=lambda f: f.stem)
def test_the_examples_are_valid_by_the_schema_and_a_wrong_one_is_not(file: Path) -> None:
    written = yaml.load(file.read_text(encoding="utf-8"), Loader=yaml.CSafeLoader)
    validator = jsonschema.Draft202012Validator(design_file_schema())
    validator.validate(written)
    written["measures"]["wing_span"] = "12 mm"
    assert not validator.is_valid(written)
