"""What ``tune`` returns: winner and runner-up on fresh nights, what was tried, recipes, readings.

Plain values that know how to become tables and JSON; nothing here simulates.
"""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from leaguesim.center.values import Center
from leaguesim.lane.values import Condition
from leaguesim.play.aims import Goal
from leaguesim.study.intervals import told_interval
from leaguesim.study.results import plain
from leaguesim.study.tunepattern import condition_of, readings, toml_text

if TYPE_CHECKING:
    import pandas as pd

SCHEMA = "leaguesim.tune/1"
FIGURES = ("average", "average_se", "kept_happy", "style_spread", "discrimination")
FACTS = ("length_ft", "volume_ml", "ratio_right", "ratio_left", "cost")


@dataclass(frozen=True)
class TuneResult:
    """``study.tune``.

    ``best``: winner first, each with figures on fresh nights, the searched figures, its condition and
    readings.  ``tried``: every trial.  ``differences``: the winner against each of the others by
    bowler, with intervals of people like these.  ``today``: today's condition on the fresh nights.
    """

    center: str
    invented: bool
    currency: str
    goal: Goal
    seed: int
    families: list[str]
    best: list[dict[str, Any]]
    today: dict[str, float]
    tried: "pd.DataFrame"
    differences: list[dict[str, Any]]
    answer: list[str]
    notes: list[str]
    manifest: dict[str, Any] = field(default_factory=dict)

    def summary(self) -> dict[str, Any]:
        """What ``--json`` prints."""
        return {
            "schema": SCHEMA,
            "manifest": plain(self.manifest),
            "goal": plain(asdict(self.goal)),
            "seed": self.seed,
            "answer": self.answer,
            "best": [plain({k: v for k, v in b.items() if k != "condition"}) for b in self.best],
            "today": plain(self.today),
            "differences": plain(self.differences),
            "tried": plain(self.tried.to_dict("records")),
        }

    def to_json(self) -> str:
        """Strict JSON of ``summary``."""
        return json.dumps(self.summary(), indent=1, allow_nan=False)

    def files(self) -> dict[str, str]:
        """The conditions found as TOML files that the center reads again, by name."""
        out = {}
        for b in self.best:
            condition: Condition = b["condition"]
            note = (
                f"Found by leaguesim tune for the goal {self.goal.name}, seed {self.seed}.\n"
                "Copy it into conditions/ of the center. Check it with a lane tape before people bowl."
            )
            out[f"{condition.name}.toml"] = toml_text(condition, note)
        return out


def assemble(
    center: Center,
    goal: Goal,
    seed: int,
    tried: Sequence[dict[str, Any]],
    again: Sequence[dict[str, Any]],
    paired: dict[str, Any],
    families: list[str],
    notes: list[str],
) -> TuneResult:
    """Tables and sentences from what was measured."""
    import pandas as pd

    best = []
    for k, row in enumerate(again):
        name = f"{goal.name}_{k + 1}".replace("-", "_")
        title = f"{goal.title or goal.kind}, {'winner' if k == 0 else f'number {k + 1}'}"
        best.append(
            {
                "name": name,
                "family": row["family"],
                "oils": list(row["oils"]),
                **{key: row[key] for key in (*FACTS, *FIGURES)},
                "searched": {key: row["searched"][key] for key in FIGURES},
                "bands": _band_rows(condition_of(name, title, row["recipe"], goal.machine)),
                "readings": readings(row["lane"]),
                "condition": condition_of(name, title, row["recipe"], goal.machine),
            }
        )
    keys = ("family", "trial", "oils", *FACTS, *FIGURES)
    table = pd.DataFrame([{k: r[k] for k in keys} for r in tried])
    table["oils"] = [" + ".join(o) for o in table["oils"]]
    differences = _differences(best, paired, seed)
    result = TuneResult(
        center.name, center.invented, center.prices.currency, goal, seed, families, best,
        paired["today"], table, differences, [], notes,
    )  # fmt: skip
    result.answer.extend(sentences(result))
    return result


def _band_rows(condition: Condition) -> list[dict[str, Any]]:
    return [{**asdict(b), "shares": dict(b.shares)} for b in condition.bands]


