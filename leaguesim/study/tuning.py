"""``tune``: the condition that serves a goal best within limits, found, measured again and written down.

The search and the last measuring never share a night: what looked best by luck is told apart from what
is.  It does not weigh what is not known about oil, lane and bowlers.
"""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from hashlib import sha256
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim.center.values import Center
from leaguesim.errors import InputError
from leaguesim.lane.lane import Lane
from leaguesim.play.aims import Goal
from leaguesim.play.earlier import start_of
from leaguesim.play.setting import Setting, make_setting
from leaguesim.run.rounds import Plan, Progress, play_nights, quiet
from leaguesim.run.totals import SCALE, Totals
from leaguesim.streams import check_seed, new_seed
from leaguesim.study.happy import band_of, judge, measures, norms
from leaguesim.study.notes import study_notes
from leaguesim.study.prepare import Ready, ready
from leaguesim.study.tunepattern import Recipe, bands_of, condition_of, facts
from leaguesim.study.tuneresult import TuneResult, assemble
from leaguesim.study.tunesearch import Space, search

Array = NDArray[np.float64]

FRESH_REPLICATE = 3_000_000  # nights of the last measuring; the search never sees them
HIT_PINS = 1.5  # a re-measured average within this of the target reaches it
STATE = "leaguesim.tune-state/1"


@dataclass(frozen=True)
class Baseline:
    """What candidates are held against: everybody's reference and usual measures under today's."""

    reference: Array
    usual: Any
    styles: tuple[str, ...]
    members: NDArray[np.bool_]
    today: Array


