"""What many tournaments tell: cut, reliability, squads, whether the truly best make it, groups.

Who is truly best comes from other tournaments than those it is checked against.  Does not play.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from leaguesim.play.aims import Tournament
from leaguesim.study.intervals import Z95

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

DRAW = 8  # tournaments that share a draw of squads and pairs
FEWEST_ENTRANTS = 4  # of a group and of the rest, for an interval of people like these


def reliability(scores: Array) -> float:
    """Reliability of one game from (n, games) or (played, n, games): one-way intraclass correlation.

    ICC(1,1) = (MSB - MSW) / (MSB + (k - 1) MSW), mean squares averaged over what was played; Shrout &
    Fleiss 1979.  Whatever lasts for a block counts as told apart: form of the day, a squad's oil.
    """
    return _of_ratio(_ratio(scores), scores.shape[-1])


def reliability_ends(scores: Array) -> tuple[float | None, float | None]:
    """95 % interval of ``reliability`` for entrants like these; None, None of fewer than four.

    Entrants are the unit: log(MSB / MSW) with one entrant left out in turn (jackknife of the log of a
    variance; Miller 1968, Annals of Mathematical Statistics 39, 567-582, from memory), Student's t.  Of a
    single tournament of normal scores it is close to the exact interval of Shrout & Fleiss 1979.

    Parameters
    ----------
    scores : (n, games) or (played, n, games), two games or more [pins]
    """
    n, k = scores.shape[-2:]
    if n < FEWEST_ENTRANTS:
        return None, None
    played = scores.mean(axis=-1).reshape(-1, n)
    within = scores.var(axis=-1, ddof=1).reshape(-1, n)
    # Sum of squares about the mean without entrant i: that of all less n / (n - 1) of their own.
    off = played - played.mean(axis=1, keepdims=True)
    own = off**2
    between = k * (own.sum(axis=1, keepdims=True) - n / (n - 1) * own) / (n - 2)
    inside = (within.sum(axis=1, keepdims=True) - within) / (n - 1)
    without = np.log(between.mean(axis=0) / np.maximum(inside.mean(axis=0), 1e-12))
    whole = float(np.log(_ratio(scores)))
    pseudo = n * whole - (n - 1) * without
    half = float(stdtrit(n - 1, 0.975) * pseudo.std(ddof=1) / np.sqrt(n))
    middle = float(pseudo.mean())
    return _of_ratio(float(np.exp(middle - half)), k), _of_ratio(float(np.exp(middle + half)), k)


def _ratio(scores: Array) -> float:
    """MSB / MSW, each averaged over what was played."""
    between = scores.shape[-1] * scores.mean(axis=-1).var(axis=-1, ddof=1).mean()
    return float(between / max(float(scores.var(axis=-1, ddof=1).mean()), 1e-12))


def _of_ratio(ratio: float, games: int) -> float:
    """ICC(1,1) from MSB / MSW."""
    return (ratio - 1.0) / max(ratio + games - 1.0, 1e-12)


def spearman_brown(one: float, games: float) -> float:
    """Reliability of so many games from that of one (Spearman 1910, Brown 1910)."""
    return games * one / (1.0 + (games - 1.0) * one)


def _by_length(one: float, lengths: Sequence[int]) -> dict[str, float]:
    """Reliability of blocks by number of games; below nothing there is nothing to lengthen."""
    return {str(g): spearman_brown(max(one, 0.0), g) for g in lengths}


def ladder(scores: Array, seeds: Sequence[int]) -> int:
    """Winner of a ladder: the lowest seed meets the next, and so on up; a tie goes to the higher seed.

    Parameters
    ----------
    scores : games of the ladder, by entrant in the order that they bowl them, (n, matches) [pins]
    seeds : entrants, best first
    """
    left, bowled = seeds[-1], 0
    for other in reversed(seeds[:-1]):
        if scores[left, bowled] > scores[other, 0]:
            bowled += 1
        else:
            left, bowled = other, 1
    return int(left)


def told(values: Any) -> dict[str, float]:
    """Mean over tournaments with 95 %, the draw of squads and pairs as unit (Student's t).

    A share of tournaments is at least as wide as Wilson 1927 makes it.
    """
    x = np.asarray(values, float)
    by_draw = x.reshape(-1, DRAW).mean(axis=1)
    k = by_draw.size
    mean = float(x.mean())
    half = float(stdtrit(k - 1, 0.975) * by_draw.std(ddof=1) / np.sqrt(k))
    low, high = mean - half, mean + half
    if ((x == 0.0) | (x == 1.0)).all():
        z2 = Z95**2 / x.size
        middle = (mean + z2 / 2.0) / (1.0 + z2)
        half = float(np.sqrt(mean * (1.0 - mean) * z2 + z2**2 / 4.0)) / (1.0 + z2)
        low, high = max(min(low, middle - half), 0.0), min(max(high, middle + half), 1.0)
    return {"value": mean, "low": low, "high": high}


def skill_of(means: Array, squads: Ints) -> tuple[Array, Array]:
    """Everybody's mean with squads levelled, and its standard error, the draw as unit.

    Parameters
    ----------
    means : of every entrant in every tournament, (played, n) [pins]
    squads : squad of everybody in each draw of 8 tournaments, (draws, n)
    """
    by_draw = means.reshape(len(squads), DRAW, -1).mean(axis=1)
    level = np.zeros_like(by_draw)
    for s in range(int(squads.max()) + 1):
        mine = squads == s
        level += mine * (by_draw[mine].mean() - by_draw.mean())
    kept = by_draw - level
    return kept.mean(axis=0), kept.std(axis=0, ddof=1) / np.sqrt(len(squads))


def order_of(scores: Ints) -> Ints:
    """Entrants by total in each tournament, best first; a tie goes to the better last game."""
    key = scores.sum(axis=2) + 1e-3 * scores[:, :, -1]
    return np.argsort(-key, axis=1, kind="stable")


def figures_of(
    form: Tournament, scores: Ints, ladders: Ints, squads: Ints, skill: Array
) -> tuple[dict[str, Any], NDArray[np.bool_]]:
    """Figures of the whole, and who made the cut (played, n).

    Parameters
    ----------
    scores : (played, n, games) [pins]
    ladders : games of the ladder, read for the finalists only, (played, n, finalists - 1) [pins]
    squads : of each draw of 8 tournaments, (draws, n)
    skill : of everybody, from other tournaments (``skill_of``) [pins]
    """
    from scipy.stats import rankdata

    played, n, games = scores.shape
    total = scores.sum(axis=2)
    mean = total / games
    order = order_of(scores)
    made_cut = np.zeros((played, n), bool)
    np.put_along_axis(made_cut, order[:, : form.cut], True, axis=1)
    best = np.argsort(-skill, kind="stable")[: form.cut]
    ranks = rankdata(skill)
    one = reliability(scores.astype(float)) if games > 1 else None
    ends = reliability_ends(scores.astype(float)) if games > 1 else (None, None)
    lengths = sorted({3, games, 2 * games, 24})
    figures: dict[str, Any] = {
        "field_average": told(mean.mean(axis=1)),
        "field_sd": told(mean.std(axis=1, ddof=1)),
        "cut_score": told(np.take_along_axis(total, order[:, [form.cut - 1]], 1)[:, 0]),
        "best_all_make_cut": told(made_cut[:, best].all(axis=1)),
        "best_share_making_cut": told(made_cut[:, best].mean(axis=1)),
        "rank_correlation": told([np.corrcoef(ranks, rankdata(t))[0, 1] for t in total]),
        "reliability_of_a_game": one,
        "reliability_of_a_game_low": ends[0],
        "reliability_of_a_game_high": ends[1],
        "reliability": None if one is None else _by_length(one, lengths),
        "reliability_low": None if ends[0] is None else _by_length(ends[0], lengths),
        "reliability_high": None if ends[1] is None else _by_length(ends[1], lengths),
        "late_less_early_squad": _late(form, mean - skill, squads),
        "best_leads": told(order[:, 0] == best[0]),
    }
    if form.finalists > 1:
        won = [ladder(ladders[t], list(order[t, : form.finalists])) for t in range(played)]
        figures["best_wins_ladder"] = told(np.array(won) == best[0])
    return figures, made_cut


def _late(form: Tournament, over: Array, squads: Ints) -> dict[str, float] | None:
    """How much more the last squad scores over its entrants' own skill than the first does.

    Parameters
    ----------
    over : tournament means less skill, (played, n) [pins]
    """
    if form.squads < 2:
        return None
    at = np.repeat(np.arange(len(squads)), DRAW)
    return told(
        [
            m[squads[b] == form.squads - 1].mean() - m[squads[b] == 0].mean()
            for m, b in zip(over, at, strict=True)
        ]
    )


def start_pair(over: Array, squads: Ints, starts: Ints) -> dict[str, float] | None:
    """What the pair of lanes that one begins on is worth: its standard deviation. [pins a game]

    In every draw and squad the variance between starting pairs beyond what chance among their people
    gives, (MSB - MSW) / n0 of a one-way layout (Searle, Casella & McCulloch 1992, section 3.6, from
    memory); its mean over draws with 95 %, the draw as unit, then the root.  A lower end of 0: no
    difference is shown.  None where a squad bowls on a single pair, or pairs hold one person.

    Parameters
    ----------
    over : expected mean less skill, (played, n) [pins]
    squads, starts : of each draw of 8 tournaments, (draws, n)
    """
    by_draw = over.reshape(len(squads), DRAW, -1).mean(axis=1)
    found = []
    for y, squad, start in zip(by_draw, squads, starts, strict=True):
        parts = [_between(y[squad == s], start[squad == s]) for s in np.unique(squad)]
        known = [p for p in parts if p is not None]
        if known:
            found.append(float(np.mean(known)))
    if len(found) < 2:
        return None
    mean, k = float(np.mean(found)), len(found)
    half = float(stdtrit(k - 1, 0.975) * np.std(found, ddof=1) / np.sqrt(k))
    ends = (mean, mean - half, max(mean, 0.0) + half)
    value, low, high = (float(np.sqrt(max(v, 0.0))) for v in ends)
    return {"value": value, "low": low, "high": high}


def _between(y: Array, group: Ints) -> float | None:
    """Variance of groups' effects beyond chance; None where it can't be told."""
    sizes = np.bincount(group)
    sizes = sizes[sizes > 0]
    n, k = y.size, sizes.size
    if k < 2 or n <= k:
        return None
    means = np.array([y[group == g].mean() for g in np.unique(group)])
    within = sum(
        ((y[group == g] - m) ** 2).sum() for g, m in zip(np.unique(group), means, strict=True)
    )
    between = (sizes * (means - y.mean()) ** 2).sum() / (k - 1)
    each = (n - (sizes**2).sum() / n) / (k - 1)
    return float((between - within / (n - k)) / each)


def entrants_of(
    who: Sequence[str], labels: dict[str, list[str]], scores: Ints, skill: Array, skill_se: Array,
    made_cut: NDArray[np.bool_],
) -> "pd.DataFrame":  # fmt: skip
    """One row an entrant: average of these tournaments, skill from the others, chance of the cut."""
    import pandas as pd

    return pd.DataFrame(
        {"bowler": list(who), **labels, "average": scores.mean(axis=(0, 2)), "skill": skill,
         "skill_se": skill_se, "makes_cut": made_cut.mean(axis=0)}
    )  # fmt: skip


def groups_of(
    labels: dict[str, list[str]], made_cut: NDArray[np.bool_], cut: int
) -> "pd.DataFrame":
    """Entries, share of the cut and selection ratio (group's rate over everybody else's).

    ``ratio_low`` and ``ratio_high``: 95 % from the tournaments played with this field.
    ``people_low`` and ``people_high``: for people like these, the entrant as unit (``people_ratio``).
    """
    import pandas as pd

    rows = []
    by_draw = made_cut.reshape(-1, DRAW, made_cut.shape[1]).mean(axis=1)
    for kind, values in labels.items():
        for name in sorted(set(values)):
            mine = np.array([v == name for v in values])
            row: dict[str, Any] = {"kind": kind, "group": name, "entries": int(mine.sum())}
            got = by_draw[:, mine].mean(axis=1)
            row["share_of_cut"] = float(made_cut[:, mine].sum(axis=1).mean() / cut)
            rest = by_draw[:, ~mine].mean(axis=1) if (~mine).any() else np.zeros(len(by_draw))
            ratio = low = high = None
            if got.mean() > 0 and rest.mean() > 0:
                ratio = float(got.mean() / rest.mean())
                error = got / got.mean() - rest / rest.mean()
                spread = float(
                    stdtrit(len(error) - 1, 0.975) * error.std(ddof=1) / np.sqrt(len(error))
                )
                low, high = ratio * float(np.exp(-spread)), ratio * float(np.exp(spread))
            row |= {"selection_ratio": ratio, "ratio_low": low, "ratio_high": high}
            ends = people_ratio(made_cut.mean(axis=0), mine)
            rows.append({**row, "people_low": ends[0], "people_high": ends[1]})
    return pd.DataFrame(rows)


def people_ratio(chance: Array, mine: NDArray[np.bool_]) -> tuple[float | None, float | None]:
    """95 % interval of a selection ratio for people like these; None, None where it can't be told.

    Entrants are the unit: the log of either side's mean with one entrant left out in turn (jackknife; Efron
    & Tibshirani 1993, chapter 11, from memory), Student's t with Welch's degrees of freedom.  Chances are
    skewed, so it covers a little less than it means to where a side hardly ever makes the cut:
    ``outside/verdict_rates.toml`` says how often in simulated fields.  Asks for four entrants on either
    side, two of whom make it at times.

    Parameters
    ----------
    chance : everybody's share of tournaments through the cut, (n,)
    mine : the group, (n,)
    """
    parts = []
    for side in (chance[mine], chance[~mine]):
        if side.size < FEWEST_ENTRANTS or side.mean() <= 0.0:
            return None, None
        without = (side.sum() - side) / (side.size - 1)
        if without.min() <= 1e-12:  # one entrant makes all of it
            return None, None
        logs = np.log(without)
        variance = (side.size - 1) / side.size * ((logs - logs.mean()) ** 2).sum()
        parts.append((side.mean(), variance, side.size))
    (a, va, na), (b, vb, nb) = parts
    ratio = float(a / b)
    if va + vb == 0.0:
        return ratio, ratio
    df = (va + vb) ** 2 / (va**2 / (na - 1) + vb**2 / (nb - 1))
    half = float(stdtrit(df, 0.975) * np.sqrt(va + vb))
    return ratio * float(np.exp(-half)), ratio * float(np.exp(half))
