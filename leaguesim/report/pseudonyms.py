"""Results without names, for pages to be shared.

Numbers are given by what the table itself shows (best average first), never by a name or a key: equal
runs give equal files and there is nothing to turn back.  Who knows a bowler's average still knows them.
"""

import re
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

Result = TypeVar("Result")
NAMING = ("bowler", "team", "pair")
UNKNOWN = {
    "bowler": "Bowler",
    "team": "Team",
}  # for a name that the giving table lacks: never the name


def without_names(result: Result) -> Result:
    """A result with 'Bowler 01' and 'Team 1' in place of names, in tables, notes and order.

    ``result.bowlers`` is the table that gives the numbers.
    """
    table = result.bowlers  # type: ignore[attr-defined]
    shown = [c for c in table.columns if c not in NAMING]
    first = [c for c in ("average_now", "average") if c in shown]
    rows = [(*(-float(row[c]) for c in first), *(repr(row[c]) for c in shown))
            for row in table.to_dict("records")]  # fmt: skip
    order = sorted(range(len(rows)), key=lambda i: rows[i])
    width = max(2, len(str(len(order))))
    names = list(table["bowler"])
    people = {names[i]: f"Bowler {k:0{width}d}" for k, i in enumerate(order, 1)}
    teams: dict[str, str] = {}
    pairs: dict[Any, int] = {}
    if "team" in table:
        for i in order:
            teams.setdefault(table["team"].iloc[i], f"Team {len(teams) + 1}")
    if "pair" in table:
        for i in order:
            pairs.setdefault(table["pair"].iloc[i], len(pairs))
    swap = _Swap(people, teams, pairs)
    changed = {f.name: swap.value(getattr(result, f.name)) for f in fields(result)}  # type: ignore[arg-type]
    return replace(result, **changed)  # type: ignore[type-var]


class _Swap:
    def __init__(
        self, people: dict[str, str], teams: dict[str, str], pairs: dict[Any, int]
    ) -> None:
        self.columns: dict[str, dict[Any, Any]] = {"bowler": people, "team": teams, "pair": pairs}
        self._known = {**teams, **people}
        # Looked for in all texts; a team of one word might be a word of ours, such as 'Strokers'.
        words = sorted({*people, *(t for t in teams if " " in t)}, key=len, reverse=True)
        joined = "|".join(re.escape(w) for w in words)
        self._words = re.compile(rf"(?<!\w)(?:{joined})(?!\w)") if words else None

    def value(self, value: Any) -> Any:
        """Tables, notes and whatever holds them; everything else as it is."""
        if hasattr(value, "columns") and hasattr(value, "to_dict"):
            return self._table(value)
        if isinstance(value, dict):
            return {k: self.value(v) for k, v in value.items()}
        if isinstance(value, (list, tuple)) and not hasattr(value, "_fields"):
            return type(value)(self.value(v) for v in value)
        if isinstance(value, str) and self._words is not None:
            return self._words.sub(lambda m: self._known[m[0]], value)
        if is_dataclass(value) and not isinstance(value, type):
            return replace(
                value, **{f.name: self.value(getattr(value, f.name)) for f in fields(value)}
            )
        return value

    def _table(self, table: Any) -> Any:
        found = [c for c in self.columns if c in table.columns]
        if not {"bowler", "team"} & set(found):
            return table
        out = table.copy()
        for c in found:
            known = self.columns[c]
            out[c] = [known.get(v, UNKNOWN.get(c, v)) for v in table[c]]
        out = out.sort_values(found[0], kind="stable", ignore_index=True)
        return out.astype(table.dtypes.to_dict())
