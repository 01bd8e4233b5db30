"""Fairness against its outside figures, as rows of the validation table.

The statistics are exact answers; the handicap rows test a league model whose assumptions are ours.
"""

from dataclasses import replace
from typing import Any

import numpy as np

from leaguesim.outside.check import Check, verdict
from leaguesim.outside.figures import figures
from leaguesim.study.equivalence import (
    difference_p,
    holm,
    icc,
    mcnemar,
    newcombe,
    t_interval,
    tost_p,
)
from leaguesim.study.handicap import LeagueModel, below_median_chance, synthetic_teams

SEED = 20080
SEASONS = 2000


def paired(x: list[float], y: list[float]) -> tuple[float, float, float]:
    """Mean difference, its standard error, degrees of freedom."""
    d = np.array(x) - np.array(y)
    return float(d.mean()), float(d.std(ddof=1) / np.sqrt(d.size)), d.size - 1.0


def fairness_checks() -> list[Check]:
    """Equivalence, multiplicity, shares, reliability, and the handicap study."""
    data = figures("fairness")
    return [*_tost(data), *_others(data), *handicap_checks(data)]


def _row(
    name: str, source: str, expected: list[float], got: list[float], tolerance: float
) -> Check:
    agrees = all(abs(a - b) <= tolerance for a, b in zip(expected, got, strict=True))
    told = [", ".join(f"{v:.6g}" for v in values) for values in (expected, got)]
    return Check(name, source, told[0], told[1], verdict(agrees))


def _tost(data: dict[str, Any]) -> list[Check]:
    c, s = data["clinic"], data["sleep"]
    first, second = paired(c["x"], c["y"]), paired(c["x2"], c["y2"])
    sleep = paired(s["first"], s["second"])
    low, high = t_interval(*first, level=0.90)
    got = [tost_p(*first, c["margin"]), tost_p(*second, c["margin"]), low, high]
    return [
        _row(
            "fairness: two one-sided tests, one accepted, one refused, 90 % interval",
            c["source"], [c["p"], c["p2"], c["low_90"], c["high_90"]], got, c["tolerance"],
        ),
        _row(
            "fairness: paired difference and equivalence at margins 3, 2.5, 2", s["source"],
            [s["p_difference"], s["tost_p_3"], s["tost_p_2_5"], s["tost_p_2"]],
            [difference_p(*sleep), *(tost_p(*sleep, m) for m in (3.0, 2.5, 2.0))], s["tolerance"],
        ),
    ]  # fmt: skip


def _others(data: dict[str, Any]) -> list[Check]:
    r, a, n, f = (data[k] for k in ("ratings", "approval", "two_shares", "fifteen"))
    made = icc(r["rows"])
    rejected = int((holm(f["p"]) <= 0.05).sum())
    return [
        _row("fairness: six intraclass correlations", r["source"], [r[k] for k in made],
             list(made.values()), r["tolerance"]),
        _row("fairness: McNemar's test", a["source"], [a["chi2"], a["p"]],
             list(mcnemar(a["only_first"], a["only_second"], exact=False)), a["tolerance"]),
        _row("fairness: interval of a difference of two shares", n["source"],
             [n["low"], n["high"]], list(newcombe(*n["a"], *n["b"])), n["tolerance"]),
        _row("fairness: Holm's rejections of 15 p-values at 5 %", f["source"],
             [f["holm_rejected"]], [rejected], 0.0),
    ]  # fmt: skip


def handicap_checks(data: dict[str, Any], seasons: int = SEASONS) -> list[Check]:
    """The study's two chances from the league model; the model's assumptions are in the name."""
    h, m = data["handicap"], data["handicap_model"]
    teams = synthetic_teams(data, seasons, SEED)
    checks = []
    for percent in (90, 100):
        model = LeagueModel(percent=percent, base=m["base"], games=m["games"], weeks=m["weeks"])
        chance, se = below_median_chance(teams, model, SEED)
        expected = h[f"below_median_at_{percent}"]
        bases = [m["base"] - 10, m["base"] + 10]
        others = [below_median_chance(teams, replace(model, base=b), SEED)[0] for b in bases]
        words = ", ".join(f"{c:.3f} with base {b}" for c, b in zip(others, bases, strict=True))
        checks.append(
            Check(
                f"fairness: a below-median team wins at {percent} % handicap (base {m['base']}, "
                f"{m['teams']} teams of {m['size']}, averages {m['average_mean']:g} +/- "
                f"{m['average_sd']:g})",
                h["source"], f"{expected:.2f} +/- {h['tolerance']:.2f}", f"{chance:.3f} (se {se:.3f}); {words}",
                verdict(abs(chance - expected) <= h["tolerance"]),
            )
        )  # fmt: skip
    return checks
