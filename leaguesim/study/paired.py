"""The paired experiment: the same people, nights and luck under the old condition and the new one.

Both conditions are treated alike; averages and thresholds are tied to the one the center calls today.
It does not weigh what is not known about conditioner, lane or bowler: ``notes`` says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim import tables
from leaguesim.center.sequence import DatedConditions, check_sequence
from leaguesim.center.values import Center
from leaguesim.play import _kernel
from leaguesim.play.setting import Setting
from leaguesim.run.rounds import Plan, Progress, check_nights, play_nights, play_until, quiet
from leaguesim.run.totals import SCALE, Totals
from leaguesim.streams import check_seed, new_seed
from leaguesim.study.bygame import game_table
from leaguesim.study.happy import (
    PARTS,
    Measures,
    Norms,
    Verdict,
    band_of,
    band_place,
    judge,
    measures,
    moved,
    norms,
)
from leaguesim.study.intervals import Z95, change_se, told_interval
from leaguesim.study.learnt import likeliest
from leaguesim.study.notes import study_notes
from leaguesim.study.posterior import Fitted, mean_goals, mean_roster
from leaguesim.study.prepare import Ready, ready
from leaguesim.study.results import CompareResult
from leaguesim.study.retying import tie_again
from leaguesim.study.sight import look_at
from leaguesim.study.switch import play_switch
from leaguesim.study.till import league_and_till
from leaguesim.study.unknowns import styled

Array = NDArray[np.float64]

AT_HOME = "today/at home"  # today on the center's own surface; no file can be called so
FIRST_NIGHTS = 128  # at most, that bands are told by where people have no entering average
TARGET_SE = 0.5  # pins, for every bowler's change
STOPPED = {
    "asked": "the number of nights was given",
    "enough": f"every bowler's change has a standard error of {TARGET_SE} pin or less",
    "budget": "the budget of 2,000 nights was spent before every bowler's change was known to "
    f"{TARGET_SE} pin",
}


@dataclass(frozen=True)
class Grouping:
    """Which bowlers belong to which group: the league first, then styles, hands, average bands."""

    kinds: tuple[str, ...]
    names: tuple[str, ...]
    members: NDArray[np.bool_]


def groups_of(people: Sequence[Any], reference: Array) -> Grouping:
    """The league, every style, both hands and every average band that has anybody."""
    kinds, names, rows = ["league"], ["league"], [np.ones(len(people), np.bool_)]
    labels = {
        "style": [b.style for b in people],
        "hand": [b.hand for b in people],
        "average band": band_of(reference),
    }
    for kind, values in labels.items():
        for name in sorted(set(values), key=band_place if kind == "average band" else str):
            kinds.append(kind)
            names.append(name)
            rows.append(np.array([v == name for v in values]))
    return Grouping(tuple(kinds), tuple(names), np.stack(rows))


def entering_averages(made: Ready) -> Array:
    """Entering averages that are reached, NaN where there is none: such people are held against today's. [pins]"""
    entering = np.array([np.nan if b.average is None else b.average for b in made.order])
    return np.where(np.isin([b.bowler for b in made.order], made.unreached), np.nan, entering)


def references(made: Ready, today: Setting, nights: int | None) -> Array:
    """What everybody is held against, as far as it can be known before the run, (bowlers,). [pins]

    The entering average; where there is none, or none that is reached, the average under today's condition
    over the run's own first nights: the very reference of a run of so many, near it of a longer one.
    """
    entering = entering_averages(made)
    if not np.isnan(entering).any():
        return entering
    everybody = np.ones((1, len(made.order)), np.bool_)
    plan = Plan([today], made.pairs, made.pins, made.center.league, everybody, made.seed)
    first = play_nights(plan, 0, min(nights or FIRST_NIGHTS, FIRST_NIGHTS), made.workers)
    return np.where(np.isnan(entering), measures(first, 0).average, entering)


