"""A season of scores: a tolerant reader of ``scores.csv`` with a strict result.

Each row that can't be used is told with its reason and the rest is kept; no hand, style or condition is
guessed.  Does not weigh the scores; the study room does.
"""

import csv
import io
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import sha256
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from leaguesim.center.faults import Faults, did_you_mean, listing, shown, wrote
from leaguesim.center.tables import _HAND_WORDS, _folded
from leaguesim.center.validate import read_text
from leaguesim.center.values import Center
from leaguesim.errors import ProfileError
from leaguesim.tables import SCORE_ROWS, frame

if TYPE_CHECKING:
    import pandas as pd

SCORES_FILE = "scores.csv"
MOST_SCORE = 300
MOST_WEEK = 400
LONGEST_PAIR = 40
HINTS = 200  # rows that get a nearest name; in 100,000 wrong rows they would take minutes
FLAGS = ("absent", "substitute", "prebowl")
TALLIES = ("strikes", "spares", "opens")
KNOWN = (
    "date", "week", "bowler", "team", "game", "score", "lane_pair", "order", "hand", "condition",
    *FLAGS, *TALLIES,
)  # fmt: skip
OTHERS = {"name": "bowler", "player": "bowler", "day": "date"}  # hints only, never read as such
_GAME = re.compile(r"game_?(\d{1,2})", re.ASCII)
_NUMBER = re.compile(r"[+-]?\d[\d.,' ]*", re.ASCII)
_WHOLE = re.compile(r"(\d+)(?:[.,]0*)?", re.ASCII)
_THOUSANDS = re.compile(r"[1-9]\d{0,2}(?:[.,' ]\d{3})+", re.ASCII)
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ].*)?", re.ASCII)
_DAY_DOT = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})", re.ASCII)
_SLASHED = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4})(?: .*)?", re.ASCII)
_EXCEL = re.compile(r"[3-7]\d{4}(?:[.,]\d+)?", re.ASCII)
EXCEL_DAY_0 = date(1899, 12, 30)  # spreadsheets count days from here
YES = frozenset({"1", "x", "y", "yes", "true", "ja", "oui", "si"})
NO = frozenset({"", "0", "n", "no", "false", "nein", "non", "-"})


@dataclass(frozen=True)
class Scores:
    """What could be read of a season.

    ``games`` (tables.SCORE_ROWS) one row a game, in order of session, bowler, game; ``problems`` one
    text a row or column that was not used; ``set_aside`` how many rows were absent, substitute or prebowl.
    ``labelled``: the file has a filled condition column; ``bare`` then holds line and session of the
    rows that have none, which are not used.
    """

    file: str
    games: "pd.DataFrame"
    problems: list[str]
    set_aside: dict[str, int]
    labelled: bool
    sha256: str = ""
    bare: tuple[tuple[int, str], ...] = ()


class _Row(NamedTuple):
    line: int
    cells: dict[str, str]


def read_scores(center: Center, path: str | PathLike[str] | None = None) -> Scores:
    """Read a season of scores of a center's bowlers.

    Parameters
    ----------
    path : the file; None stands for ``scores.csv`` in the center's folder

    Raises
    ------
    ProfileError : no such file, or a header without bowler, date or week, and games
    """
    place = center.folder / SCORES_FILE if path is None else Path(path)
    file = shown(place.as_posix())
    faults = Faults()
    got = read_text(place, file, faults)
    if got is None:
        raise ProfileError(faults.lines())
    text, raw = got
    header, rows, problems = _rows(text, file)
    games = _header(header, file, problems)
    return _Reader(center, file, games, rows, problems).run(sha256(raw).hexdigest())


def _clean(cell: str) -> str:
    for blank in "\u00a0\u202f\u2007\u2009":
        cell = cell.replace(blank, " ")
    return " ".join(cell.split())


def _rows(text: str, file: str) -> tuple[list[str], list[_Row], list[str]]:
    first = next((line for line in text.splitlines() if line.strip()), "")
    comma = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=comma)
    header: list[str] = []
    rows: list[_Row] = []
    problems: list[str] = []
    line = 1
    try:
        for cells in reader:
            kept = [_clean(c) for c in cells]
            if any(kept):
                if not header:
                    header = [_folded(c) for c in kept]
                elif len(kept) > len(header) and any(kept[len(header) :]):
                    problems.append(
                        f"{file}:{line}: too many cells: the header has {len(header)}, "
                        f"you wrote {len(kept)}"
                    )
                else:
                    rows.append(_Row(line, dict(zip(header, kept, strict=False))))
            line = reader.line_num + 1
    except csv.Error as fault:
        problems.append(f"{file}:{line}: not valid CSV, what follows was not read: {fault}")
    return header, rows, problems


