"""One candidate played and judged: difficulty, fairness, kept happy, discrimination; the best measured again.

Does not decide what is tried.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.bowlers.populate import people_of
from leaguesim.center.values import Center
from leaguesim.play.aims import Goal
from leaguesim.play.setting import Setting
from leaguesim.run.rounds import Plan, play_nights
from leaguesim.run.totals import SCALE, Totals
from leaguesim.streams import Purpose, stream
from leaguesim.study.happy import band_of, judge, measures, norms
from leaguesim.study.prepare import Ready
from leaguesim.study.tillmachine import CAUSES, against, upset
from leaguesim.study.tunepattern import Recipe, bands_of, condition_of, facts

Array = NDArray[np.float64]

# Added to the cost of a pattern that breaks the limit on stops: more than patterns differ by in what
# the goal is about, and growing with the excess, so that the search finds its way out.
TOO_MANY_STOPS = {"average": 30.0, "kept-happy": 1.0, "least-spread": 5.0, "discrimination": 0.5}
FRESH_REPLICATE = 3_000_000  # nights of the last measuring; the search never sees them


@dataclass(frozen=True)
class Baseline:
    """What candidates are held against: everybody's reference and usual measures under today's."""

    reference: Array
    usual: Any
    styles: tuple[str, ...]
    members: NDArray[np.bool_]
    today: Array  # averages on the nights of the candidates
    stops: Array | None = None  # what upsets machines under today's, if there is a limit on it


def cost(goal: Goal, row: dict[str, Any]) -> float:
    """What the search makes small; beyond the limit on machine stops it is far larger."""
    high = goal.limits.stops_high
    if high is not None and row["stops"] > high:
        excess = 1.0 + (float(row["stops"]) - high) / 10.0
        return _aim(goal, row) + TOO_MANY_STOPS[goal.kind] * excess
    return _aim(goal, row)


def _aim(goal: Goal, row: dict[str, Any]) -> float:
    if goal.kind == "average":
        return abs(float(row["average"]) - float(goal.target or 0.0))
    if goal.kind == "kept-happy":
        return -float(row["happy_soft"])
    if goal.kind == "least-spread":
        return float(row["style_spread"])
    return -float(row["discrimination"])


def told(goal: Goal, row: dict[str, Any]) -> str:
    """The figure that the goal is about, in words."""
    if goal.kind == "average":
        return f"average {row['average']:.1f}"
    if goal.kind == "kept-happy":
        return f"kept happy {100 * row['kept_happy']:.0f} %"
    if goal.kind == "least-spread":
        return f"spread of styles {row['style_spread']:.2f} pins"
    return f"reliability of a game {row['discrimination']:.3f}"


def baseline(made: Ready, goal: Goal) -> Baseline:
    """Play today's condition on the nights of the search, for references longer than a candidate."""
    people = made.order
    styles = tuple(sorted({b.style for b in people}))
    members = np.array([[b.style == s for b in people] for s in styles])
    today = [made.setting(made.center.today)]
    seen = measures(_play(made, today, goal.fresh_nights, 0), 0)
    paired = measures(_play(made, today, goal.nights, 0), 0)
    given = np.array([b.average if b.average is not None else np.nan for b in people])
    reference = np.where(np.isnan(given), seen.average, given)
    usual = norms(seen, band_of(reference), made.center.thresholds)
    stops = None if goal.limits.stops_high is None else upset(made, today[0], made.seed)
    return Baseline(reference, usual, styles, members, paired.average, stops)


def stops_of(rates: Array, today: Array) -> dict[str, Any]:
    """The largest index of a cause of machine stops (today = 100), its error, and which cause."""
    index, se = against(rates, today)
    worst = int(np.argmax(np.where(np.isfinite(index), index, -np.inf)))
    return {
        "stops": float(index[worst]),
        "stops_se": float(se[worst]),
        "stops_cause": CAUSES[worst],
    }


def _play(made: Ready, settings: Sequence[Setting], nights: int, replicate: int) -> Totals:
    n = len(made.order)
    plan = Plan(
        settings, made.pairs, made.pins, made.center.league, np.ones((1, n), bool), made.seed,
        replicate=replicate,
    )  # fmt: skip
    return play_nights(plan, 0, nights, made.workers)


def _setting(made: Ready, recipe: Recipe, name: str, goal: Goal) -> Setting:
    """Everybody lined up on a recipe, laid on the center's lanes as they are."""
    laid = {**made.center.conditions, name: condition_of(name, name, recipe, goal.machine)}
    return replace(made, center=replace(made.center, conditions=laid), _settings={}).setting(name)


def house_of(center: Center, goal: Goal, seed: int) -> Center:
    """The center with the people that a goal is about: its roster, or a draw of a population.

    Raises
    ------
    InputError : the population can't be drawn
    """
    if not goal.population:
        return center
    people = people_of(center.populations[goal.population], center.styles, goal.people, seed)
    return replace(center, roster=people)