def compare(
    center: Center,
    *,
    now: str,
    next: str,  # noqa: A002 - the users' own word for the condition that may come
    seed: int | None = None,
    nights: int | None = None,
    workers: int | None = None,
    progress: Progress = quiet,
    sequence: DatedConditions | None = None,
    fitted: "Fitted | None" = None,
) -> CompareResult:
    """What happens to a center's bowlers when condition ``now`` becomes condition ``next``.

    Parameters
    ----------
    nights : exactly so many league nights; None goes on until every bowler's change is known to
        0.5 pin (standard error) or 2,000 nights are played
    seed : 0 to 2**64 - 1; None draws one and writes it into the result
    progress : called with (done, total, what)
    center : ``center.on_surface`` asks for another surface: people are tied on the center's own and
        go over to it, and kept happy keeps the norms of today on the center's own
    fitted : what ``study.read_fitted`` gave: every bowler at the mean of their posterior, tied to the
        average that the scores say they have, not to an entering one
    sequence : dated conditions from ``now`` to ``next``, to be set against going over at once

    Raises
    ------
    InputError : no such condition, a sequence that does not end on ``next``, or nights, workers
        or seed out of range
    """
    from leaguesim.center import find_condition

    for name in (now, next):
        find_condition(center, name)
    seed = new_seed() if seed is None else check_seed(seed)
    check_nights(nights)
    if sequence is not None:
        check_sequence(sequence, next)
    names = list(dict.fromkeys([now, next, center.today]))
    center = styled(center, fitted)
    center = likeliest(center, fitted.learnt if fitted is not None else None)
    with ready(center, seed, workers=workers, tie=fitted is None, progress=progress) as made:
        if fitted is not None:
            made.seat(mean_roster(fitted))
            tie_again(made, mean_goals(fitted))
        progress(0, 0, "lining up on each condition")
        today = made.setting(center.today)
        if center.played_on:
            made.on(center.surfaces[center.played_on])
            names = [*dict.fromkeys([now, next]), AT_HOME]
        settings = {name: made.setting(name) for name in sorted(names) if name != AT_HOME}
        settings[AT_HOME] = today
        people = made.order
        grouping = groups_of(people, references(made, today, nights))
        plan = Plan(
            [settings[n] for n in names],
            made.pairs,
            made.pins,
            center.league,
            grouping.members,
            seed,
        )
        pair = (0, names.index(next))

        def enough(totals: Totals) -> bool:
            return bool((_change(totals, pair)[1] <= TARGET_SE).all())

        totals, why = play_until(
            plan, nights=nights, workers=workers, enough=enough, progress=progress
        )
        result = _result(
            made,
            plan,
            totals,
            why,
            grouping,
            (now, next),
            names,
            fitted=fitted is not None,
        )
        progress(0, 0, "the first weeks after the switch")
        switch = play_switch(made, now, next, dated=sequence, progress=progress)
        result = replace(result, switch=switch)
        progress(0, 0, "the league and the till")
        till = league_and_till(made, result, today, {"now": now, "next": next})
        return replace(result, till=till)


def _change(totals: Totals, pair: tuple[int, int]) -> tuple[Array, Array]:
    a, b = pair
    return change_se(
        totals.average[a], totals.average[b], totals.square[a, a], totals.square[b, b],
        totals.square[a, b], totals.nights,
    )  # fmt: skip


def group_change(totals: Totals, pair: tuple[int, int]) -> tuple[Array, Array]:
    """Change of every group's mean between two conditions and its standard error, (groups,). [pins]"""
    a, b = pair
    square = totals.group_square
    return change_se(
        totals.group[a], totals.group[b], square[a, a], square[b, b], square[a, b], totals.nights
    )


def _result(
    made: Ready,
    plan: Plan,
    totals: Totals,
    why: str,
    grouping: Grouping,
    asked: tuple[str, str],
    names: list[str],
    *,
    fitted: bool = False,
) -> CompareResult:
    center, limits = made.center, made.center.thresholds
    now, after = asked
    at = {"now": names.index(now), "next": names.index(after)}
    pair = (at["now"], at["next"])
    measured = {k: measures(totals, c) for k, c in at.items()}
    today = measures(totals, names.index(AT_HOME if AT_HOME in names else center.today))
    entering = entering_averages(made)
    reference = np.where(np.isnan(entering), today.average, entering)
    usual = norms(today, band_of(reference), limits)
    verdicts = {k: judge(m, reference, usual, limits) for k, m in measured.items()}
    pair_of = np.repeat(np.arange(len(plan.pairs)), np.diff(plan.offsets))
    bowlers = _bowler_table(made, plan, totals, at, measured, verdicts, reference, pair_of, asked)
    change = bowlers["change"].to_numpy()
    groups = _group_tables(totals, grouping, pair, at, verdicts, change, pair_of, plan.seed)
    looks = {
        k: look_at(made, name, made.setting(name)) for k, name in (("now", now), ("next", after))
    }
    return CompareResult(
        center=center.name,
        invented=center.invented,
        now=now,
        next=after,
        surface=center.played_on,
        now_title=_title(made, now),
        next_title=_title(made, after),
        today=center.today,
        games=center.league.games,
        nights=totals.nights,
        seed=plan.seed,
        stopped_because=STOPPED[why],
        league=_league(totals, pair, verdicts, change, pair_of, plan.seed),
        bowlers=bowlers,
        groups=groups,
        scores=_scores(totals, grouping, at),
        stability=_stability(measured, reference, usual, made),
        looks=looks,
        thresholds=limits,
        notes=study_notes(made, [now, after], fitted=fitted),
        games_table=game_table(made.order, totals, at, reference, limits.average_drop_pins),
    )


