"""Is a condition within the rules, and is it fair to every style, hand and average band?

Plays the paired experiment of ``compare`` and asks other questions of it; weighs neither what is not
known about the lanes nor who was never on the roster.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim import tables
from leaguesim.center.values import Center
from leaguesim.errors import InputError
from leaguesim.play.setting import Setting
from leaguesim.run.rounds import Plan, Progress, check_nights, play_until, quiet
from leaguesim.run.totals import SCALE, Totals
from leaguesim.streams import check_seed, new_seed
from leaguesim.study.exchange import exchange_table
from leaguesim.study.fairness_effects import (
    effects_table,
    group_questions,
    losers_table,
    twin_questions,
)
from leaguesim.study.fairness_hands import mirror_control, twin_gaps
from leaguesim.study.fairness_lane import (
    RULE,
    designation_table,
    designation_words,
    reading_table,
)
from leaguesim.study.fairness_result import FairnessResult
from leaguesim.study.handicap import DAY_SD, LeagueModel, Teams, above_base, below_median_chance
from leaguesim.study.intervals import change_se
from leaguesim.study.notes import study_notes
from leaguesim.study.paired import STOPPED, TARGET_SE, Grouping, groups_of, references
from leaguesim.study.prepare import Ready, lane_of, ready

Array = NDArray[np.float64]

TWIN_NIGHTS = 64  # the same luck for both hands: each gap is known better than a change
PERCENTS = (80, 90, 100)
SEASONS = 1000


def fairness(
    center: Center,
    *,
    condition: str,
    against: str | None = None,
    seed: int | None = None,
    nights: int | None = None,
    workers: int | None = None,
    houses: Sequence[Center] = (),
    progress: Progress = quiet,
) -> FairnessResult:
    """Rules, fairness, handicap and exchange of averages for one condition of a center.

    Parameters
    ----------
    against : the condition it is held against; None takes today's.  If that is the condition itself,
        changes can't be told and only the hands of the same people are compared
    nights : exactly so many league nights; None goes on until every bowler's change is known to
        0.5 pin (standard error) or 2,000 nights are played
    houses : other centers whose condition of today joins the exchange of averages

    Raises
    ------
    InputError : no such condition, an empty roster, or nights, workers or seed out of range
    """
    from leaguesim.center import find_condition

    other = center.today if against is None else against
    for name in (condition, other):
        find_condition(center, name)
    compared = against is not None or other != condition
    seed = new_seed() if seed is None else check_seed(seed)
    check_nights(nights)
    readings = _readings(center, condition, other)
    with ready(center, seed, workers=workers, progress=progress) as made:
        progress(0, 0, "lining up on each condition")
        names = list(dict.fromkeys([other, condition, center.today]))
        settings = {name: made.setting(name) for name in sorted(names)}
        labels, visits = _visits(made, houses)
        grouping = groups_of(made.order, references(made, settings[center.today], nights))
        everything: list[Setting] = [settings[n] for n in names] + visits
        plan = Plan(everything, made.pairs, made.pins, center.league, grouping.members, seed)
        pair = (0, names.index(condition))

        def enough(totals: Totals) -> bool:
            return bool((_change(totals, pair)[1] <= TARGET_SE).all())

        totals, why = play_until(
            plan, nights=nights, workers=workers, enough=enough, progress=progress
        )
        turned = min(totals.nights, TWIN_NIGHTS)
        gaps = {n: twin_gaps(made, n, turned, progress) for n in dict.fromkeys([condition, other])}
        progress(0, 0, "the mirror, which must change nothing")
        control = mirror_control(made, condition)
        progress(0, 0, "seasons with handicap")
        return _result(
            made, plan, totals, STOPPED[why], grouping, (other, condition), pair, gaps,
            asdict(control), readings, [*(_named(center, n) for n in names), *labels], compared,
            turned,
        )  # fmt: skip


def _named(center: Center, condition: str) -> str:
    return f"{center.name}: {condition}"


def _change(totals: Totals, pair: tuple[int, int]) -> tuple[Array, Array]:
    a, b = pair
    return change_se(
        totals.average[a], totals.average[b], totals.square[a, a], totals.square[b, b],
        totals.square[a, b], totals.nights,
    )  # fmt: skip


def _visits(made: Ready, houses: Sequence[Center]) -> tuple[list[str], list[Setting]]:
    """This roster lined up on today's condition of other houses."""
    labels = [_named(h, h.today) for h in houses]
    taken = {_named(made.center, n) for n in made.center.conditions}
    if len({*labels, *taken}) < len(labels) + len(taken):
        raise InputError("houses: two of them have the same name and condition; give each its own")
    settings = []
    for house in houses:
        away = replace(made, center=house, surface=house.surface, _settings={})
        settings.append(away.setting(house.today))
    return labels, settings


