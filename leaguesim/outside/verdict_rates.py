"""How often the verdicts and intervals of fairness err, on invented tables whose truth is known.

``python -m leaguesim.outside.verdict_rates`` draws them and writes ``verdict_rates.toml``, which pages quote
and tests make again.  Nothing is played: effects of people, of pairs of lanes and of a hand on a pair are
drawn.  Does not judge whether a rate is good.
"""

import math
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from leaguesim.outside.figures import figures
from leaguesim.run.blocks import write_whole
from leaguesim.streams import Purpose, stream
from leaguesim.study.equivalence import difference_p, people_contrast, t_interval, tost_p
from leaguesim.study.fairness_effects import verdict
from leaguesim.study.handicap import LeagueModel, below_median_chance, synthetic_teams
from leaguesim.study.intervals import FEWEST_PAIRS
from leaguesim.study.tournament_figures import DRAW, groups_of

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]

COMMAND: Final = "python -m leaguesim.outside.verdict_rates"
SEED: Final = 2027
MARGIN: Final = 3.0
RUNS: Final = 2000  # studies a league
FIELD_RUNS: Final = 300
IN_MARGINS: Final = (0.0, 0.5, 1.0, 2.0)  # true effects, in margins
ROSTERS: Final = {  # pairs of lanes, bowlers on each, left-handers
    "48, 8 left": (6, 8, 8),
    "48 on 12 pairs": (12, 4, 8),
    "half left": (8, 6, 24),
    "16 on 4 pairs": (4, 4, 6),
}
SPREADS: Final = {  # standard deviations of pairs, people, a hand on a pair [pins]
    "people": (0.0, 3.0, 0.0),
    "pairs": (3.0, 3.0, 0.0),
    "sides of pairs": (2.0, 3.0, 3.0),
}
FIELDS: Final = {  # entrants, of the group, cut, the group's pins ahead
    "alike": (48, 8, 12, 0.0),
    "ten behind": (48, 8, 12, -10.0),
    "small field": (24, 6, 12, 0.0),
    "ten ahead": (48, 16, 12, 10.0),
}
BASES: Final = (200, 210, 220)
HANDICAP_SEED, SEASONS = 20080, 2000  # as the checks of the governing body's study


def drawn(
    rng: np.random.Generator, roster: tuple[int, int, int], spread: tuple[float, float, float]
) -> tuple[Array, Mask, Ints]:
    """One table of changes without any effect of the hand: change [pins], left, pair, (n,) each."""
    (pairs, each, lefts), (pair_sd, own_sd, side_sd) = roster, spread
    n = pairs * each
    pair = np.repeat(np.arange(pairs), each)
    left = np.zeros(n, bool)
    left[rng.choice(n, lefts, replace=False)] = True
    change = pair_sd * rng.standard_normal(pairs)[pair] + own_sd * rng.standard_normal(n)
    change += side_sd * rng.standard_normal(pairs)[pair] * left
    return change, left, pair


def judged(
    change: Array, left: Mask, pair: Ints, margin: float = MARGIN
) -> tuple[str, tuple[float, float]] | None:
    """Verdict and interval of the left-handers as the command gives them; None: too few pairs."""
    c = people_contrast(change, left, pair)
    if c.pairs < FEWEST_PAIRS:
        return None
    p = difference_p(c.estimate, c.se, c.df), tost_p(c.estimate, c.se, c.df, margin)
    return verdict(c.estimate, *p, margin), t_interval(c.estimate, c.se, c.df)


def league_rates(roster: str, spread: str, runs: int = RUNS) -> list[dict[str, Any]]:
    """Shares of the verdicts, and of intervals that hold the truth, in one kind of league.

    Returns
    -------
    one row a true effect (in margins): studies that could tell, fair, unfair, held
    """
    rng = stream(SEED, Purpose.CHECK, identity=f"verdicts {roster}, {spread}")
    tables = [drawn(rng, ROSTERS[roster], SPREADS[spread]) for _ in range(runs)]
    rows = []
    for times in IN_MARGINS:
        effect = -times * MARGIN
        seen = [judged(change + effect * left, left, pair) for change, left, pair in tables]
        told = [s for s in seen if s is not None]
        row: dict[str, Any] = {
            "roster": roster, "spread": spread, "margins": times, "told": len(told)
        }  # fmt: skip
        for word in ("fair", "unfair"):
            row[word] = round(sum(t[0] == word for t in told) / len(told), 4)
        row["held"] = round(sum(t[1][0] <= effect <= t[1][1] for t in told) / len(told), 4)
        rows.append(row)
    return rows