def _header(header: list[str], file: str, problems: list[str]) -> dict[str, int]:
    """Columns that hold games, by the game's number (0: told by the column ``game``)."""
    games = {c: int(m[1]) for c in header if (m := _GAME.fullmatch(c))}
    if not games and "score" in header:
        games = {"score": 0}
    elif "score" in header:
        problems.append(f"{file}:1: score: not used, because there are columns game1, game2, ...")
    missing = [] if "bowler" in header else ["bowler"]
    missing += [] if {"date", "week"} & set(header) else ["date or week"]
    missing += [] if games else ["game1, game2, ... or score"]
    twice = sorted({c for c in header if c and header.count(c) > 1})
    if missing or twice:
        what = (
            f"missing column: {'; '.join(missing)}" if missing else f"two columns {shown(twice[0])}"
        )
        there = listing(filter(None, header), in_order=True)
        meant = [c for c in header if OTHERS.get(c) in " ".join(missing).split()]
        hint = f"; if {shown(meant[0])} is meant, call it {OTHERS[meant[0]]}" if meant else ""
        raise ProfileError([f"{file}:1: {what}; you wrote {there}{hint}"])
    for c in header:
        if c and c not in KNOWN and c not in games:
            hint = did_you_mean(c, KNOWN)
            problems.append(f"{file}:1: {shown(c)}: unknown column, not used{hint}")
    return games


class _Refused(Exception):  # noqa: N818 - never leaves this module
    """Why a row can't be used: column and text."""


def _flag(cells: dict[str, str], name: str) -> bool:
    word = cells.get(name, "").casefold()
    if word in YES:
        return True
    if word in NO:
        return False
    raise _Refused(name, f"allowed is yes, x, 1 or nothing, you wrote {wrote(cells[name])}")


def whole(column: str, cell: str, top: int) -> int:
    """A whole number from 0 to ``top`` in a cell, or the reason why it is none."""
    if cell[:1] in "=@" or (cell[:1] in "+-" and not _NUMBER.fullmatch(cell)):
        raise _Refused(column, f"a formula, not a number: {wrote(cell)}")
    if any(c.isalpha() for c in cell):
        raise _Refused(column, f"a letter in a number: {wrote(cell)}")
    fits = _WHOLE.fullmatch(cell)
    if fits is None and _THOUSANDS.fullmatch(cell):
        fits = _WHOLE.fullmatch(re.sub("[.,' ]", "", cell))
    if fits is None:
        raise _Refused(column, f"not a whole number: {wrote(cell)}")
    if len(fits[1]) > 6 or int(fits[1]) > top:
        raise _Refused(column, f"over {top}: {wrote(cell)}")
    return int(fits[1])


def _slashed_order(cells: Iterable[str]) -> str | None:
    """``dmy`` or ``mdy`` where some slashed date of the file shows which, else None."""
    first = second = False
    for cell in cells:
        if m := _SLASHED.fullmatch(cell):
            first |= int(m[1]) > 12
            second |= int(m[2]) > 12
    return None if first == second else "dmy" if first else "mdy"


def day(cell: str, slashed: str | None) -> date:
    """The day in a cell: 2026-01-13, 13.01.2026, 13/01/2026 or a spreadsheet's serial number."""
    try:
        if m := _ISO.fullmatch(cell):
            return date(int(m[1]), int(m[2]), int(m[3]))
        if m := _DAY_DOT.fullmatch(cell):
            return date(int(m[3]), int(m[2]), int(m[1]))
        if m := _SLASHED.fullmatch(cell):
            a, b = int(m[1]), int(m[2])
            if slashed is None and a != b:
                text = (
                    f"day and month cannot be told apart: write YYYY-MM-DD, you wrote {shown(cell)}"
                )
                raise _Refused("date", text)
            return date(int(m[3]), *((a, b) if slashed == "mdy" else (b, a)))
        if _EXCEL.fullmatch(cell):
            return EXCEL_DAY_0 + timedelta(days=int(re.split("[.,]", cell)[0]))
    except ValueError:
        pass
    raise _Refused("date", f"not a date: write YYYY-MM-DD, you wrote {wrote(cell)}")


