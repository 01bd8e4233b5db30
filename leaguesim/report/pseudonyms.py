"""Results and manifests without names, for pages to be shared.

Numbers are given by what the table itself shows (best average first), never by a name or a key: equal
runs give equal files and there is nothing to turn back.  Who knows a bowler's average still knows them.
"""

import re
import shlex
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from leaguesim.bowlers.values import RosterLine

Result = TypeVar("Result")
NAMING = ("bowler", "team", "pair")
PEOPLE = ("bowlers", "twins", "entrants")  # the first that names bowlers gives the numbers
UNKNOWN = {
    "bowler": "Bowler",
    "team": "Team",
}  # for a name that the giving table lacks: never the name
FOLDER = "DIR"  # in place of a center's folder, as the help calls it


def without_names(result: Result, roster: "Iterable[RosterLine]" = ()) -> Result:
    """A result with 'Bowler 01' and 'Team 1' in place of names, in tables, notes and order.

    What was written in rows of scores that could not be used goes too, and so does the roster behind
    fitted bowlers: ``fitted`` cannot be written down any more.

    Parameters
    ----------
    result : its table of people gives the numbers: ``bowlers``, ``twins`` or ``entrants``
    roster : whose names go wherever they stand, also those that no table has
    """
    told: Any = result
    people, teams, pairs = _numbers(told)
    for line in roster:
        people.setdefault(line.bowler, UNKNOWN["bowler"])
        teams.setdefault(line.team, UNKNOWN["team"])
    swap = _Swap(people, teams, pairs)
    apart = {"fitted", "problems"} if hasattr(told, "problems") else set()
    changed = {
        f.name: swap.value(getattr(told, f.name)) for f in fields(told) if f.name not in apart
    }
    if apart:
        changed["problems"] = [_place(p, told.file) for p in told.problems]
        changed["file"] = "scores.csv"
        changed["fitted"] = replace(told.fitted, center=replace(told.fitted.center, roster=()))
    return replace(told, **changed)  # type: ignore[no-any-return]


def _numbers(told: Any) -> tuple[dict[str, str], dict[str, str], dict[Any, int]]:
    """Bowlers, teams and pairs of lanes of a result's people and what stands for each."""
    tables = (getattr(told, name, None) for name in PEOPLE)
    table = next((t for t in tables if t is not None and "bowler" in t.columns), None)
    teams: dict[str, str] = {}
    pairs: dict[Any, int] = {}
    if table is None:
        return {}, teams, pairs
    shown = [c for c in table.columns if c not in NAMING]
    first = [c for c in ("average_now", "average") if c in shown]
    rows = [(*(-float(row[c]) for c in first), *(repr(row[c]) for c in shown))
            for row in table.to_dict("records")]  # fmt: skip
    order = sorted(range(len(rows)), key=lambda i: rows[i])
    width = max(2, len(str(len(order))))
    names = list(table["bowler"])
    if "team" in table:
        for i in order:
            teams.setdefault(table["team"].iloc[i], f"Team {len(teams) + 1}")
    if "pair" in table:
        for i in order:
            pairs.setdefault(table["pair"].iloc[i], len(pairs))
    return {names[i]: f"Bowler {k:0{width}d}" for k, i in enumerate(order, 1)}, teams, pairs


def _place(problem: str, file: str) -> str:
    """Where a row was not used, without what was written there: that may be anybody's name.

    >>> _place("ada.csv:7: bowler: unknown bowler 'Zoe'", "ada.csv")
    'line 7: not used'
    """
    line = problem.removeprefix(f"{file}:").partition(":")[0]
    return f"line {line}: not used" if line.isdigit() else "a row was not used"


def manifest_without_names(
    manifest: Mapping[str, Any], roster: "Iterable[RosterLine]" = ()
) -> dict[str, Any]:
    """A manifest to be shared: no path, no name, nor a center's folder, nor where the report went.

    Hashes of CSV files go as well: they would tell whether a guess at the names is right.
    """
    people = {line.bowler: UNKNOWN["bowler"] for line in roster}
    teams = {line.team: UNKNOWN["team"] for line in roster}
    known = {**teams, **people}
    clean = _swapper(known)
    argv = [clean(word) for word in _without_places(manifest["argv"])]
    held = {
        clean(name): None if name.endswith(".csv") else mark
        for name, mark in manifest["inputs"].items()
    }
    line = shlex.join(["leaguesim", *argv])
    return {**manifest, "inputs": held, "command_line": line, "argv": argv}


def _without_places(argv: Sequence[str]) -> list[str]:
    """The words of a command: center folders are 'DIR', of other paths the last part is left."""
    kept: list[str] = []
    before = ""
    for k, word in enumerate(argv):
        option, equals, value = word.partition("=")
        if not (equals and option.startswith("--")):
            option, value = before, word
        if word == "--out" or option == "--out":
            pass
        elif k == 1 and not word.startswith("-"):
            kept.append(FOLDER)
        elif option == "--house":
            kept.append(f"--house={FOLDER}" if equals else FOLDER)
        elif "/" in value and not value.startswith("tcp:"):
            kept.append(word.removesuffix(value) + Path(value).name)
        else:
            kept.append(word)
        before = word if word.startswith("--") and not equals else ""
    return kept


def _swapper(known: Mapping[str, str]) -> Callable[[str], str]:
    """What puts the other name wherever one of these stands as whole words, the longest first."""
    joined = "|".join(re.escape(w) for w in sorted({*known} - {""}, key=len, reverse=True))
    if not joined:
        return lambda text: text
    words = re.compile(rf"(?<!\w)(?:{joined})(?!\w)")
    return lambda text: words.sub(lambda m: known[m[0]], text)


class _Swap:
    def __init__(
        self, people: dict[str, str], teams: dict[str, str], pairs: dict[Any, int]
    ) -> None:
        self.columns: dict[str, dict[Any, Any]] = {"bowler": people, "team": teams, "pair": pairs}
        # Looked for in all texts; a team of one word might be a word of ours, such as 'Strokers'.
        self._text = _swapper({**{t: n for t, n in teams.items() if " " in t}, **people})

    def value(self, value: Any) -> Any:
        """Tables, notes and whatever holds them; everything else as it is."""
        if hasattr(value, "columns") and hasattr(value, "to_dict"):
            return self._table(value)
        if isinstance(value, dict):
            return {k: self.value(v) for k, v in value.items()}
        if isinstance(value, (list, tuple)) and not hasattr(value, "_fields"):
            return type(value)(self.value(v) for v in value)
        if isinstance(value, str):
            return self._text(value)
        if is_dataclass(value) and not isinstance(value, type):
            return replace(
                value, **{f.name: self.value(getattr(value, f.name)) for f in fields(value)}
            )
        return value

    def _table(self, table: Any) -> Any:
        found = [c for c in self.columns if c in table.columns]
        sentences = [
            c for c in table.columns
            if c not in self.columns and any(isinstance(v, str) and " " in v for v in table[c])
        ]  # fmt: skip
        named = {"bowler", "team"} & set(found)
        if not named and not sentences:
            return table
        out = table.copy()
        for c in found if named else ():
            known = self.columns[c]
            out[c] = [known.get(v, UNKNOWN.get(c, v)) for v in table[c]]
        for c in sentences:
            out[c] = [self._text(v) if isinstance(v, str) and " " in v else v for v in table[c]]
        if named:
            out = out.sort_values(found[0], kind="stable", ignore_index=True)
        return out.astype(table.dtypes.to_dict())