def _title(made: Ready, condition: str) -> str:
    """What a page calls a condition, with the surface where it is not the center's own."""
    title = made.center.conditions[condition].title or condition
    return f"{title}, {made.surface.name}" if made.center.played_on else title


def _rates(counts: NDArray[np.int64]) -> dict[str, Any]:
    k = {name: counts[..., getattr(_kernel, name)].astype(np.float64) for name in _COLUMNS}

    def share(a: str, b: str) -> Any:
        return np.divide(k[a], k[b], out=np.full(k[a].shape, np.nan), where=k[b] > 0)

    return {
        "strike_rate": share("STRIKES", "RACKS"),
        "spare_rate": share("SPARES", "TRIES"),
        "corner_rate": share("CORNER", "POCKET"),
        "pocket_rate": share("POCKET", "RACKS"),
    }


_COLUMNS = ("RACKS", "STRIKES", "TRIES", "SPARES", "POCKET", "CORNER")


def _game_sd(histogram: NDArray[np.int64]) -> Array:
    score = np.arange(histogram.shape[-1], dtype=np.float64)
    n = np.maximum(histogram.sum(axis=-1), 1)
    mean = (histogram * score).sum(axis=-1) / n
    square = (histogram * score**2).sum(axis=-1) / n
    return np.asarray(np.sqrt(np.maximum(square - mean**2, 0.0) * n / np.maximum(n - 1, 1)))


def _bowler_table(
    made: Ready,
    plan: Plan,
    totals: Totals,
    at: dict[str, int],
    measured: dict[str, Measures],
    verdicts: dict[str, Verdict],
    reference: Array,
    pair_of: NDArray[np.int64],
    asked: tuple[str, str],
) -> Any:
    people = made.order
    change, se = _change(totals, (at["now"], at["next"]))
    data: dict[str, Any] = {
        "bowler": [b.bowler for b in people],
        "team": [b.team for b in people],
        "style": [b.style for b in people],
        "hand": [b.hand for b in people],
        "pair": pair_of,
        "reference": reference,
        "change": change,
        "change_se": se,
        "close_call": verdicts["now"].close | verdicts["next"].close,
    }
    for side, name in zip(("now", "next"), asked, strict=True):
        c = at[side]
        data[f"average_{side}"] = measured[side].average
        games = totals.game[c] / SCALE / totals.nights
        for g in range(3):
            column = games[:, g] if g < games.shape[1] else np.full(len(people), np.nan)
            data[f"game{g + 1}_{side}"] = column
        data[f"game_sd_{side}"] = _game_sd(totals.n_scores[c])
        for rate, values in _rates(totals.n_counts[c]).items():
            data[f"{rate}_{side}"] = values
        data[f"miss_cost_{side}"] = measured[side].cost
        changes = totals.n_counts[c][:, _kernel.CHANGES]
        data[f"ball_changes_{side}"] = changes / totals.nights
        stances = [made.setting(name).stances[b.bowler] for b in people]
        data[f"line_board_{side}"] = [s.line.board for s in stances]
        data[f"breakpoint_board_{side}"] = [s.line.breakpoint_board for s in stances]
        data[f"entry_angle_{side}"] = [s.line.entry_deg for s in stances]
        data[f"ball_{side}"] = [s.strike_ball.name for s in stances]
        happy = verdicts[side].happy
        data[f"kept_happy_{side}"] = [None if np.isnan(h) else bool(h) for h in happy]
        data[f"why_not_{side}"] = verdicts[side].words()
    return tables.frame(tables.BOWLERS, data)


def _share(happy: Array) -> float:
    known = np.isfinite(happy)
    return float(happy[known].mean()) if known.any() else float("nan")


