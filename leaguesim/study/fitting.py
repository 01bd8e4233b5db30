"""From a season of scores to a fitted roster: variance components, posteriors, a back-test, what to doubt.

Spare skill keeps its prior unless strikes, spares and opens are given; lane friction is taken as the
center says and is not fitted here.
"""

import json
import math
from dataclasses import dataclass, field, replace
from os import PathLike
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from leaguesim import tables
from leaguesim.bowlers.values import Bowler
from leaguesim.center.scores import Scores, read_scores
from leaguesim.center.values import Center
from leaguesim.run.rounds import Progress, quiet
from leaguesim.streams import Purpose, check_seed, new_seed, stream
from leaguesim.study.backtest import backtest
from leaguesim.study.emulator import FIGURES, GAME_SD, MEAN, Emulator, film_of, learn, play_league
from leaguesim.study.evidence import (
    conditioner_table,
    known_before,
    learn_trials,
    none_learnt,
)
from leaguesim.study.labels import check_labels, unlabelled_note
from leaguesim.study.learnt import likeliest
from leaguesim.study.mixed import Components, components, shrunken
from leaguesim.study.posterior import (
    Fitted,
    Posterior,
    kept_averages,
    kept_draws,
    kept_places,
    posterior,
    spread_of,
)
from leaguesim.study.prepare import Ready, ready
from leaguesim.study.results import plain, records
from leaguesim.study.season import Season, season_of
from leaguesim.study.traits import (
    ACCURACY,
    SPARE,
    SPARE_LOG_SD,
    bowler_at,
    candidates,
    even_points,
    points_of,
)
from leaguesim.study.trialcontrast import trials_of
from leaguesim.study.trialpair import new_conditioners

Array = NDArray[np.float64]

FIT_SCHEMA = "leaguesim.fit/1"
NIGHTS = 32
LEAGUES, MOST_LEAGUES = 12, 48  # replica leagues a round; small leagues are played more often
ROUNDS = 2  # spread over the prior, then over what the scores leave possible
WANTED = 600  # bowler-leagues a round


@dataclass(frozen=True)
class FitResult:
    """``study.fit``: the fitted roster and how far to trust it.

    ``bowlers`` (tables.FITTED); ``components`` of the mixed model; ``styles`` one row a style: points
    played, error of the stand-in, residuals; ``hands`` residuals by hand; ``conditioners``
    (tables.CONDITIONERS_LEARNT) what a trial pair and film readings narrowed, empty without them;
    ``backtest`` figures and ``held_out`` its table; ``problems`` rows that were not used and why;
    ``fitted`` for ``posterior_draws``.
    """

    center: str
    invented: bool
    today: str
    seed: int
    file: str
    nights: int
    games: int
    components: Components
    bowlers: pd.DataFrame
    styles: pd.DataFrame
    hands: pd.DataFrame
    backtest: dict[str, Any]
    held_out: pd.DataFrame
    problems: list[str]
    set_aside: dict[str, int]
    notes: list[str]
    fitted: Fitted
    conditioners: pd.DataFrame = field(default_factory=none_learnt)
    manifest: dict[str, Any] = field(default_factory=dict)

    def summary(self) -> dict[str, Any]:
        """The summary that ``--json`` prints."""
        parts = self.components
        return {
            "schema": FIT_SCHEMA,
            "manifest": plain(self.manifest),
            "today": self.today,
            "games": self.games,
            "nights": self.nights,
            "components": {
                "mean": parts.mean,
                "bowler_sd": math.sqrt(parts.bowler),
                "night_sd": math.sqrt(parts.night),
                "game_sd": math.sqrt(parts.game),
                "method": parts.method,
            },
            "backtest": plain(self.backtest),
            "styles": records(self.styles, list(self.styles.columns)),
            "hands": records(self.hands, list(self.hands.columns)),
            "bowlers": records(self.bowlers, list(tables.FITTED)),
            "conditioners": records(self.conditioners, list(tables.CONDITIONERS_LEARNT)),
            "measured": [] if self.fitted.learnt is None else plain(list(self.fitted.learnt.told)),
            "problems": self.problems,
            "set_aside": self.set_aside,
            "notes": self.notes,
        }

    def to_json(self) -> str:
        """Strict JSON of ``summary``."""
        return json.dumps(self.summary(), indent=1, allow_nan=False)


