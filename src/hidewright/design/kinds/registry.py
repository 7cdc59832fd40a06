"""All kinds of article, by name."""

from typing import Any

from hidewright.design.kinds.flat_back_pouch import FLAT_BACK_POUCH
from hidewright.design.kinds.free import FREE
from hidewright.design.kinds.lidded_box import LIDDED_BOX
from hidewright.design.kinds.open_tray import OPEN_TRAY
from hidewright.design.kinds.pocket_with_tray import POCKET_WITH_TRAY
from hidewright.design.kinds.tool_cover import TOOL_COVER
from hidewright.design.kinds.two_shell_case import TWO_SHELL_CASE
from hidewright.design.specification import Kind
from hidewright.errors import RequestError

# Each kind has measures of its own class; only the kind itself looks into them.
KINDS: tuple[Kind[Any], ...] = (
    FLAT_BACK_POUCH,
    TWO_SHELL_CASE,
    OPEN_TRAY,
    LIDDED_BOX,
    POCKET_WITH_TRAY,
    TOOL_COVER,
    FREE,
)


def kind_named(name: str) -> Kind[Any]:
    """Return a kind by its name, spaces or dashes alike.

    Raises:
        RequestError: With the names there are.
    """
    wanted = name.strip().lower().replace(" ", "-").replace("_", "-")
    for kind in KINDS:
        if kind.name.replace(" ", "-") == wanted:
            return kind
    raise RequestError(
        f"no kind of article is called {name!r}",
        mend=f"Kinds: {', '.join(k.name for k in KINDS)}",
    )