class _Reader:
    """One pass over the rows."""

    def __init__(
        self,
        center: Center,
        file: str,
        games: dict[str, int],
        rows: list[_Row],
        problems: list[str],
    ) -> None:
        self.center, self.file, self.columns = center, file, games
        self.rows, self.problems = rows, problems
        self.people = {r.bowler.casefold(): r for r in center.roster}
        self.slashed = _slashed_order(r.cells.get("date", "") for r in rows)
        self.labelled = any(r.cells.get("condition") for r in rows)
        self.set_aside = dict.fromkeys(FLAGS, 0)
        self.seen: dict[Any, int] = {}
        self.bare: list[tuple[int, str]] = []

    def run(self, digest: str) -> Scores:
        told: list[tuple[Any, ...]] = []
        for row in self.rows:
            try:
                told += self.row(row)
            except _Refused as why:
                column, text = why.args
                self.problems.append(f"{self.file}:{row.line}: {column}: {text}")
        told.sort(key=lambda t: t[:4])
        columns = list(zip(*told, strict=True)) or [()] * len(SCORE_ROWS)
        games = frame(SCORE_ROWS, dict(zip(SCORE_ROWS, columns, strict=True)))
        return Scores(
            self.file, games, self.problems, self.set_aside, self.labelled, digest, tuple(self.bare)
        )

    def row(self, row: _Row) -> list[tuple[Any, ...]]:
        cells = row.cells
        who = self.bowler(cells)
        session = self.session(cells)
        flags = [name for name in FLAGS if _flag(cells, name)]
        if flags:
            self.set_aside[flags[0]] += 1
            return []
        if self.labelled and not cells.get("condition"):
            self.bare.append((row.line, session))
        condition = self.condition(cells)
        pair = shown(cells.get("lane_pair", ""))[:LONGEST_PAIR]
        found = self.scores(cells)
        tally = self.tally(cells, len(found))
        keys = [(who, session, game) for game, _ in found]
        for key in keys:
            if key in self.seen:
                text = f"duplicate: {who} in {session}, game {key[2]} is on line {self.seen[key]} already"
                raise _Refused("bowler", text)
        self.seen.update(dict.fromkeys(keys, row.line))
        return [
            (session, who, game, condition, score, row.line, len(found), pair, *tally)
            for game, score in found
        ]

    def bowler(self, cells: dict[str, str]) -> str:
        name = cells.get("bowler", "")
        line = self.people.get(name.casefold())
        if line is None:
            known = [r.bowler for r in self.center.roster] if len(self.problems) < HINTS else []
            text = f"unknown bowler {wrote(name)}{did_you_mean(name, known)}"
            raise _Refused("bowler", text if name else "missing: whose score is it?")
        hand = cells.get("hand", "").casefold()
        hand = _HAND_WORDS.get(_folded(hand), hand)
        if hand and hand != line.hand:
            raise _Refused("hand", f"the roster says {line.hand}, you wrote {wrote(cells['hand'])}")
        return line.bowler

    def session(self, cells: dict[str, str]) -> str:
        if text := cells.get("date", ""):
            return day(text, self.slashed).isoformat()
        if text := cells.get("week", ""):
            return f"week {whole('week', text, MOST_WEEK):03d}"
        raise _Refused("date" if "date" in cells else "week", "missing: when was it bowled?")

    def condition(self, cells: dict[str, str]) -> str:
        name = cells.get("condition", "")
        if not self.labelled:
            return self.center.today
        if not name:
            text = "missing, while other rows have one: the fit needs a label on every row"
            raise _Refused("condition", text)
        if name not in self.center.conditions:
            text = f"unknown condition {wrote(name)}{did_you_mean(name, self.center.conditions)}"
            raise _Refused("condition", text)
        return name

    def scores(self, cells: dict[str, str]) -> list[tuple[int, int]]:
        found = []
        for column, number in self.columns.items():
            text = cells.get(column, "")
            if not text:
                continue
            if number == 0:
                number = whole("game", cells["game"], 99) if cells.get("game") else 1
            score = whole(column, text, MOST_SCORE)
            if score == 0:
                raise _Refused(column, "a game of 0: leave the cell empty where nobody bowled")
            found.append((number, score))
        if not found:
            raise _Refused(next(iter(self.columns)), "no score in this row")
        return found

    def tally(self, cells: dict[str, str], games: int) -> tuple[float, float, float]:
        """Strikes, spares and opens of the row's games together; NaN where not given."""
        texts = [cells.get(name, "") for name in TALLIES]
        if not all(texts):
            return (float("nan"),) * 3
        strikes, spares, opens = (
            whole(n, t, 12 * games) for n, t in zip(TALLIES, texts, strict=True)
        )
        if not 10 * games <= strikes + spares + opens <= 12 * games:
            text = f"strikes, spares and opens of {games} games cannot add up to {strikes + spares + opens}"
            raise _Refused("strikes", text)
        return float(strikes), float(spares), float(opens)