def fresh_seed(seed: int) -> int:
    """The seed of other people of a population and of their nights."""
    return int(stream(seed, Purpose.CHECK, identity="tune fresh people").integers(2**32))


def trial(made: Ready, base: Baseline, goal: Goal, recipe: Recipe, name: str) -> dict[str, Any]:
    """Figures of one recipe on the nights of the search."""
    setting = _setting(made, recipe, name, goal)
    totals = _play(made, [setting], goal.nights, 0)
    stops = {} if base.stops is None else stops_of(upset(made, setting, made.seed), base.stops)
    found = facts(bands_of(recipe, goal.machine), made.center.conditioners)
    asked = {f"asked_{k}": v for k, v in asdict(recipe).items()}
    return {**asked, "oils": recipe.oils, **found, **stops, **figures(totals, 0, base, made)[0]}


def figures(
    totals: Totals, c: int, base: Baseline, made: Ready
) -> tuple[dict[str, float], Array, Array]:
    """Difficulty, fairness, kept happy and discrimination of a condition; averages and happy by bowler.

    Spread of styles: standard deviation over styles of their mean change from today's condition.
    Discrimination: variance between bowlers' averages over that plus the variance of a game, the
    reliability of one game (intraclass correlation, Shrout & Fleiss 1979, case 1).
    """
    seen = measures(totals, c)
    verdict = judge(seen, base.reference, base.usual, made.center.thresholds)
    happy = verdict.happy
    # One smooth figure for the search: how likely each part holds, by its distance in spreads.
    slack = np.clip(verdict.margin_se, -8.0, 8.0)
    chance = np.where(np.isnan(slack), 1.0, 1.0 / (1.0 + np.exp(-slack)))
    change = np.array([(seen.average - base.today)[m].mean() for m in base.members])
    scores = np.arange(301.0)
    count = totals.n_scores[c].sum(axis=1)
    mean = (totals.n_scores[c] * scores).sum(axis=1) / count
    within = float(((totals.n_scores[c] * scores**2).sum(axis=1) / count - mean**2).mean())
    between = float(seen.average.var(ddof=1)) if len(seen.average) > 1 else 0.0
    league = float(totals.group[c, 0] / SCALE / totals.nights)
    square = totals.group_square[c, c, 0] / SCALE - totals.nights * league**2
    se = float(np.sqrt(max(square, 0.0) / max(totals.nights - 1, 1) / totals.nights))
    return (
        {
            "average": league,
            "average_se": se,
            "kept_happy": float(np.nanmean(happy)) if np.isfinite(happy).any() else 0.0,
            "happy_soft": 0.5 * float(chance.prod(axis=1).mean())
            + 0.5 * (float(np.nanmean(happy)) if np.isfinite(happy).any() else 0.0),
            "style_spread": float(change.std()),
            "discrimination": between / max(between + within, 1e-9),
        },
        seen.average,
        happy,
    )


def again(
    made: Ready, base: Baseline, goal: Goal, best: Sequence[dict[str, Any]]
) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """The best ones side by side on fresh nights, and arrays by bowler for paired differences.

    They are told apart on the same nights; the first of the list that comes back is the winner of
    the search, whatever the fresh nights say of the runner-up.
    """
    recipes = [_recipe(row) for row in best]
    settings = [_setting(made, r, f"best {k + 1}", goal) for k, r in enumerate(recipes)]
    settings.append(made.setting(made.center.today))
    totals = _play(made, settings, goal.fresh_nights, FRESH_REPLICATE)
    base = replace(base, today=measures(totals, len(best)).average)
    others = fresh_seed(made.seed)  # nights of the machines that the search never saw
    worn = [] if base.stops is None else [upset(made, s, others) for s in settings]
    out, averages, happy = [], [], []
    for c in range(len(settings)):
        found, average, verdict = figures(totals, c, base, made)
        row: dict[str, Any] = dict(found)
        averages.append(average)
        happy.append(verdict)
        if c < len(best):
            lane = settings[c].lane
            row |= stops_of(worn[c], worn[-1]) if worn else {}
            out.append({**best[c], **row, "searched": best[c], "recipe": recipes[c], "lane": lane})
    people = made.order
    pair_of = np.repeat(np.arange(len(made.pairs)), [len(p.bowlers) for p in made.pairs])
    return out, {
        "averages": np.array(averages),
        "happy": np.array(happy),
        "style": [b.style for b in people],
        "pair_of": pair_of,
        "today": figures(totals, len(best), base, made)[0],
    }


def _recipe(row: dict[str, Any]) -> Recipe:
    shares = tuple(row["asked_shares"])
    return Recipe(
        row["asked_length_ft"], row["asked_volume_ml"], row["asked_ratio"], row["asked_taper"],
        tuple(row["oils"]), (shares[0], shares[1], shares[2]),
    )  # fmt: skip