def fit(
    center: Center,
    scores: str | PathLike[str] | Scores | None = None,
    *,
    seed: int | None = None,
    workers: int | None = None,
    progress: Progress = quiet,
) -> FitResult:
    """Who must these bowlers be, that today's condition gives the scores they bowled?

    Parameters
    ----------
    scores : file or what ``center.scores.read_scores`` returned; None reads ``scores.csv`` in the folder
    seed : 0 to 2**64 - 1; None draws one and writes it into the result

    Raises
    ------
    ProfileError, InputError : no readable file, nobody with 9 games or more, all scores equal, or a
        season on two conditions whose games are not labelled
    """
    seed = new_seed() if seed is None else check_seed(seed)
    read = scores if isinstance(scores, Scores) else read_scores(center, scores)
    whole = season_of(center, read)
    check_labels(center, read, whole)
    trials, not_trials = trials_of(whole.games, center.today)
    tried = [name for name in trials if new_conditioners(center, name)]
    season = whole.without(tried)
    learnt = known_before(center, tried, seed, progress)
    parts = components(*season.arrays())
    conditions = season.conditions
    guess = tuple(replace(r, style=candidates(center, r)[0]) for r in center.roster)
    with ready(
        replace(likeliest(center, learnt), roster=guess),
        seed,
        workers=workers,
        tie=False,
        progress=progress,
    ) as made:
        emulators, posts = _learn(made, center, season, parts, seed, progress)
    progress(0, 0, "testing on the last third of the season")
    figures, held_out = backtest(center, season, emulators, seed)
    rng_of = {
        r.bowler: stream(seed, Purpose.BOOTSTRAP, replicate=3, identity=r.bowler)
        for r in center.roster
    }
    seen, output = season.seen(parts), conditions.index(center.today) * FIGURES + MEAN
    kept = [kept_places(p, rng_of[r.bowler]) for r, p in zip(center.roster, posts, strict=True)]
    fitted = Fitted(
        center,
        tuple(tuple(p.names[k] for k in p.style[at]) for at, p in zip(kept, posts, strict=True)),
        np.stack([p.points[at] for at, p in zip(kept, posts, strict=True)]),
        tuple(season.enough(r.bowler) for r in center.roster),
        learnt,
        np.stack(
            [
                kept_averages(p, seen.get(r.bowler), output, at, rng_of[r.bowler])
                for r, at, p in zip(center.roster, kept, posts, strict=True)
            ]
        ),
    )
    if trials:
        fitted = learn_trials(whole, fitted, parts, trials, seed, workers, progress)
    bowlers = _table(center, season, parts, posts, conditions.index(center.today))
    return FitResult(
        center=center.name,
        invented=center.invented,
        today=center.today,
        seed=seed,
        file=read.file,
        nights=int(season.games["session"].nunique()),
        games=len(season.games),
        components=parts,
        bowlers=bowlers,
        styles=_styles(bowlers, emulators, conditions.index(center.today)),
        hands=_residuals(bowlers, "hand"),
        backtest=figures,
        held_out=held_out,
        problems=read.problems,
        set_aside=read.set_aside,
        notes=[*_notes(center, read, season), *not_trials],
        fitted=fitted,
        conditioners=conditioner_table(fitted),
    )


def _points(
    center: Center, posts: list[Posterior] | None, leagues: int, seed: int
) -> tuple[list[list[str]], Array]:
    """Styles (bowlers, leagues) and points (bowlers, leagues, 6) to be played next."""
    styles, points = [], []
    for i, line in enumerate(center.roster):
        rng = stream(
            seed, Purpose.BOOTSTRAP, replicate=4 if posts is None else 5, identity=line.bowler
        )
        if posts is None:
            names = candidates(center, line)
            u = even_points(64, rng)[:leagues]
            own = [names[k % len(names)] for k in range(leagues)]
            at = np.stack(
                [points_of(center.styles[n], line, u[k : k + 1])[0] for k, n in enumerate(own)]
            )
        else:
            s, at = kept_draws(posts[i], rng, leagues)
            own = [posts[i].names[k] for k in s]
        styles.append(own)
        points.append(at)
    return styles, np.stack(points)


def _learn(
    made: Ready, center: Center, season: Season, parts: Components, seed: int, progress: Progress
) -> tuple[dict[str, Emulator], list[Posterior]]:
    """Play replica leagues in two rounds and weigh every bowler's points."""
    films = {name: film_of(made, name) for name in season.conditions}
    n = len(center.roster)
    leagues = int(min(max(LEAGUES, math.ceil(WANTED / n)), MOST_LEAGUES))
    left = np.array([r.hand == "left" for r in center.roster], np.float64)
    known: dict[str, list[tuple[float, Array, Array]]] = {}
    posts: list[Posterior] | None = None
    emulators: dict[str, Emulator] = {}
    for step in range(ROUNDS):
        styles, points = _points(center, posts, leagues, seed)
        for k in range(leagues):
            done = step * leagues + k
            progress(done, ROUNDS * leagues, "replica leagues")
            people: list[Bowler] = [
                bowler_at(center, r, styles[i][k], points[i, k])
                for i, r in enumerate(center.roster)
            ]
            told = play_league(made, people, films, NIGHTS, done)
            for i in range(n):
                known.setdefault(styles[i][k], []).append(
                    (left[i], points[i, k], told[:, i].reshape(-1))
                )
        for name, rows in sorted(known.items()):
            emulators[name] = learn(
                center.styles[name], np.array([r[0] for r in rows]),
                np.stack([r[1] for r in rows]), np.stack([r[2] for r in rows]),
            )  # fmt: skip
        seen = season.seen(parts)
        posts = [posterior(center, r, emulators, seen.get(r.bowler), seed) for r in center.roster]
    return emulators, posts or []


