"""What a switch of condition does to the league's handicaps and to the till: pins, places, litres, machine.

Carries averages through the switch, adds up conditioner as it is really laid, and holds what upsets
machines against today.  Does not know what a stop costs, nor whether anybody comes back.
"""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from leaguesim import tables
from leaguesim.center.lanes import pair_state
from leaguesim.center.values import Center
from leaguesim.lane.film import condition_film, volume_ml
from leaguesim.play.setting import Setting
from leaguesim.study.handicap import FEWEST_GAMES, LeagueModel, handicap
from leaguesim.study.happy import band_of
from leaguesim.study.intervals import Z95
from leaguesim.study.prepare import Ready
from leaguesim.study.results import CompareResult
from leaguesim.study.switch import JUMP
from leaguesim.study.tillmachine import ASSUMED, CAUSES, UNITS, against, upset
from leaguesim.study.tillresult import TillResult
from leaguesim.study.tillseasons import SEASONS, Carried, Switch, carry

Array = NDArray[np.float64]

SIDES = ("now", "next")
HELD_WEEKS = 3


def league_and_till(
    made: Ready, found: CompareResult, today: Setting, names: Mapping[str, str]
) -> TillResult:
    """Handicaps, standings, conditioner and machine of a finished comparison.

    Parameters
    ----------
    found : with its first weeks
    today : setting of the condition that the machine is held against
    names : condition by side, now and next
    """
    center = made.center
    model = league_model(center)
    bowlers = found.bowlers
    teams = sorted(set(bowlers["team"]))
    switch = Switch(
        now=bowlers["average_now"].to_numpy(),
        change=bowlers["change"].to_numpy(),
        change_se=bowlers["change_se"].to_numpy(),
        sd_now=bowlers["game_sd_now"].to_numpy(),
        sd_next=bowlers["game_sd_next"].to_numpy(),
        gap=_gap(found),
        team=np.array([teams.index(t) for t in bowlers["team"]]),
        week=center.league.switch_week,
        nights_per_week=center.league.nights_per_week,
    )
    carried = carry(switch, model, tables.TOLD_WEEKS, made.seed)
    people = _people(bowlers, carried, model)
    return TillResult(
        percent=model.percent,
        base=model.base,
        weeks=model.weeks,
        switch_week=switch.week,
        caught_up=catches_up(center),
        seasons=SEASONS,
        currency=center.prices.currency,
        lanes_per_night=2 * len(made.pairs),
        bowlers=people,
        groups=_groups(people),
        teams=_teams(teams, bowlers, carried) if len(teams) > 1 else None,
        oil=_oil(made, names),
        machine=_machine(made, today, names),
    )


def league_model(center: Center) -> LeagueModel:
    """The handicap's rule of a center; the base of [fairness] where the league gives none."""
    league = center.league
    base = league.handicap_base
    return LeagueModel(
        league.handicap_percent,
        center.fairness.handicap_base if base is None else base,
        league.games,
        league.weeks,
    )


def catches_up(center: Center) -> int | None:
    """First week after the switch whose handicap rests on any game of the new condition.

    None if the season ends before.
    """
    league = center.league
    games = league.games * league.nights_per_week
    first = math.ceil(FEWEST_GAMES / games) + 1  # week of the season with a running average
    week = max(first - league.switch_week + 1, 2)
    return week if league.switch_week + week - 1 <= league.weeks else None


def _gap(found: CompareResult) -> Array:
    """(weeks, bowlers) pins away from settled play in the first weeks, going over at once.

    One row more at the end, the mean of the last three, which holds on to the end of the season.
    """
    people = list(found.bowlers["bowler"])
    if found.switch is None:
        return np.zeros((1, len(people)))
    weekly = found.switch.weekly
    jump = weekly[weekly["way"] == JUMP].assign(gap=lambda t: t["average"] - t["settled"])
    by_week = jump.pivot(index="week", columns="bowler", values="gap")
    gap = np.asarray(by_week[people].to_numpy(), np.float64)
    return np.concatenate([gap, gap[-HELD_WEEKS:].mean(axis=0, keepdims=True)])


def _people(bowlers: pd.DataFrame, carried: Carried, model: LeagueModel) -> pd.DataFrame:
    """tables.TILL_BOWLERS."""
    data: dict[str, Any] = {k: bowlers[k].tolist() for k in ("bowler", "team", "style", "hand")}
    data["band"] = band_of(bowlers["reference"].to_numpy())
    for side in SIDES:
        average = bowlers[f"average_{side}"].to_numpy()
        data[f"average_{side}"] = average
        data[f"handicap_{side}"] = handicap(np.floor(average), model)
    mean = carried.extra.mean(axis=1)
    for k, week in enumerate(tables.TOLD_WEEKS):
        data[f"extra_week_{week}"] = carried.extra[k]
        data[f"edge_week_{week}"] = carried.extra[k] - mean[k]
    data["extra_se"] = carried.extra_se[0]
    return tables.frame(tables.TILL_BOWLERS, data)


