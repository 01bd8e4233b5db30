"""What a center has measured about its conditioners, gathered for the fit: readings first, then trials.

Film readings need no bowlers and come before them; a trial pair needs the fitted roster.  Does not weigh
scores of bowlers.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pandas as pd

from leaguesim import tables
from leaguesim.center.values import Center
from leaguesim.run.rounds import Progress, quiet
from leaguesim.study.durability import conditioners_read, learn_durability
from leaguesim.study.learnt import Learnt, prior, widths
from leaguesim.study.mixed import Components
from leaguesim.study.posterior import Fitted, mean_roster
from leaguesim.study.season import Season
from leaguesim.study.trialcontrast import contrast
from leaguesim.study.trialpair import learn_friction, new_conditioners, respond


def known_before(
    center: Center, tried: Sequence[str], seed: int, progress: Progress = quiet
) -> Learnt | None:
    """What film readings say, with room for the conditioners of trials; None where neither is there."""
    names = set(conditioners_read(center)) if center.film_readings else set()
    for name in tried:
        names |= set(new_conditioners(center, name))
    if not names:
        return None
    return learn_durability(center, prior(center, sorted(names)), seed, progress)


def learn_trials(
    season: Season,
    fitted: Fitted,
    parts: Components,
    trials: Sequence[str],
    seed: int,
    workers: int | None,
    progress: Progress = quiet,
) -> Fitted:
    """The fitted roster with what its trials say; a trial without a new conditioner is only told."""
    center, learnt = fitted.center, fitted.learnt or prior(fitted.center, [])
    roster = mean_roster(fitted)
    for name in trials:
        tried = sorted(set(season.games.loc[season.games["condition"] == name, "bowler"]))
        if not new_conditioners(center, name):
            seen = contrast(season.games, center.today, name, parts)
            row: dict[str, Any] = {
                "source": "trial pair", "conditions": [name], "conditioners": [],
                "pins": seen.pins, "pins_se": seen.se, "bowlers": seen.bowlers, "games": seen.games,
                "nights": seen.nights, "pairs": list(seen.pairs), "shared_pairs": seen.shared_pairs,
            }  # fmt: skip
            learnt = learnt.with_row(row)
            continue
        response = respond(
            center, roster, tried, name, learnt, seed, workers=workers, progress=progress
        )
        learnt, _ = learn_friction(season.games, center, name, parts, response, learnt)
    return replace(fitted, learnt=learnt)


def conditioner_table(fitted: Fitted) -> pd.DataFrame:
    """tables.CONDITIONERS_LEARNT of a fitted roster; empty where nothing was measured."""
    learnt = fitted.learnt
    rows = [] if learnt is None or not learnt.axes else widths(fitted.center, learnt)
    return _frame(rows)


def none_learnt() -> pd.DataFrame:
    """tables.CONDITIONERS_LEARNT without a row."""
    return _frame([])


def _frame(rows: Sequence[dict[str, Any]]) -> pd.DataFrame:
    columns = {name: [r[name] for r in rows] for name in tables.CONDITIONERS_LEARNT}
    return tables.frame(tables.CONDITIONERS_LEARNT, columns)