def _differences(
    best: Sequence[dict[str, Any]], paired: dict[str, Any], seed: int
) -> list[dict[str, Any]]:
    """The winner less each other condition, on the same fresh nights, by group of bowlers."""
    rows = []
    others = [b["name"] for b in best[1:]] + ["today"]
    style = np.array(paired["style"])
    for k, other in enumerate(others, start=1):
        gain = paired["averages"][0] - paired["averages"][k]
        happy = paired["happy"][0] - paired["happy"][k]
        for who in ("everybody", *sorted(set(style))):
            members = np.ones(len(style), bool) if who == "everybody" else style == who
            pairs = paired["pair_of"][members]
            low, high = told_interval(gain[members], pairs, seed)
            happy_low, happy_high = told_interval(happy[members], pairs, seed)
            known = happy[members][np.isfinite(happy[members])]
            rows.append(
                {
                    "other": other,
                    "who": who,
                    "bowlers": int(members.sum()),
                    "average": float(gain[members].mean()),
                    "average_low": low,
                    "average_high": high,
                    "kept_happy": float(known.mean()) if known.size else None,
                    "kept_happy_low": happy_low,
                    "kept_happy_high": happy_high,
                }
            )
    return rows


def sentences(result: TuneResult) -> list[str]:
    """The answer in words: what was found, how firm it is, and for kept happy whether blending helped."""
    goal, win = result.goal, result.best[0]
    oils = " + ".join(win["oils"])
    where = f"{win['length_ft']:g} ft, {win['volume_ml']:.1f} mL, ratio {win['ratio_right']:.1f}:1, {oils}"
    half = 1.96 * win["average_se"]
    lines = []
    if goal.kind == "average" and goal.target is not None:
        miss = win["average"] - goal.target
        near = "reaches" if abs(miss) <= 1.5 else "comes nearest to"
        lines.append(
            f"{where} {near} {goal.target:g}: on fresh nights the field averages "
            f"{win['average']:.1f} ({win['average'] - half:.1f} to {win['average'] + half:.1f})."
        )
    elif goal.kind == "kept-happy":
        lines.append(
            f"{where} keeps {100 * win['kept_happy']:.0f} % happy on fresh nights; today's condition "
            f"{100 * result.today['kept_happy']:.0f} %."
        )
    elif goal.kind == "least-spread":
        lines.append(
            f"{where}: the change from today differs between styles by {win['style_spread']:.2f} "
            "pins (standard deviation) on fresh nights."
        )
    else:
        lines.append(
            f"{where}: one game tells bowlers apart with reliability {win['discrimination']:.3f} on "
            f"fresh nights; today's condition {result.today['discrimination']:.3f}."
        )
    if {"blend"} < set(result.families):
        lines += _blending(result)
    return lines


def _blending(result: TuneResult) -> list[str]:
    """Whether the best blend beats the best single oil, for whom and by how much."""
    blend = next(b for b in result.best if b["family"] == "blend")
    single = max((b for b in result.best if b["family"] != "blend"), key=lambda b: b["kept_happy"])
    gain = 100 * (blend["kept_happy"] - single["kept_happy"])
    listed = "; ".join(
        f"{b['family']} ({' + '.join(b['oils'])}) {100 * b['kept_happy']:.0f} %"
        for b in result.best
    )
    lines = [f"Best of each kind, equal budgets, same fresh nights: {listed}."]
    names = {blend["name"], single["name"]}
    rows = [d for d in result.differences if d["other"] in names]
    first = result.best[0]["name"]
    if first not in names or not rows:
        return [*lines, f"Blend less best single oil: {gain:+.0f} points of kept happy."]
    sign = 1.0 if first == blend["name"] else -1.0
    whole = next(d for d in rows if d["who"] == "everybody")
    ends = sorted(100 * sign * x for x in (whole["kept_happy_low"], whole["kept_happy_high"]))
    firm = "helped" if ends[0] > 0 else "hurt" if ends[1] < 0 else "is not shown to help or hurt"
    lines.append(
        f"Blending {firm}: {100 * sign * whole['kept_happy']:+.0f} points of kept happy against the "
        f"best single oil, people like these {ends[0]:+.0f} to {ends[1]:+.0f}."
    )
    moved = [
        f"{d['who']} {100 * sign * d['kept_happy']:+.0f} points, {sign * d['average']:+.1f} pins"
        for d in rows
        if d["who"] != "everybody" and d["kept_happy"]
    ]
    if moved:
        lines.append("By style, too few of each to be sure: " + "; ".join(moved) + ".")
    return lines