def tournaments(rng: np.random.Generator, skill: Array, cut: int, played: int) -> Mask:
    """Who makes the cut, (played, n): luck of a tournament, and of a draw that eight share."""
    n = skill.size
    draw = np.repeat(4.0 * rng.standard_normal((played // DRAW, n)), DRAW, axis=0)
    score = skill + draw + 12.0 * rng.standard_normal((played, n))
    made = np.zeros((played, n), bool)
    np.put_along_axis(made, np.argsort(-score, axis=1)[:, :cut], True, axis=1)
    return made


def field_rates(field: str, runs: int = FIELD_RUNS) -> dict[str, Any]:
    """How often the two intervals of a selection ratio hold the truth in one kind of field."""
    n, few, cut, ahead = FIELDS[field]
    rng = stream(SEED, Purpose.CHECK, identity=f"selection {field}")
    mine = np.arange(n) < few
    hand = ["left" if m else "right" for m in mine]

    def people() -> Array:
        return np.asarray(20.0 * rng.standard_normal(n) + ahead * mine)

    rate = np.zeros(2)
    for _ in range(2000):
        made = tournaments(rng, people(), cut, DRAW)
        rate += made[:, mine].mean(), made[:, ~mine].mean()
    truth = rate[0] / rate[1]
    told = here = like = 0
    for _ in range(runs):
        skill = people()
        whole = tournaments(rng, skill, cut, 2048)
        own = whole[:, mine].mean() / whole[:, ~mine].mean()
        row = groups_of({"hand": hand}, tournaments(rng, skill, cut, 128), cut).iloc[0]
        if row["selection_ratio"] is None or not np.isfinite(row["people_low"] or math.nan):
            continue
        told += 1
        here += row["ratio_low"] <= own <= row["ratio_high"]
        like += row["people_low"] <= truth <= row["people_high"]
    return {
        "field": field, "told": told, "this_field": round(float(here / told), 4),
        "people_like_these": round(float(like / told), 4),
    }  # fmt: skip


def base_rates(seasons: int = SEASONS) -> list[dict[str, Any]]:
    """The governing body's two chances from the league model with other bases."""
    data = figures("fairness")
    model, teams = data["handicap_model"], synthetic_teams(data, seasons, HANDICAP_SEED)
    rows = []
    for percent in (90, 100):
        for base in BASES:
            league = LeagueModel(percent, base, model["games"], model["weeks"])
            chance, se = below_median_chance(teams, league, HANDICAP_SEED)
            rows.append(
                {
                    "percent": percent,
                    "base": base,
                    "chance": round(float(chance), 4),
                    "se": round(float(se), 4),
                }
            )
    return rows


def made() -> dict[str, list[dict[str, Any]]]:
    """All that the file holds."""
    return {
        "verdicts": [row for r in ROSTERS for s in SPREADS for row in league_rates(r, s)],
        "selection": [field_rates(f) for f in FIELDS],
        "bases": base_rates(),
    }


def to_toml(rows: dict[str, list[dict[str, Any]]]) -> str:
    """The file of results."""
    lines = [
        f"# Made by ``{COMMAND}``; not to be changed by hand.",
        f'source = "computed by {COMMAND}: {RUNS} invented studies a league, {FIELD_RUNS} fields, '
        f'{SEASONS} seasons, seed {SEED}"',
        f"margin_pins = {MARGIN!r}",
    ]
    for name, table in rows.items():
        for row in table:
            lines += ["", f"[[{name}]]"]
            lines += [
                f"{k} = " + (f'"{v}"' if isinstance(v, str) else repr(v)) for k, v in row.items()
            ]
    return "\n".join(lines) + "\n"


@dataclass(frozen=True)
class Rates:
    """Lowest and highest share over the invented leagues of one true effect, 0 to 1."""

    margins: float
    fair: tuple[float, float]
    unfair: tuple[float, float]
    neither: tuple[float, float]


def verdict_rates() -> list[Rates]:
    """What ``verdict_rates.toml`` holds on verdicts, one entry a true effect, the smallest first."""
    out = []
    rows = figures("verdict_rates")["verdicts"]
    for times in sorted({r["margins"] for r in rows}):
        mine = [r for r in rows if r["margins"] == times]
        fair, unfair = ([float(r[k]) for r in mine] for k in ("fair", "unfair"))
        rest = [1.0 - a - b for a, b in zip(fair, unfair, strict=True)]
        spans = [(min(x), max(x)) for x in (fair, unfair, rest)]
        out.append(Rates(float(times), *spans))
    return out


def coverage(of: str) -> tuple[float, float]:
    """Lowest and highest share of intervals that hold the truth.

    Parameters
    ----------
    of : ``verdicts`` (the 95 % of an effect), ``this_field`` or ``people_like_these`` (the two 95 % of a
        selection ratio)
    """
    data = figures("verdict_rates")
    held = (
        [float(r["held"]) for r in data["verdicts"]]
        if of == "verdicts"
        else [float(r[of]) for r in data["selection"]]
    )
    return min(held), max(held)


def main() -> None:
    """Write the file beside this module."""
    path = Path(__file__).with_name("verdict_rates.toml")
    write_whole(path, to_toml(made()).encode())
    sys.stdout.write(f"{path}\n")


if __name__ == "__main__":
    main()