def _table(
    center: Center, season: Season, parts: Components, posts: list[Posterior], today: int
) -> pd.DataFrame:
    level, se, _ = shrunken(parts, *season.arrays())
    blup = {name: (v, s) for name, v, s in zip(season.people, level, se, strict=True)}
    data: dict[str, list[Any]] = {k: [] for k in tables.FITTED}
    nan = math.nan
    for line, post in zip(center.roster, posts, strict=True):
        own = season.games[season.games["bowler"] == line.bowler]
        at_home = own[own["condition"] == center.today]["score"]
        w = post.weight
        share = np.bincount(post.style, w, minlength=len(post.names))
        best = int(share.argmax())
        log = np.log(post.points[:, [ACCURACY, SPARE]])
        (ma, sa), (mb, sb) = spread_of(log[:, 0], w), spread_of(log[:, 1], w)
        cov = float(w @ ((log[:, 0] - ma) * (log[:, 1] - mb)))
        predicted, predicted_se = spread_of(post.figures[:, today * FIGURES + MEAN], w)
        accuracy, spare = (spread_of(post.points[:, k], w) for k in (ACCURACY, SPARE))
        average = float(at_home.mean()) if len(at_home) else nan
        fitted = season.enough(line.bowler)
        row: dict[str, Any] = {
            "bowler": line.bowler, "team": line.team, "hand": line.hand, "style": post.names[best],
            "style_weight": float(share[best]), "games": len(own), "average": average,
            "shrunken": blup.get(line.bowler, (nan, nan))[0],
            "shrunken_se": blup.get(line.bowler, (nan, nan))[1],
            "predicted": predicted, "predicted_se": predicted_se,
            "residual": average - predicted if fitted else nan,
            "game_sd": float(at_home.std()) if len(at_home) > 1 else nan,
            "game_sd_predicted": spread_of(post.figures[:, today * FIGURES + GAME_SD], w)[0],
            "accuracy_deg": accuracy[0], "accuracy_se": accuracy[1],
            "spare_accuracy": spare[0], "spare_accuracy_se": spare[1],
            "spare_narrowed": 1.0 - sb / SPARE_LOG_SD,
            "correlation": cov / (sa * sb) if sa > 0 and sb > 0 else nan,
            "fitted": fitted, "why_not": season.why_not(line.bowler),
        }  # fmt: skip
        for name, value in row.items():
            data[name].append(value)
    return tables.frame(tables.FITTED, data)


def _residuals(bowlers: pd.DataFrame, by: str) -> pd.DataFrame:
    rows = []
    for name, part in bowlers[bowlers["fitted"]].groupby(by, sort=True):
        r = part["residual"].dropna()
        se = float(r.std() / math.sqrt(len(r))) if len(r) > 1 else math.nan
        rows.append(
            {by: str(name), "bowlers": len(r), "residual": float(r.mean()), "residual_se": se}
        )
    return pd.DataFrame(rows, columns=[by, "bowlers", "residual", "residual_se"])


def _styles(bowlers: pd.DataFrame, emulators: dict[str, Emulator], today: int) -> pd.DataFrame:
    told = pd.DataFrame(
        [
            {
                "style": name,
                "points_played": e.points,
                "stand_in_error": float(np.sqrt(e.error[today * FIGURES, today * FIGURES])),
            }
            for name, e in sorted(emulators.items())
        ]
    )
    return told.merge(_residuals(bowlers, "style"), on="style", how="left")


def _notes(center: Center, read: Scores, season: Season) -> list[str]:
    notes = [
        "Accuracy, spare skill and lane friction all move an average: scores alone cannot separate "
        "them. Lane friction was taken as the center's files say.",
        "Speed, revs, rotation and tilt that the roster leaves out keep the spread of the style.",
    ]
    if not season.has_tallies:
        notes.append(
            "Spare skill keeps the width of its prior (assumed: 15 % between people of a style), because "
            "the file gives no strikes, spares and opens."
        )
    if not read.labelled:
        notes.append(unlabelled_note(center, season))
    return notes
