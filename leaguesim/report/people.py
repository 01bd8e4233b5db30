"""A result as people read it: styles spelled with hyphens, average bands from low to high.

Does not touch data: CSV and JSON keep a style's key.
"""

import re
from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

    from leaguesim.study.results import CompareResult, LaneLook

BAND = "average band"


def spellings(keys: Iterable[Any]) -> dict[str, str]:
    """Each style's key and how people read it; keys that would read alike stay as they are.

    >>> spellings(["two_handed"])
    {'two_handed': 'two-handed'}
    """
    known = list(dict.fromkeys(str(k) for k in keys))
    shown = {k: k.replace("_", "-") for k in known}
    twice = {v for v in shown.values() if list(shown.values()).count(v) > 1}
    return {k: k if v in twice else v for k, v in shown.items()}


def band_place(name: str) -> float:
    """Where an average band stands: by its number, "under" before all others.

    >>> sorted(["130 to 160", "190 and over", "under 130"], key=band_place)
    ['under 130', '130 to 160', '190 and over']
    """
    found = re.search(r"\d+", name)
    if found is None:
        return float("inf")
    return float(found[0]) - (0.5 if name.startswith("under") else 0.0)


def in_order(groups: "dict[str, pd.DataFrame]") -> "dict[str, pd.DataFrame]":
    """The tables of groups with average bands from low to high."""
    return {
        kind: table
        if kind != BAND
        else table.sort_values("group", key=lambda c: c.map(band_place), kind="stable").reset_index(
            drop=True
        )
        for kind, table in groups.items()
    }


def _spelled(table: "pd.DataFrame", column: str, words: dict[str, str]) -> "pd.DataFrame":
    return table.assign(**{column: [words.get(str(v), v) for v in table[column]]})


def look_for_people(look: "LaneLook", words: dict[str, str] | None = None) -> "LaneLook":
    """A lane look with styles spelled for people."""
    words = spellings(look.arrivals["style"]) if words is None else words
    return replace(
        look,
        paths=_spelled(look.paths, "style", words),
        arrivals=_spelled(look.arrivals, "style", words),
    )


def for_people(result: "CompareResult") -> "CompareResult":
    """A comparison with styles spelled for people and average bands in order."""
    keys = [
        *result.groups["style"]["group"],
        *result.bowlers["style"],
        *(k for look in result.looks.values() for k in look.arrivals["style"]),
    ]
    words = spellings(keys)
    groups = in_order(result.groups)
    groups["style"] = _spelled(groups["style"], "group", words)
    return replace(
        result,
        bowlers=_spelled(result.bowlers, "style", words),
        groups=groups,
        scores=_spelled(result.scores, "style", words),
        looks={k: look_for_people(look, words) for k, look in result.looks.items()},
    )
