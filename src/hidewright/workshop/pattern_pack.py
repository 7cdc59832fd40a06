"""What a maker may hand to another maker: patterns, cut files, instructions, and nothing else."""

from collections.abc import Mapping

#: Papers that are part of it: no prices, no stock, no customers, no address of this machine.
PAPERS = ("build sheet", "first-off sheet", "cutting list", "tooling list", "data sheet")
FOLDERS = ("cut/", "patterns/", "solids/")
READ_ME = """{name}

patterns/  every piece and blank at full size: PDF to print at 100 %, SVG and DXF
cut/       one file a sheet for the laser; the kerf is allowed for, cut inside lines first
solids/    plug and frame for those who print or mill
papers/    build sheet, first-off sheet, cutting list, tooling list, data sheet

Check the scale bars before you cut. Leather and boards vary: make one first, measure it, then cut
the batch. The makers' data sheets, your local codes and licensed practice come first.
"""


def pattern_pack(files: Mapping[str, bytes], name: str) -> dict[str, bytes]:
    """Return the files of a pack that belong into a pattern pack, and a text that names them.

    Args:
        files: All files of a pack by path.
        name: The article's.
    """
    kept = {path: data for path, data in files.items() if _belongs(path)}
    return {**kept, "read me.txt": READ_ME.format(name=name).encode()}


def _belongs(path: str) -> bool:
    folder, _, file = path.partition("/")
    return f"{folder}/" in FOLDERS or (folder == "papers" and file.startswith(PAPERS))
