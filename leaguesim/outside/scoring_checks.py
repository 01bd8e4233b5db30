"""Scoring against its outside figures, as rows of the validation table.

Everything here is independent of the lane, the ball and the bowlers; nothing in it was fitted.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.outside.check import Check, verdict
from leaguesim.outside.figures import figures
from leaguesim.scoring import count_games, game_score, running_totals, score_distribution

_RTOL = 1e-9
_SETS = {
    "uniform_balls": "uniform balls",
    "league_150": "a league bowler",
    "clean_50_50": "half strikes, no opens",
    "nine_spare_0_7": "nines, 70 % spared",
}


def scoring_checks() -> list[Check]:
    """All outside checks of scoring, in order: sheets, all games, exact distributions."""
    data = figures("scoring")
    checks = _sheet_checks(data["sheets"]) + _count_checks(data["all_games"])
    for key, title in _SETS.items():
        checks += _set_checks(title, data["independent_racks"][key], data["independent_racks"])
    return [*checks, _perfect_check(data["perfect_games"])]


def _sheet_checks(sheets: dict[str, Any]) -> list[Check]:
    rows = sheets["rows"]
    body = next(row for row in rows if row["name"].startswith("rule 2.1.2"))
    others = [row for row in rows if row is not body]
    source = "International Bowling Federation, Universal Playing Rules, rule 2.1.2"
    got = running_totals(body["rolls"])
    checks = [
        Check(
            "scoring: sheet of rule 2.1.2, frame by frame",
            source,
            _listed(body["cumulative"]),
            _listed(got),
            verdict(got == body["cumulative"]),
        )
    ]
    wrong = [r["name"] for r in others if game_score(r["rolls"]) != r["total"]]
    checks.append(_tally("scoring: totals of score sheets", sheets["source"], others, wrong))
    wrong = [r["name"] for r in others if running_totals(r["rolls"]) != r["cumulative"]]
    checks.append(
        _tally("scoring: running totals of score sheets", sheets["source"], others, wrong)
    )
    return checks


def _tally(name: str, source: str, rows: list[Any], wrong: list[str]) -> Check:
    model = f"{len(rows) - len(wrong)} of {len(rows)}"
    if wrong:
        model += f"; wrong: {', '.join(wrong)}"
    return Check(name, source, f"{len(rows)} of {len(rows)}", model, verdict(not wrong))


def _count_checks(all_games: dict[str, Any]) -> list[Check]:
    expected, got = all_games["counts"], count_games()
    source = all_games["source"]
    equal = sum(a == b for a, b in zip(expected, got, strict=True))
    peak, peak_got = (counts.index(max(counts)) for counts in (expected, got))
    return [
        Check(
            "scoring: number of possible games",
            source,
            str(sum(expected)),
            str(sum(got)),
            verdict(sum(expected) == sum(got)),
        ),
        Check(
            "scoring: possible games by score, 0 to 300",
            source,
            f"{len(expected)} exact counts",
            f"{equal} equal",
            verdict(equal == len(expected) == 301),
        ),
        Check(
            "scoring: score that most games end on",
            source,
            str(peak),
            str(peak_got),
            verdict(peak == peak_got),
        ),
    ]


def _set_checks(title: str, row: dict[str, Any], racks: dict[str, Any]) -> list[Check]:
    chances = score_distribution(row["p_strike"], row["first_ball"], row["second_ball"])
    got = moments(chances)
    keys = ("mean", "sd", "skew")
    agrees = all(_close(got[key], row[key]) for key in keys)
    pmf = np.array(row["pmf"])
    miss = float(np.max(np.abs(chances - pmf) / np.where(pmf > 0, pmf, 1.0)))
    tails = [float(chances[at:].sum()) for at in (100, 150, 200, 250)]
    expected_tails = [row[f"p_ge_{at}"] for at in (100, 150, 200, 250)]
    agrees_tails = all(_close(a, b) for a, b in zip(tails, expected_tails, strict=True))
    quantiles = {q: _quantile(chances, float(q)) for q in row["quantiles"]}
    return [
        Check(
            f"scoring: mean, sd and skew of a game, {title}",
            racks["source"],
            ", ".join(f"{row[key]:.9g}" for key in keys),
            ", ".join(f"{got[key]:.9g}" for key in keys),
            verdict(agrees),
        ),
        Check(
            f"scoring: 301 chances, tails and quantiles, {title}",
            racks["source"],
            f"P(>= 200) {row['p_ge_200']:.9g}, relative error of every chance below {_RTOL:g}",
            f"P(>= 200) {tails[2]:.9g}, largest relative error {miss:.1g}",
            verdict(miss < _RTOL and agrees_tails and quantiles == row["quantiles"]),
        ),
    ]


def _perfect_check(perfect: dict[str, Any]) -> Check:
    spared = [[0.0] * (10 - k) + [1.0] for k in range(10)]
    got = [
        float(score_distribution(p, [0.0] * 9 + [1.0 - p], spared)[300]) for p in perfect["strike"]
    ]
    pairs = zip(got, perfect["probability"], strict=True)
    return Check(
        "scoring: chance of a 300 game at strike chances " + _listed(perfect["strike"]),
        perfect["source"],
        ", ".join(f"{p:.9g}" for p in perfect["probability"]),
        ", ".join(f"{p:.9g}" for p in got),
        verdict(all(_close(a, b) for a, b in pairs)),
    )


def moments(chances: NDArray[np.float64]) -> dict[str, float]:
    """Mean, variance, sd [pins] and skew of a distribution over scores 0, 1, 2 and so on."""
    scores = np.arange(chances.size)
    mean = float(scores @ chances)
    variance = float((scores - mean) ** 2 @ chances)
    sd = variance**0.5
    skew = float((scores - mean) ** 3 @ chances) / sd**3 if sd > 0 else 0.0
    return {"mean": mean, "var": variance, "sd": sd, "skew": skew}


def _quantile(chances: NDArray[np.float64], share: float) -> int:
    """Smallest score that at least this share of games do not exceed."""
    return int(np.searchsorted(np.cumsum(chances), share - 1e-12))


def _close(got: float, expected: float) -> bool:
    return abs(got - expected) <= _RTOL * abs(expected)


def _listed(values: list[Any]) -> str:
    return " ".join(str(value) for value in values)
