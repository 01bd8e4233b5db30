"""A season of scores as the fit weighs it: who has enough games, what each bowler's nights say.

Does not know lanes or styles.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from leaguesim.center.scores import Scores
from leaguesim.center.values import Center
from leaguesim.errors import InputError
from leaguesim.study.emulator import FIGURES, MEAN, SPARE_RATE, STRIKE
from leaguesim.study.mixed import Components
from leaguesim.study.posterior import Seen

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

FEWEST_GAMES = 9
POOLED_GAMES = 20.0  # games that the league's spread counts for beside a bowler's own (assumed)


@dataclass(frozen=True)
class Season:
    """Games (tables.SCORE_ROWS) of bowlers with enough of them; ``few`` those without."""

    file: str
    games: pd.DataFrame
    conditions: tuple[str, ...]
    people: tuple[str, ...]
    few: dict[str, str] = field(default_factory=dict)

    @property
    def has_tallies(self) -> bool:
        """Whether any row gives strikes, spares and opens."""
        return bool(self.games["strikes"].notna().any())

    def enough(self, bowler: str) -> bool:
        """Whether a bowler has games enough to be fitted."""
        return bowler in self.people

    def why_not(self, bowler: str) -> str:
        """Why a bowler was not fitted, or ''."""
        return "" if self.enough(bowler) else self.few.get(bowler, "no scores")

    def arrays(self) -> tuple[Array, Ints, Ints]:
        """Score, bowler and night labels of every game, for ``mixed``."""
        g = self.games
        who = pd.Categorical(g["bowler"], categories=list(self.people)).codes.astype(np.int64)
        night = (
            g.groupby(["bowler", "session", "condition"], sort=False).ngroup().to_numpy(np.int64)
        )
        return np.asarray(g["score"], np.float64), who, np.asarray(night, np.int64)

    def part(self, sessions: set[str]) -> "Season":
        """The same people in some of the nights."""
        kept = self.games[self.games["session"].isin(sessions)].reset_index(drop=True)
        count = kept.groupby("bowler").size()
        people = tuple(p for p in self.people if count.get(p, 0) >= FEWEST_GAMES)
        kept = kept[kept["bowler"].isin(people)].reset_index(drop=True)
        return Season(self.file, kept, self.conditions, people)

    def without(self, conditions: Sequence[str]) -> "Season":
        """The season without the games of some conditions, and who is left with too few."""
        if not conditions:
            return self
        kept = self.games[~self.games["condition"].isin(list(conditions))]
        count = kept.groupby("bowler").size()
        people = tuple(p for p in self.people if count.get(p, 0) >= FEWEST_GAMES)
        few = {
            p: f"{count.get(p, 0)} games apart from those on {', '.join(conditions)}; {FEWEST_GAMES} are "
            "needed"
            for p in self.people
            if p not in people
        }
        kept = kept[kept["bowler"].isin(people)].reset_index(drop=True)
        if len(people) < 2 or kept["score"].nunique() < 2:
            raise InputError(
                f"{self.file}: without the games on {', '.join(conditions)}, whose conditioner is new, "
                f"{len(people)} bowlers have {FEWEST_GAMES} games: two are needed"
            )
        left = tuple(c for c in self.conditions if c not in conditions)
        return Season(self.file, kept, left, people, {**self.few, **few})

    def seen(self, parts: Components) -> dict[str, Seen]:
        """What each bowler's scores say, by name."""
        tallies = _pooled(self.games) if self.has_tallies else None
        return {
            str(name): self._seen(own, parts, tallies)
            for name, own in self.games.groupby("bowler", sort=False)
        }

    def _seen(self, own: pd.DataFrame, parts: Components, tallies: Array | None) -> Seen:
        outputs: list[int] = []
        values: list[float] = []
        blocks: list[Array] = []
        for k, name in enumerate(self.conditions):
            part = own[own["condition"] == name]
            if part.empty:
                continue
            nights = part.groupby("session")["score"].agg(["mean", "size"])
            scale = _own_spread(part, parts)
            v = scale * (parts.night + parts.game / nights["size"].to_numpy(np.float64))
            w = 1.0 / np.maximum(v, 1e-6)
            variance = float(1.0 / w.sum())
            outputs.append(k * FIGURES + MEAN)
            values.append(float((w * nights["mean"].to_numpy()).sum() / w.sum()))
            block = np.array([[variance]])
            rates = _rates(part)
            if tallies is not None and rates is not None:
                outputs += [k * FIGURES + STRIKE, k * FIGURES + SPARE_RATE]
                values += rates[0]
                sd = np.sqrt(np.array([variance, *(tallies.diagonal()[1:] / rates[1])]))
                block = _correlation(tallies) * np.outer(sd, sd)
            blocks.append(block)
        size = sum(len(b) for b in blocks)
        covariance, at = np.zeros((size, size)), 0
        for b in blocks:
            covariance[at : at + len(b), at : at + len(b)] = b
            at += len(b)
        return Seen(np.array(outputs), np.array(values), covariance)