def _moves(verdicts: dict[str, Verdict], who: NDArray[np.bool_]) -> dict[str, int]:
    a, b = verdicts["now"].happy[who], verdicts["next"].happy[who]
    return {
        "kept": int(((a == 1.0) & (b == 1.0)).sum()),
        "lost": int(((a == 1.0) & (b == 0.0)).sum()),
        "won_back": int(((a == 0.0) & (b == 1.0)).sum()),
    }


def _league(
    totals: Totals,
    pair: tuple[int, int],
    verdicts: dict[str, Verdict],
    change: Array,
    pair_of: NDArray[np.int64],
    seed: int,
) -> dict[str, Any]:
    difference, se = group_change(totals, pair)
    low, high = told_interval(change, pair_of, seed)
    everybody = np.ones(change.size, np.bool_)
    out: dict[str, Any] = {
        "average_now": float(totals.group[pair[0], 0] / SCALE / totals.nights),
        "average_next": float(totals.group[pair[1], 0] / SCALE / totals.nights),
        "change": float(difference[0]),
        "change_se": float(se[0]),
        "change_low": float(difference[0] - Z95 * se[0]),
        "change_high": float(difference[0] + Z95 * se[0]),
        "people_low": low,
        "people_high": high,
    }
    for side in ("now", "next"):
        happy = verdicts[side].happy
        out[f"kept_happy_{side}"] = _share(happy)
        out[f"kept_happy_{side}_low"], out[f"kept_happy_{side}_high"] = told_interval(
            happy, pair_of, seed, share=True
        )
    out |= _moves(verdicts, everybody)
    unknown = np.isnan(verdicts["now"].happy) | np.isnan(verdicts["next"].happy)
    out["unknown"] = int(unknown.sum())
    out["close_calls"] = int((verdicts["now"].close | verdicts["next"].close).sum())
    return out


def _group_tables(
    totals: Totals,
    grouping: Grouping,
    pair: tuple[int, int],
    at: dict[str, int],
    verdicts: dict[str, Verdict],
    change: Array,
    pair_of: NDArray[np.int64],
    seed: int,
) -> dict[str, Any]:
    difference, se = group_change(totals, pair)
    out = {}
    for kind in ("style", "hand", "average band"):
        rows = [g for g, k in enumerate(grouping.kinds) if k == kind]
        data: dict[str, list[Any]] = {name: [] for name in tables.GROUPS}
        for g in rows:
            who = grouping.members[g]
            low, high = told_interval(change[who], pair_of[who], seed)
            row: dict[str, Any] = {
                "group": grouping.names[g],
                "bowlers": int(who.sum()),
                "change": float(difference[g]),
                "change_se": float(se[g]),
                "change_low": low,
                "change_high": high,
                **_moves(verdicts, who),
            }
            for side, c in at.items():
                row[f"average_{side}"] = float(totals.group[c, g] / SCALE / totals.nights)
                row[f"game_sd_{side}"] = float(
                    np.sqrt((_game_sd(totals.n_scores[c][who]) ** 2).mean())
                )
                rates = _rates(totals.n_counts[c][who].sum(axis=0))
                for name in ("strike_rate", "spare_rate", "corner_rate"):
                    row[f"{name}_{side}"] = float(rates[name])
                row[f"kept_happy_{side}"] = _share(verdicts[side].happy[who])
            for name, value in row.items():
                data[name].append(value)
        out[kind] = tables.frame(tables.GROUPS, data)
    return out


def _scores(totals: Totals, grouping: Grouping, at: dict[str, int]) -> Any:
    data: dict[str, list[Any]] = {name: [] for name in tables.SCORES}
    for g, kind in enumerate(grouping.kinds):
        if kind != "style":
            continue
        for side, c in at.items():
            count = totals.n_scores[c][grouping.members[g]].sum(axis=0)
            share = count / max(int(count.sum()), 1)
            data["style"] += [grouping.names[g]] * share.size
            data["condition"] += [side] * share.size
            data["score"] += range(share.size)
            data["share"] += share.tolist()
    return tables.frame(tables.SCORES, data)


def _stability(
    measured: dict[str, Measures], reference: Array, usual: Norms, made: Ready
) -> list[dict[str, Any]]:
    """Share kept happy with one threshold moved by a quarter either way."""
    rows = []
    for part in PARTS:
        for factor in (0.75, 1.25):
            limits = moved(made.center.thresholds, part, factor)
            row: dict[str, Any] = {"part": part, "factor": factor}
            for side, m in measured.items():
                row[f"kept_happy_{side}"] = _share(judge(m, reference, usual, limits).happy)
            rows.append(row)
    return rows
