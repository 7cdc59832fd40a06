"""The design files of the demo workshop, Alder Row's field kit, as they come with the program."""

from pathlib import Path

from hidewright.errors import RequestError

#: Where an installed package keeps them, and where a checkout does.
_FOLDERS = (Path(__file__).parents[1] / "examples", Path(__file__).parents[3] / "examples")


def demo_designs() -> dict[str, bytes]:
    """Return the demo's design files by name, in the order of their names."""
    for folder in _FOLDERS:
        files = sorted(folder.glob("*.yaml"))
        if files:
            return {file.name: file.read_bytes() for file in files}
    raise RequestError(
        "the demo's design files are not there",
        because="the package was installed without its examples",
        mend="Install it again",
    )
