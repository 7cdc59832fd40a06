"""Where the pages' pictures share how they are panned and zoomed."""

from pathlib import Path

#: Name by which a component imports it, and the folder it is in.
SIGHT = {"hidewright-sight": str(Path(__file__).parent / "sight")}
