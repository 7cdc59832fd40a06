"""The words of the trade, each in one meaning, as they come with the program."""

from pathlib import Path

from hidewright.errors import RequestError

#: Where an installed package keeps them, and where a checkout does.
_FILES = (
    Path(__file__).parents[1] / "glossary.md",
    Path(__file__).parents[3] / "docs" / "glossary.md",
)


def glossary() -> tuple[tuple[str, str], ...]:
    """Return (word, meaning), in the order of the table.

    A row with several words and as many meanings between semicolons gives one pair each.

    Raises:
        RequestError: When the package was installed without it.
    """
    for file in _FILES:
        if file.is_file():
            rows = [
                line.strip("| \n").split(" | ") for line in file.read_text("utf-8").splitlines()
            ]
            return tuple(pair for row in rows[3:] if len(row) == 2 for pair in _pairs(*row))
    raise RequestError(
        "the glossary is not there",
        because="the package was installed without it",
        mend="Install it again",
    )


def _pairs(words: str, meanings: str) -> list[tuple[str, str]]:
    each, said = words.split(", "), meanings.split("; ")
    if len(each) != len(said):
        said = [meanings] * len(each)
    return list(zip(each, said, strict=True))
