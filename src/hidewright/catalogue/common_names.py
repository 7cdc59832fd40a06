"""What things of the catalogue are called in common use, beside the names of their rows.

All are common names; none is taken from a standard, and none tells a size.
"""

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from hidewright.catalogue.rows import RowT

#: Other names of a row, by its own.
COMMON_NAMES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "bank card (ID-1)": ("bank card", "credit card", "debit card", "payment card"),
        "plain card (ID-1)": ("plain card", "ID card", "loyalty card", "library card"),
        "passport booklet": ("passport",),
        "microSD card": ("micro SD card",),
        "miniSD card": ("mini SD card",),
        "USB type-A plug shell": ("USB-A plug", "USB plug"),
        "cell R03 (AAA)": ("AAA", "AAA cell", "AAA battery", "R03", "LR03"),
        "cell R6 (AA)": ("AA", "AA cell", "AA battery", "R6", "LR6"),
        "cell R14 (C)": ("C cell", "C battery", "R14", "LR14"),
        "cell R20 (D)": ("D cell", "D battery", "R20", "LR20"),
        "button cell R44": ("LR44", "button cell LR44", "button battery"),
        "coin cell CR2032": ("CR2032", "CR2032 battery", "CR2032 cell"),
        "coin cell CR2025": ("CR2025", "CR2025 battery", "CR2025 cell"),
        "coin cell CR2016": ("CR2016", "CR2016 battery", "CR2016 cell"),
        "US cent": ("US penny", "US 1 cent"),
        "US nickel": ("nickel", "US 5 cents"),
        "US dime": ("dime", "US 10 cents"),
        "US quarter": ("quarter", "US 25 cents"),
        "US half dollar": ("half dollar", "US 50 cents"),
        "euro 1": ("1 euro", "1 euro coin"),
        "euro 2": ("2 euro", "2 euros", "2 euro coin"),
        "UK 1 penny": ("UK penny", "1p"),
        "UK 2 pence": ("2p",),
        "UK 5 pence": ("5p",),
        "UK 10 pence": ("10p",),
        "UK 20 pence": ("20p",),
        "UK 50 pence": ("50p",),
        "UK 1 pound": ("UK pound", "pound coin"),
        "UK 2 pounds": ("2 pound coin",),
        "Canadian 5 cents": ("Canadian nickel",),
        "Canadian 10 cents": ("Canadian dime",),
        "Canadian 25 cents": ("Canadian quarter",),
        "Canadian 1 dollar": ("loonie", "Canadian dollar"),
        "Canadian 2 dollars": ("toonie",),
        "paper A4": ("A4", "A4 paper", "A4 sheet"),
        "paper A5": ("A5", "A5 paper", "A5 sheet"),
        "paper A6": ("A6", "A6 paper", "A6 sheet"),
        "paper Letter": ("US Letter", "Letter paper", "Letter sheet"),
        "paper Legal": ("US Legal", "Legal paper", "Legal sheet"),
        "folding hand lens": ("hand lens", "loupe", "folding loupe", "magnifier"),
        "sighting compass": ("compass",),
        "pointed forceps": ("forceps", "tweezers"),
        "specimen tube": ("vial",),
        "field notebook": ("notebook",),
        "steel rule 150 mm": ("steel rule", "steel ruler", "ruler"),
        "trowel blade": ("trowel",),
    }
)


def names_of(name: str) -> tuple[str, ...]:
    """Return the names under which a row is found: its own, and what it is called besides."""
    return (name, *COMMON_NAMES.get(name, ()))


def is_meant(name: str, sought: str) -> bool:
    """Whether one of the names of a row holds every word that is sought, in any order."""
    words = sought.lower().split()
    return any(all(word in one.lower() for word in words) for one in names_of(name))


def matching(rows: Sequence[RowT], sought: str) -> list[RowT]:
    """Return the rows of whose names one holds every word that is sought, in any order.

    Those that are called just so come first.

    >>> from hidewright.catalogue.shelf import built_in_catalogue
    >>> [row.name for row in matching(built_in_catalogue().things, "aa battery")]
    ['cell R6 (AA)', 'cell R03 (AAA)']
    """
    found = [row for row in rows if is_meant(row.name, sought)]
    called = " ".join(sought.lower().split())
    return sorted(found, key=lambda row: called not in map(str.lower, names_of(row.name)))