def _groups(people: pd.DataFrame) -> pd.DataFrame:
    """tables.TILL_GROUPS: the league, then styles, hands and average bands."""
    figures = [c for c in tables.TILL_GROUPS if c not in ("kind", "group", "bowlers")]
    data: dict[str, list[Any]] = {name: [] for name in tables.TILL_GROUPS}
    kinds = (("league", None), ("style", "style"), ("hand", "hand"), ("average band", "band"))
    for kind, column in kinds:
        parts = [("league", people)] if column is None else people.groupby(column, sort=True)
        for name, part in parts:
            data["kind"].append(kind)
            data["group"].append(str(name))
            data["bowlers"].append(len(part))
            for figure in figures:
                data[figure].append(float(part[figure].mean()))
    return tables.frame(tables.TILL_GROUPS, data)


def _teams(teams: list[str], bowlers: pd.DataFrame, carried: Carried) -> pd.DataFrame:
    """tables.TILL_TEAMS."""
    gap = carried.points[1] - carried.points[0]
    low, high = np.quantile(gap, [0.05, 0.95], axis=0)
    size = bowlers.groupby("team").size()
    stay, go = carried.place
    return tables.frame(
        tables.TILL_TEAMS,
        {
            "team": teams,
            "bowlers": [int(size[t]) for t in teams],
            "points_stay": carried.points[0].mean(axis=0),
            "points_switch": carried.points[1].mean(axis=0),
            "points_change": gap.mean(axis=0),
            "points_change_se": gap.std(axis=0, ddof=1) / math.sqrt(len(gap)),
            "points_change_low": low,
            "points_change_high": high,
            "place_stay": stay.mean(axis=0),
            "place_switch": go.mean(axis=0),
            "place_change": (go - stay).mean(axis=0),
            "place_change_se": (go - stay).std(axis=0, ddof=1) / math.sqrt(len(gap)),
            "wins_stay": (stay == 1.0).mean(axis=0),
            "wins_switch": (go == 1.0).mean(axis=0),
        },
    )


def _film_factor(made: Ready) -> float:
    """Film laid over film asked for, mean over the pairs that the league plays on."""
    own = made.surface == made.center.surface
    factors = [
        pair_state(made.center.lane_states, made.surface, k, own=own).film_factor
        for k in range(len(made.pairs))
    ]
    return made.center.film_factor * float(np.mean(factors))


def laid_ml(center: Center, name: str) -> dict[str, float]:
    """Oil of every conditioner that a condition lays on one lane, without what cleaning left. [mL]"""
    known = list(center.conditioners)
    film, _, _ = condition_film(center.conditions[name], known)
    parts = {n: volume_ml(film[k]) for k, n in enumerate(known)}
    return {n: ml for n, ml in sorted(parts.items()) if ml > 0.0}


def _oil(made: Ready, names: Mapping[str, str]) -> pd.DataFrame:
    """tables.TILL_OIL: every conditioner of both conditions, and each condition's total."""
    center, league = made.center, made.center.league
    nights = league.weeks * league.nights_per_week
    lanes = 2 * len(made.pairs)
    weekly = center.prices.lanes_oiled_per_week
    season_lanes = lanes * nights if weekly is None else weekly * league.weeks
    data: dict[str, list[Any]] = {name: [] for name in tables.TILL_OIL}
    for side in SIDES:
        factor = _film_factor(made)
        parts = [(n, factor * ml) for n, ml in laid_ml(center, names[side]).items()]
        prices = [center.conditioners[n].price_per_litre for n, _ in parts]
        prices_known = all(p is not None for p in prices)
        cost = sum((p or 0.0) * ml for p, (_, ml) in zip(prices, parts, strict=True)) / 1000.0
        rows = [
            (n, ml, math.nan if p is None else p, math.nan if p is None else p * ml / 1000.0)
            for (n, ml), p in zip(parts, prices, strict=True)
        ]
        rows.append(
            ("all", sum(ml for _, ml in parts), math.nan, cost if prices_known else math.nan)
        )
        for name, ml, price, lane_cost in rows:
            row = {
                "side": side, "condition": names[side], "conditioner": name, "ml_per_lane": ml,
                "litres_per_night": ml * lanes / 1000.0,
                "litres_per_season": ml * season_lanes / 1000.0, "price_per_litre": price,
                "cost_per_lane": lane_cost, "cost_per_night": lane_cost * lanes,
                "cost_per_season": lane_cost * season_lanes,
            }  # fmt: skip
            for key, value in row.items():
                data[key].append(value)
    return tables.frame(tables.TILL_OIL, data)


def _machine(made: Ready, today: Setting, names: Mapping[str, str]) -> pd.DataFrame:
    """tables.TILL_MACHINE."""
    settings = {"today": today, **{side: made.setting(names[side]) for side in SIDES}}
    once: dict[int, Array] = {}
    for setting in settings.values():
        if id(setting) not in once:
            once[id(setting)] = upset(made, setting, made.seed)
    rates = {side: once[id(s)] for side, s in settings.items()}
    data: dict[str, Any] = {
        "cause": list(CAUSES),
        "unit": list(UNITS),
        "assumption": [ASSUMED[c] for c in CAUSES],
        **{f"per_1000_{side}": r.mean(axis=0) for side, r in rates.items()},
    }
    for side in SIDES:
        index, se = against(rates[side], rates["today"])
        data[f"index_{side}"], data[f"index_{side}_se"] = index, se
        data[f"index_{side}_low"] = index - Z95 * se
        data[f"index_{side}_high"] = index + Z95 * se
    return tables.frame(tables.TILL_MACHINE, data)