def tune(
    center: Center,
    *,
    goal: Goal | str,
    target: float | None = None,
    seed: int | None = None,
    workers: int | None = None,
    progress: Progress = quiet,
    state: Path | None = None,
) -> TuneResult:
    """Find the condition that serves a goal best within its limits.

    Parameters
    ----------
    goal : a ``Goal``, a file of goals/, or average, kept-happy, least-spread, discrimination
    target : average wanted, if the goal does not say it [pins]
    state : a file kept up to date while searching; a search that was stopped goes on from it

    Raises
    ------
    InputError : unknown goal, limits that leave nothing, or a target that no condition reaches
    """
    from leaguesim.center.aimfiles import find_goal

    aim = find_goal(center, goal, target) if isinstance(goal, str) else goal
    seed = new_seed() if seed is None else check_seed(seed)
    families = families_of(center, aim)
    memory = Memory(state, fingerprint(center, aim, seed))
    with ready(center, seed, workers=workers, progress=progress) as made:
        base = _baseline(made, aim)
        best: list[dict[str, Any]] = []
        tried: list[dict[str, Any]] = []
        budget = max(8, aim.candidates // len(families))
        for family, oils in families.items():
            space = Space(aim, oils)

            def measure(u: Array, k: int, family: str = family, space: Space = space) -> Any:
                key = f"{family} {k}"
                if key not in memory.known:
                    row = _trial(made, base, aim, space.recipe(u), f"{family} {k + 1}")
                    memory.keep(key, {"family": family, "trial": k + 1, **row})
                row = memory.known[key]
                tried.append(row)
                lead = min(tried, key=lambda r: cost(aim, r))
                progress(len(tried), budget * len(families), f"searching; best {told(aim, lead)}")
                return row

            rows = search(
                space, center.conditioners, seed, family, budget, measure,
                lambda r: cost(aim, r),
            )  # fmt: skip
            order = sorted(rows, key=lambda r: (cost(aim, r), r["trial"]))
            best += order[: 1 if len(families) > 1 else 2]
        progress(0, 0, "measuring the best again on fresh nights")
        best.sort(key=lambda r: cost(aim, r))
        again, paired = _again(made, base, aim, best)
        _reach(aim, again, tried)
        notes = study_notes(made, [center.today])
        return assemble(center, aim, seed, tried, again, paired, list(families), notes)


def families_of(center: Center, goal: Goal) -> dict[str, list[tuple[str, ...]]]:
    """Which oils each search may lay.

    Kept happy without conditioners of its own is asked of three: one plain oil, one shear-thinning
    oil, a blend of two; every family has the same budget.
    """
    names = list(goal.conditioners or sorted(center.conditioners))
    pairs: list[tuple[str, ...]] = list(combinations(names, 2))
    if goal.kind == "kept-happy" and not goal.conditioners:
        plain: list[tuple[str, ...]] = [
            (n,) for n in names if center.conditioners[n].base_share >= 1.0
        ]
        thin: list[tuple[str, ...]] = [
            (n,) for n in names if center.conditioners[n].base_share < 1.0
        ]
        found: dict[str, list[tuple[str, ...]]] = {
            "plain": plain,
            "shear-thinning": thin,
            "blend": pairs,
        }
        return {k: v for k, v in found.items() if v}
    if goal.tanks == 2:
        if not pairs:
            raise InputError(f"goal {goal.name}: two tanks need two conditioners or more")
        return {"blend": pairs}
    return {"one tank": [(n,) for n in names]}


def fingerprint(center: Center, goal: Goal, seed: int) -> str:
    """What a kept search belongs to: files, goal, seed and version."""
    from leaguesim import __version__

    ours = {k: v for k, v in center.file_hashes.items() if not k.startswith(("goals", "tourn"))}
    text = json.dumps([__version__, ours, asdict(goal), seed], sort_keys=True)
    return sha256(text.encode()).hexdigest()


class Memory:
    """Trials measured so far, kept in a file if there is one; each write is whole."""

    def __init__(self, path: Path | None, key: str) -> None:
        self.path, self.key = path, key
        self.known: dict[str, dict[str, Any]] = {}
        if path is None or not path.is_file():
            return
        try:
            kept = json.loads(path.read_text(encoding="utf-8"))
            same = kept["schema"] == STATE and kept["key"] == key
            self.known = dict(kept["trials"]) if same else {}
        except (OSError, ValueError, KeyError, TypeError):
            self.known = {}  # an unreadable state is begun again

    def keep(self, name: str, row: dict[str, Any]) -> None:
        """Remember one trial; what is used is what a resumed search reads back."""
        self.known[name] = json.loads(json.dumps(row))
        if self.path is None:
            return
        self.path.parent.mkdir(parents=True, exist_ok=True)
        whole = self.path.with_suffix(".part")
        text = json.dumps({"schema": STATE, "key": self.key, "trials": self.known})
        whole.write_text(text, encoding="utf-8")
        whole.replace(self.path)


def cost(goal: Goal, row: dict[str, Any]) -> float:
    """What the search makes small."""
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


def _baseline(made: Ready, goal: Goal) -> Baseline:
    people = made.order
    styles = tuple(sorted({b.style for b in people}))
    members = np.array([[b.style == s for b in people] for s in styles])
    totals = _play(made, [made.setting(made.center.today)], goal.fresh_nights, 0)
    seen = measures(totals, 0)
    given = np.array([b.average if b.average is not None else np.nan for b in people])
    reference = np.where(np.isnan(given), seen.average, given)
    usual = norms(seen, band_of(reference), made.center.thresholds)
    return Baseline(reference, usual, styles, members, seen.average)


def _play(made: Ready, settings: Sequence[Setting], nights: int, replicate: int) -> Totals:
    n = len(made.order)
    plan = Plan(
        settings, made.pairs, made.pins, made.center.league, np.ones((1, n), bool), made.seed,
        replicate=replicate,
    )  # fmt: skip
    return play_nights(plan, 0, nights, made.workers)


def _setting(made: Ready, recipe: Recipe, name: str, goal: Goal) -> Setting:
    center = made.center
    condition = condition_of(name, name, recipe, goal.machine)
    lane = Lane.from_condition(
        condition, center.conditioners, surface=made.surface,
        temperature_c=center.temperature_c, constants=center.friction,
    )  # fmt: skip
    start = start_of(lane, None, center.styles, center.balls, made.pins, made.seed)
    return make_setting(name, lane, start, made.pairs, made.pins, made.pool.map)


def _trial(made: Ready, base: Baseline, goal: Goal, recipe: Recipe, name: str) -> dict[str, Any]:
    totals = _play(made, [_setting(made, recipe, name, goal)], goal.nights, 0)
    found = facts(bands_of(recipe, goal.machine), made.center.conditioners)
    asked = {f"asked_{k}": v for k, v in asdict(recipe).items()}
    return {**asked, "oils": recipe.oils, **found, **figures(totals, 0, base, made)[0]}


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


def _again(
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
    out, averages, happy = [], [], []
    for c in range(len(settings)):
        row, average, verdict = figures(totals, c, base, made)
        averages.append(average)
        happy.append(verdict)
        if c < len(best):
            lane = settings[c].lane
            out.append({**best[c], **row, "searched": best[c], "recipe": recipes[c], "lane": lane})
    people = made.order
    pair_of = np.repeat(np.arange(len(made.pairs)), [len(p.bowlers) for p in made.pairs])
    return out, {
        "averages": np.array(averages),
        "happy": np.array(happy),
        "style": [b.style for b in people],
        "hand": [b.hand for b in people],
        "pair_of": pair_of,
        "today": figures(totals, len(best), base, made)[0],
    }


def _recipe(row: dict[str, Any]) -> Recipe:
    shares = tuple(row["asked_shares"])
    return Recipe(
        row["asked_length_ft"], row["asked_volume_ml"], row["asked_ratio"], row["asked_taper"],
        tuple(row["oils"]), (shares[0], shares[1], shares[2]),
    )  # fmt: skip


def _reach(goal: Goal, again: Sequence[dict[str, Any]], tried: Sequence[dict[str, Any]]) -> None:
    """Refuse a target that nothing within the limits comes near."""
    if goal.kind != "average" or goal.target is None:
        return
    if abs(again[0]["average"] - goal.target) <= HIT_PINS:
        return
    low, high = min(r["average"] for r in tried), max(r["average"] for r in tried)
    if low <= goal.target <= high:
        return  # there is one, the search only did not come close enough: the page says so
    raise InputError(
        f"goal {goal.name}: no condition within the limits averages {goal.target:g}: of "
        f"{len(tried)} tried the averages run from {low:.1f} to {high:.1f}, and the nearest gives "
        f"{again[0]['average']:.1f} on fresh nights. Choose a target between, or widen the limits "
        "(lengths, volumes, ratios, conditioners)"
    )