def _readings(center: Center, condition: str, other: str) -> tuple[Any, str]:
    """Readings against intent where one of the two was measured and the other was meant."""
    measured = [n for n in (condition, other) if center.conditions[n].readings is not None]
    meant = [n for n in (condition, other) if center.conditions[n].bands]
    readings = center.conditions[measured[0]].readings if measured else None
    if readings is None or not meant:
        return None, (
            "Readings are held against intent when one of the two conditions is a tape's readings "
            "and the other the bands that were meant."
        )
    limits = center.fairness
    table = reading_table(readings, lane_of(center, meant[0]), limits)
    good, n = int(table["within"].sum()), len(table)
    return table, (
        f"{good} of {n} readings of {measured[0]} lie within {limits.reading_tolerance_units:g} units or "
        f"{100 * limits.reading_tolerance_share:g} % of what {meant[0]} meant."
    )


def _result(
    made: Ready,
    plan: Plan,
    totals: Totals,
    why: str,
    grouping: Grouping,
    names: tuple[str, str],
    pair: tuple[int, int],
    gaps: Mapping[str, Array],
    control: dict[str, Any],
    readings: tuple[Any, str],
    labels: Sequence[str],
    compared: bool,
    turned: int,
) -> FairnessResult:
    center, (other, condition) = made.center, names
    pair_of = np.repeat(np.arange(len(plan.pairs)), np.diff(plan.offsets))
    averages = totals.average / SCALE / totals.nights
    before, after = averages[pair[0]], averages[pair[1]]
    change, se = _change(totals, pair)
    groups = (grouping.kinds, grouping.names, grouping.members)
    asked = group_questions(*groups, change, se, after, pair_of) if compared else []
    asked += twin_questions(gaps[condition], gaps[other] if compared else None, pair_of)
    spreads = [game_sd(totals.n_scores[c]) for c in pair]
    handicap, words, even = handicap_table(made, before, after, spreads)
    looked = {n: made.lane(n) for n in dict.fromkeys([condition, other])}
    margin = center.fairness.margin_pins
    return FairnessResult(
        center=center.name,
        invented=center.invented,
        condition=condition,
        against=other,
        title=center.conditions[condition].title or condition,
        against_title=center.conditions[other].title or other,
        compared=compared,
        today=center.today,
        games=center.league.games,
        weeks=center.league.weeks,
        nights=totals.nights,
        twin_nights=turned,
        seed=plan.seed,
        stopped_because=why,
        limits=center.fairness,
        average=float(after.mean()),
        average_against=float(before.mean()),
        designation_words={n: designation_words(lane) for n, lane in looked.items()},
        rule=RULE,
        designation=_stacked([designation_table(n, lane) for n, lane in looked.items()]),
        readings=readings[0],
        readings_words=readings[1],
        effects=effects_table(asked, margin),
        losers=losers_table(*groups, before, after, margin),
        twins=_twins(made, pair_of, gaps[condition], gaps[other]),
        control=control,
        handicap=handicap,
        handicap_words=words,
        handicap_percent=made.center.league.handicap_percent,
        even_chance=even,
        exchange=exchange_table(dict(zip(labels, averages, strict=True)), pair_of),
        notes=study_notes(made, list(dict.fromkeys([condition, other]))),
    )


def _stacked(parts: list[Any]) -> Any:
    import pandas as pd

    return pd.concat(parts, ignore_index=True)


def _twins(made: Ready, pair_of: NDArray[np.int64], gap: Array, gap_against: Array) -> Any:
    people = made.order
    return tables.frame(
        tables.TWINS,
        {
            "bowler": [b.bowler for b in people],
            "style": [b.style for b in people],
            "hand": [b.hand for b in people],
            "pair": pair_of.tolist(),
            "gap": gap.tolist(),
            "gap_against": gap_against.tolist(),
        },
    )