def _own_spread(part: pd.DataFrame, parts: Components) -> float:
    """A bowler's variance of games over the league's, pulled to 1 by some games' worth."""
    pooled, n = parts.night + parts.game, len(part) - 1
    own = float(part["score"].var()) if n > 0 else pooled
    return (n * own / max(pooled, 1e-6) + POOLED_GAMES) / (n + POOLED_GAMES)


def _nightly(games: pd.DataFrame) -> pd.DataFrame:
    """Mean score, strike rate and spare rate of every night that has tallies."""
    rows = games[games["strikes"].notna()]
    once = rows.drop_duplicates("line")
    sums = once.groupby(["bowler", "session", "condition"])[["strikes", "spares", "opens"]].sum()
    mean = rows.groupby(["bowler", "session", "condition"])["score"].mean()
    tries = sums["spares"] + sums["opens"]
    return pd.DataFrame(
        {
            "mean": mean,
            "strike": sums["strikes"] / (sums["strikes"] + tries),
            "spare": sums["spares"] / tries.where(tries > 0),
        }
    ).dropna()


def _pooled(games: pd.DataFrame) -> Array | None:
    """Covariance of a night's mean, strike rate and spare rate within bowlers; None from too few."""
    nightly = _nightly(games)
    groups = nightly.groupby(["bowler", "condition"])
    free = len(nightly) - groups.ngroups
    if free < 10:
        return None
    off = (nightly - groups.transform("mean")).to_numpy()
    return np.asarray(off.T @ off / free)


def _rates(part: pd.DataFrame) -> tuple[list[float], int] | None:
    nightly = _nightly(part)
    if len(nightly) < 2:
        return None
    return [float(nightly["strike"].mean()), float(nightly["spare"].mean())], len(nightly)


def _correlation(covariance: Array) -> Array:
    sd = np.sqrt(np.maximum(covariance.diagonal(), 1e-12))
    return np.asarray(covariance / np.outer(sd, sd) * 0.98 + 0.02 * np.eye(len(sd)))


def season_of(center: Center, read: Scores) -> Season:
    """The part of a season that can be fitted.

    Raises
    ------
    InputError : fewer than two bowlers with 9 games or more, or all scores equal; names file and row
    """
    games = read.games
    if games.empty:
        first = f"; first: {read.problems[0]}" if read.problems else ""
        raise InputError(f"{read.file}: no score could be used{first}")
    count = games.groupby("bowler").size()
    people = tuple(r.bowler for r in center.roster if count.get(r.bowler, 0) >= FEWEST_GAMES)
    first_line = games.groupby("bowler")["line"].min()
    few = {
        str(b): f"{n} games, {FEWEST_GAMES} are needed ({read.file}:{first_line[str(b)]})"
        for b, n in count.items()
        if n < FEWEST_GAMES
    }
    if not people:
        name = str(count.idxmax())
        raise InputError(
            f"{read.file}:{first_line[name]}: nobody has {FEWEST_GAMES} games; {name} has most, {count[name]}"
        )
    if len(people) < 2:
        raise InputError(
            f"{read.file}:{first_line[people[0]]}: {people[0]} alone has {FEWEST_GAMES} games or more; "
            "two bowlers are needed to tell people from luck"
        )
    kept = games[games["bowler"].isin(people)].reset_index(drop=True)
    if kept["score"].nunique() == 1:
        raise InputError(
            f"{read.file}:{int(kept['line'].min())}: all scores are {int(kept['score'].iloc[0])}: "
            "equal scores cannot be fitted"
        )
    labels = set(kept["condition"]) | {center.today}
    return Season(read.file, kept, tuple(sorted(labels)), people, few)
