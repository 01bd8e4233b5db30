"""Whether a season without labels was bowled on more than one condition, as far as anything shows it.

What shows it: rows without a label beside rows with one, a dated sequence of the center that goes over
within the season, or a jump of the league's level.  A change that moves nobody's scores leaves no trace
in them, and nothing here pretends otherwise.
"""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from leaguesim.center.scores import Scores
from leaguesim.center.sequence import FOLDER, DatedConditions, find_sequence
from leaguesim.center.values import Center
from leaguesim.errors import InputError
from leaguesim.study.season import Season

BARE_SHARE = (
    0.05  # rows without a label beside others with one: more of them are no slips (assumed)
)
SHIFT_SE, SHIFT_PINS, SHIFT_WEEKS = (
    4.0,
    4.0,
    3,
)  # when a level jumps as conditions make it (assumed)
CURE = "the fit needs a column condition with a label on every row"


@dataclass(frozen=True)
class Jump:
    """The largest step of the league's level over a season: from which session on, pins, its error."""

    session: str
    pins: float
    se: float

    @property
    def shows(self) -> bool:
        """Whether it is one that a change of condition makes, and luck hardly ever."""
        return abs(self.pins) >= max(SHIFT_SE * self.se, SHIFT_PINS)


def check_labels(center: Center, read: Scores, season: Season) -> None:
    """Refuse a season on two conditions whose games cannot be told apart.

    Raises
    ------
    InputError : one line that names file and row and says that the fit needs labels
    """
    if read.labelled:
        _partly(read, season)
        return
    _dated(center, read)
    found = jump(season)
    if found is not None and found.shows:
        raise InputError(
            f"{read.file}:{_line(read, found.session)}: the league's level moves by {found.pins:+.1f} "
            f"pins from about {found.session} on, as it does when a condition changes: {CURE} "
            f"({center.today} on all, if nothing was changed)"
        )


def _line(read: Scores, session: str) -> int:
    """The first row of a session or of what comes after it."""
    g = read.games
    return int(g.loc[g["session"] >= session, "line"].min())


def _partly(read: Scores, season: Season) -> None:
    """Rows without a label: a few slips are left out and told, whole nights are refused."""
    if not read.bare:
        return
    known = set(season.games["session"])
    whole = [line for line, session in read.bare if session not in known]
    rows = read.games["line"].nunique() + len(read.bare)
    if whole or len(read.bare) > BARE_SHARE * rows:
        line = min(whole) if whole else read.bare[0][0]
        raise InputError(
            f"{read.file}:{line}: condition: {len(read.bare)} of {rows} rows have no label, while others "
            f"have one: {CURE}"
        )


def _dated(center: Center, read: Scores) -> None:
    """A dated sequence of the center that goes over between the first and the last day of the scores."""
    days = sorted(s for s in set(read.games["session"]) if not s.startswith("week"))
    folder = center.folder / FOLDER
    if not days or not folder.is_dir():
        return
    for path in sorted(folder.glob("*.csv")):
        try:
            dated = find_sequence(center, path)
        except InputError:
            continue  # a faulty sequence is told by the command that plays it
        for day, name in _switches(dated, center.today):
            if days[0] < day <= days[-1]:
                raise InputError(
                    f"{read.file}:{_line(read, day)}: {FOLDER}/{path.name} goes over to {name} on {day}, "
                    f"within the season: {CURE} ({center.today} on all, if that was only a plan)"
                )


def _switches(dated: DatedConditions, today: str) -> list[tuple[str, str]]:
    before, out = today, []
    for day, name in dated.steps:
        if name != before:
            out.append((day.isoformat(), name))
        before = name
    return out


def jump(season: Season) -> Jump | None:
    """The step of the league's level that shows most; None from too few sessions.

    Each bowler's games are taken about their own mean; sessions count alike.
    """
    weekly = _weekly(season)
    n, x = len(weekly), weekly.to_numpy()
    found: Jump | None = None
    for k in range(SHIFT_WEEKS, n - SHIFT_WEEKS + 1) if n >= 2 * SHIFT_WEEKS + 2 else ():
        a, b = x[:k], x[k:]
        rest = float(((a - a.mean()) ** 2).sum() + ((b - b.mean()) ** 2).sum())
        se = math.sqrt(max(rest / (n - 2), 1e-9) * (1 / k + 1 / (n - k)))
        made = Jump(str(weekly.index[k]), float(b.mean() - a.mean()), se)
        if found is None or abs(made.pins) / se > abs(found.pins) / found.se:
            found = made
    return found


def _weekly(season: Season) -> pd.Series:
    """The league's level by session, every bowler's games about their own mean."""
    g = season.games
    off = g["score"] - g.groupby("bowler")["score"].transform("mean")
    return off.groupby(g["session"], sort=True).mean()


def unlabelled_note(center: Center, season: Season) -> str:
    """What taking every game as today's leaves open, with the size of a change that would have shown."""
    found = jump(season)
    shows = (
        f"A change of condition in mid-season would have shown only if it moved the league's average by "
        f"{max(SHIFT_PINS, SHIFT_SE * _middle_se(season)):.0f} pins or more"
        if found is not None
        else "The nights are too few to show a change of condition"
    )
    return (
        f"The file has no labels: every game was taken as bowled on {center.today}. {shows}; scores alone "
        "cannot tell more."
    )


def _middle_se(season: Season) -> float:
    """Standard error of a step in the middle of the season."""
    weekly = _weekly(season).to_numpy()
    return float(np.std(weekly, ddof=1) * math.sqrt(4.0 / len(weekly)))
