"""A result as people read it: styles spelled with hyphens.

Does not touch data: CSV and JSON keep a style's key.
"""

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

    from leaguesim.study.results import CompareResult, LaneLook


def spellings(keys: Iterable[Any]) -> dict[str, str]:
    """Each style's key and how people read it; keys that would read alike stay as they are.

    >>> spellings(["two_handed"])
    {'two_handed': 'two-handed'}
    """
    known = list(dict.fromkeys(str(k) for k in keys))
    shown = {k: k.replace("_", "-") for k in known}
    twice = {v for v in shown.values() if list(shown.values()).count(v) > 1}
    return {k: k if v in twice else v for k, v in shown.items()}


def _both(part: Any, words: dict[str, str]) -> dict[str, Any]:
    """Bowlers and groups of a part of a comparison, styles spelled for people."""
    return {
        "bowlers": _spelled(part.bowlers, "style", words),
        "groups": _spelled(part.groups, "group", words),
    }


def _spelled(table: "pd.DataFrame", column: str, words: dict[str, str]) -> "pd.DataFrame":
    return table.assign(**{column: [words.get(str(v), v) for v in table[column]]})


def spelled(result: Any, **columns: str) -> Any:
    """A result with styles spelled for people in the named tables' columns; empty tables stay."""
    tables = {name: getattr(result, name) for name in columns}
    there = {name: t for name, t in tables.items() if columns[name] in t.columns}
    words = spellings(key for name, t in there.items() for key in t[columns[name]])
    return replace(result, **{name: _spelled(t, columns[name], words) for name, t in there.items()})


def look_for_people(look: "LaneLook", words: dict[str, str] | None = None) -> "LaneLook":
    """A lane look with styles spelled for people."""
    words = spellings(look.arrivals["style"]) if words is None else words
    return replace(
        look,
        paths=_spelled(look.paths, "style", words),
        arrivals=_spelled(look.arrivals, "style", words),
    )


def for_people(result: "CompareResult") -> "CompareResult":
    """A comparison with styles spelled for people."""
    keys = [
        *result.groups["style"]["group"],
        *result.bowlers["style"],
        *(k for look in result.looks.values() for k in look.arrivals["style"]),
    ]
    words = spellings(keys)
    groups = dict(result.groups)
    groups["style"] = _spelled(groups["style"], "group", words)
    switch = result.switch
    if switch is not None:
        switch = replace(switch, **_both(switch, words))
    till = result.till
    if till is not None:
        till = replace(till, **_both(till, words))
    forecast = result.forecast
    if forecast is not None:
        forecast = replace(
            forecast,
            **_both(forecast, words),
            sensitivities=_spelled(forecast.sensitivities, "outcome", words),
            r2={words.get(k, k): v for k, v in forecast.r2.items()},
        )
    return replace(
        result,
        switch=switch,
        till=till,
        forecast=forecast,
        bowlers=_spelled(result.bowlers, "style", words),
        groups=groups,
        scores=_spelled(result.scores, "style", words),
        looks={k: look_for_people(look, words) for k, look in result.looks.items()},
    )