def game_sd(histogram: NDArray[np.int64]) -> Array:
    """Standard deviation of each bowler's sampled games from histograms (n, 301). [pins]"""
    score = np.arange(histogram.shape[1], dtype=np.float64)
    n = histogram.sum(axis=1)
    mean = histogram @ score / n
    return np.asarray(np.sqrt(np.maximum(histogram @ score**2 / n - mean**2, 0.0)))


def handicap_table(
    made: Ready, before: Array, after: Array, spreads: Sequence[Array]
) -> tuple[Any, str, float]:
    """Seasons of this league with handicap: the formula alone, old averages, new averages.

    Returns
    -------
    tables.HANDICAP or None with a sentence why, and the chance if all teams were equal
    """
    names = sorted({b.team for b in made.order})
    if len(names) < 2:
        return (
            None,
            "One team is no league: who wins it with handicap can't be asked.",
            float("nan"),
        )
    place = {name: [k for k, b in enumerate(made.order) if b.team == name] for name in names}
    size = max(map(len, place.values()))
    index = np.array([[*place[n], *[-1] * (size - len(place[n]))] for n in names])[None]
    member = index >= 0

    def teams_of(ability: Array, entering: Array, sd: Array) -> Teams:
        return Teams(ability[index], entering[index], np.maximum(sd, DAY_SD)[index], DAY_SD, member)

    def chance(
        ability: Array, entering: Array, sd: Array, percent: int, above: int = 0
    ) -> tuple[float, float]:
        teams = teams_of(ability, entering, sd)
        base = center.fairness.handicap_base + above
        model = LeagueModel(percent, base, center.league.games, center.league.weeks)
        return below_median_chance(teams, model, made.seed, SEASONS)

    center = made.center
    even = (len(names) // 2) / len(names)
    data: dict[str, list[Any]] = {k: [] for k in tables.HANDICAP}
    for percent in sorted({*PERCENTS, center.league.handicap_percent}):
        first, se1 = chance(before, before, spreads[0], percent)
        bases = [chance(before, before, spreads[0], percent, step)[0] for step in (-10, 10)]
        stale, se2 = chance(after, before, spreads[1], percent)
        settled, se3 = chance(after, after, spreads[1], percent)
        values = (
            percent, first, *bases, stale, settled, max(se1, se2, se3), first - even, settled - first,
            stale - settled,
        )  # fmt: skip
        for key, value in zip(data, values, strict=True):
            data[key].append(value)
    words = (
        f"{len(names)} teams of {size} at most, {center.league.weeks} weeks of {center.league.games} "
        f"games, base {center.fairness.handicap_base}; a point a game and one for the series, round "
        f"robin, most points win; running averages from 21 games on. {SEASONS} seasons each; a "
        f"bowler's form varies by {DAY_SD:g} pins from night to night (open league data). "
        + floor_words(teams_of(before, before, spreads[0]), center.fairness.handicap_base)
    )
    return tables.frame(tables.HANDICAP, data), words, even


def floor_words(teams: Teams, base: int) -> str:
    """Why a lower base moves the chances here: who averages above it, and in which half of the teams."""
    low = base - 10
    (lower, upper), worth = above_base(teams, LeagueModel(100, low))
    rule = (
        "Whoever averages above the base gets no handicap, but gives nothing back either: a base below "
        "somebody's average helps their team, and one above all averages raises all teams alike."
    )
    if lower + upper == 0:
        return f"{rule} Nobody here averages {low + 1} or more, so between these bases only rounding differs."
    told = (
        f"{lower + upper} here {'averages' if lower + upper == 1 else 'average'} {low + 1} or more, {lower} in "
        f"teams of the lower half and {upper} of the upper: at 100 % of {low} that is worth "
        f"{worth[0]:.1f} and {worth[1]:.1f} pins a head and game on the mean of their teams"
    )
    if worth[0] == worth[1]:
        return f"{rule} {told}, so a lower base helps neither half."
    half, why = (
        ("lower", ", since the high averages bowl beside low ones")
        if worth[0] > worth[1]
        else ("upper", "")
    )
    return f"{rule} {told}, so a lower base helps the {half} half here{why}."
