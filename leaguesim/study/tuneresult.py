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
HIT_PINS = 1.5  # a re-measured average within this of the target reaches it
FIGURES = ("average", "average_se", "kept_happy", "style_spread", "discrimination")
STOPS = ("stops", "stops_se", "stops_cause")  # where the goal limits them
FACTS = ("length_ft", "volume_ml", "ratio_right", "ratio_left", "cost")


@dataclass(frozen=True)
class TuneResult:
    """``study.tune``.

    ``best``: winner first, each with figures on fresh nights, the searched figures, its condition and
    readings.  ``tried``: every trial.  ``differences``: the winner against each of the others by
    group of bowlers, with intervals of people like these; ``blending``: the best blend less the best
    single oil of each kind, if any.  ``today``: today's condition on the fresh nights.
    """

    center: str
    invented: bool
    currency: str
    goal: Goal
    seed: int
    families: list[str]
    blending: list[dict[str, Any]]
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
            "blending": plain(self.blending),
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
        condition = condition_of(name, title, row["recipe"], goal.machine)
        best.append(
            {
                "name": name,
                "family": row["family"],
                "oils": list(row["oils"]),
                **{key: row[key] for key in (*FACTS, *FIGURES)},
                **{key: row[key] for key in STOPS if key in row},
                "searched": {key: row["searched"][key] for key in FIGURES},
                "bands": _band_rows(condition),
                "readings": readings(row["lane"], condition.bands),
                "condition": condition,
            }
        )
    limited = goal.limits.stops_high is not None
    keys = ("family", "trial", "oils", *FACTS, *FIGURES, *(STOPS if limited else ()))
    table = pd.DataFrame([{k: r[k] for k in keys} for r in tried])
    table["oils"] = [" + ".join(o) for o in table["oils"]]
    differences = _differences(best, paired, seed)
    result = TuneResult(
        center.name, center.invented, center.prices.currency, goal, seed, families,
        _blend_less_single(best, paired, seed), best,
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
    others = [b["name"] for b in best[1:]] + ["today"]
    return [
        {"other": other, **row}
        for k, other in enumerate(others, start=1)
        for row in _difference(paired, 0, k, seed)
    ]


def _blend_less_single(
    best: Sequence[dict[str, Any]], paired: dict[str, Any], seed: int
) -> list[dict[str, Any]]:
    """The best blend less the best oil of each other kind, by group of bowlers.

    The one that the search thought best comes first.
    """
    blend = next((k for k, b in enumerate(best) if b["family"] == "blend"), None)
    if blend is None:
        return []
    return [
        {"blend": best[blend]["name"], "single": b["name"], **row}
        for k, b in enumerate(best)
        if b["family"] != "blend"
        for row in _difference(paired, blend, k, seed)
    ]


def _difference(paired: dict[str, Any], one: int, other: int, seed: int) -> list[dict[str, Any]]:
    """One condition less another: everybody, then by style; 95 % of people like these."""
    style = np.array(paired["style"])
    gain = paired["averages"][one] - paired["averages"][other]
    happy = paired["happy"][one] - paired["happy"][other]
    rows = []
    for who in ("everybody", *sorted(set(style))):
        members = np.ones(len(style), bool) if who == "everybody" else style == who
        pairs = paired["pair_of"][members]
        low, high = told_interval(gain[members], pairs, seed)
        happy_low, happy_high = told_interval(happy[members], pairs, seed)
        known = happy[members][np.isfinite(happy[members])]
        rows.append(
            {
                "who": str(who),
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
    where = (
        f"{oils}, {win['length_ft']:g} ft, {win['volume_ml']:.1f} mL, crosswise ratio "
        f"{max(win['ratio_right'], win['ratio_left']):.1f}:1 at its largest from 10 to 30 ft"
    )
    half = 1.96 * win["average_se"]
    lines = []
    if goal.kind == "average" and goal.target is not None:
        miss = win["average"] - goal.target
        near = "reaches" if abs(miss) <= HIT_PINS else "comes nearest to"
        lines.append(
            f"On fresh nights the field averages {win['average']:.1f} ({win['average'] - half:.1f} to "
            f"{win['average'] + half:.1f}), which {near} {goal.target:g}: {where}."
        )
    elif goal.kind == "kept-happy":
        lines.append(_happier(result, where))
        other = max(result.best, key=lambda b: b["kept_happy"])
        if other["kept_happy"] > win["kept_happy"]:
            lines.append(
                f"The winner of the search is told; on the fresh nights {other['name']} "
                f"({' + '.join(other['oils'])}) did better, {100 * other['kept_happy']:.0f} %: see the intervals."
            )
    elif goal.kind == "least-spread":
        lines.append(
            f"The change from today differs between styles by {win['style_spread']:.2f} pins (standard "
            f"deviation) on fresh nights: {where}."
        )
    else:
        lines.append(
            f"One game tells bowlers apart with reliability {win['discrimination']:.3f} on fresh nights, on "
            f"today's condition with {result.today['discrimination']:.3f}: {where}."
        )
    if goal.limits.stops_high is not None:
        lines.append(_stops(win, goal.limits.stops_high))
        there = {b["family"] for b in result.best}
        lines += [
            f"No condition tried of the kind {family} keeps to the limit on machine stops."
            for family in result.families
            if family not in there
        ]
    if result.blending:
        lines += _blending(result)
    return lines


def _happier(result: TuneResult, where: str) -> str:
    """Whether the winner is shown to keep more bowlers happy than today's condition, and what it is."""
    whole = next(d for d in result.differences if d["other"] == "today" and d["who"] == "everybody")
    low, high = whole["kept_happy_low"], whole["kept_happy_high"]
    shares = (
        f"keeps {100 * result.best[0]['kept_happy']:.0f} % of bowlers happy on fresh nights, today's "
        f"condition {100 * result.today['kept_happy']:.0f} %"
    )
    if _firm(low, high) and low > 0.0:
        return f"The best of the search is shown to serve more bowlers than today's: it {shares}: {where}."
    told = "serves" if _firm(low, high) else "is shown to serve"
    return (
        f"Nothing that was tried {told} more bowlers than today's condition. The best of the search {shares}: "
        f"{where}."
    )


def _stops(win: dict[str, Any], high: float) -> str:
    """Whether the winner keeps to the limit on machine stops on nights that the search never saw."""
    half = 1.96 * win["stops_se"]
    low, top = win["stops"] - half, win["stops"] + half
    word = "within" if top <= high else "over" if low > high else "not surely within"
    return (
        f"Machine stops: at most an index of {win['stops']:.0f} ({low:.0f} to {top:.0f}; "
        f"{win['stops_cause']}; today's condition is 100), {word} the limit of {high:g}."
    )


def _blending(result: TuneResult) -> list[str]:
    """Whether the best blend beats the best single oil, for whom and by how much."""
    listed = "; ".join(
        f"{b['family']} ({' + '.join(b['oils'])}) {100 * b['kept_happy']:.0f} %"
        for b in result.best
    )
    named = {b["name"]: b for b in result.best}
    first = result.blending[0]["single"]
    whole, *styles = [d for d in result.blending if d["single"] == first]
    ends = whole["kept_happy_low"], whole["kept_happy_high"]
    if _firm(*ends):
        firm = "helped" if ends[0] > 0 else "did not help"
        span = f" ({_points(*ends)} for people like these)"
    elif np.isfinite(ends).all():
        firm = "is not shown to help or hurt"
        span = f" ({_points(*ends)} for people like these)"
    else:
        firm, span = "can't be told to help or hurt", " (too few pairs of lanes for an interval)"
    lines = [
        f"Best of each kind, equal budgets, same fresh nights: {listed}.",
        f"Blending {firm}: {100 * (whole['kept_happy'] or 0.0):+.0f} points of kept happy against the "
        f"best single oil of the search ({' + '.join(named[first]['oils'])}){span}, {whole['average']:+.1f} pins "
        f"({_span(whole['average_low'], whole['average_high'])}).",
    ]
    if firm == "did not help":
        lines.append(
            "Laying one oil alone is among the blends, so a blend can always do as well: with the same "
            "budget over more free numbers the search found none that does, which is not that there is none."
        )
    lines += [
        f"Against the best {named[d['single']]['family']} oil ({' + '.join(named[d['single']]['oils'])}): "
        f"{100 * (d['kept_happy'] or 0.0):+.0f} points ({_points(d['kept_happy_low'], d['kept_happy_high'])}), "
        f"{d['average']:+.1f} pins ({_span(d['average_low'], d['average_high'])})."
        for d in result.blending
        if d["single"] != first and d["who"] == whole["who"]
    ]
    return [*lines, *_for_whom(styles)]


def _points(low: float, high: float) -> str:
    """An interval of shares in points."""
    return (
        f"{100 * low:+.0f} to {100 * high:+.0f}"
        if np.isfinite([low, high]).all()
        else "too few to tell"
    )


def _span(low: float, high: float) -> str:
    return f"{low:+.1f} to {high:+.1f}" if np.isfinite([low, high]).all() else "too few to tell"


def _for_whom(styles: Sequence[dict[str, Any]]) -> list[str]:
    """Styles that the blend moves beyond their own interval, in kept happy or pins, and those it does not."""
    moved, rest = [], []
    for d in styles:
        happy, pins = ((d[f"{key}_low"], d[f"{key}_high"]) for key in ("kept_happy", "average"))
        who, told = d["who"].replace("_", "-"), []
        if _firm(*happy):
            told.append(f"{100 * d['kept_happy']:+.0f} points ({_points(*happy)})")
        if _firm(*pins):
            told.append(f"{d['average']:+.1f} pins ({_span(*pins)})")
        if told:
            moved.append(f"{who} {', '.join(told)}")
        else:
            rest.append(who)
    lines = []
    if moved:
        lines.append(
            "By style, kept happy and average where an interval leaves out zero, each on its own "
            f"({len(styles)} looked at): {'; '.join(moved)}."
        )
    if rest:
        lines.append(f"No difference is shown, or there are too few to tell: {', '.join(rest)}.")
    return lines


def _firm(low: float, high: float) -> bool:
    """Whether an interval is known and leaves out zero."""
    return bool(np.isfinite([low, high]).all()) and (low > 0.0 or high < 0.0)
