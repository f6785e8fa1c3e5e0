"""Names of a workbook's sheets: legal, unique, and as near to what was asked for as the format allows."""

import re
from collections.abc import Iterable

#: In units of UTF-16, as spreadsheet programs count.
NAME_MAX = 31
#: What no sheet's name may hold: a few signs of formulas, and what can't be seen.
REFUSED = re.compile(r"[\[\]:*?/\\\x00-\x1f\x7f\ud800-\udfff\ufffe\uffff]+")
#: The name of a sheet that spreadsheet programs keep for themselves.
RESERVED = ("history",)
NAMELESS = "Sheet"
#: The number at a name's end tells apart what else is called the same, so it outlives the cut.
NUMBER_AT_END = re.compile(r"\s\d{1,20}$")


def unique_sheet_names(wanted: Iterable[str]) -> list[str]:
    """Give each name a legal one, in order: no two the same with case ignored, each with the number it ended with.

    Of a name that is too long, the middle gives way. Of two that come out the same, the later gets “ (2)”.
    """
    taken = set(RESERVED)
    names = []
    for name in wanted:
        legal = " ".join(REFUSED.sub(" ", name).split()).strip("' ") or NAMELESS
        found = NUMBER_AT_END.search(legal)
        number = found[0] if found else ""
        stem = legal.removesuffix(number)
        count, chosen = 1, _fitted(stem, number)
        while chosen.casefold() in taken:
            count += 1
            chosen = _fitted(stem, f"{number} ({count})")
        taken.add(chosen.casefold())
        names.append(chosen)
    return names


def _fitted(stem: str, ending: str) -> str:
    if _length(stem + ending) <= NAME_MAX:
        return stem + ending
    while _length(f"{stem}…{ending}") > NAME_MAX:
        stem = stem[:-1]
    return f"{stem.rstrip()}…{ending}"


def _length(text: str) -> int:
    return len(text.encode("utf-16-le")) // 2
