"""Who loses more than the others when a condition comes: effects, their tests, and verdicts in words.

The raw gap between groups is no effect: only the difference of their paired changes is.  Works on the
table of paired differences, so nights never enter a p-value.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from leaguesim import tables
from leaguesim.study.equivalence import (
    Contrast,
    difference_p,
    holm,
    mcnemar,
    newcombe,
    people_contrast,
    people_mean,
    smallest_caught,
    t_interval,
    tost_p,
)
from leaguesim.study.intervals import FEWEST_PAIRS

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

LEVEL = 0.05
FAIR, UNFAIR, NOT_SHOWN, TOO_FEW = "fair", "unfair", "not shown", "too few"
TWIN = "same person, other hand"


@dataclass(frozen=True)
class Asked:
    """One question before its answer: a group against the others, or the mean of twins' gaps."""

    kind: str
    group: str
    others: str
    contrast: Contrast
    bowlers: int
    raw_gap: float
    roster_se: float
    level: bool = False  # a gap under one condition, not a change


def group_questions(
    kinds: Sequence[str],
    names: Sequence[str],
    members: Mask,
    change: Array,
    change_se: Array,
    average: Array,
    pair_of: NDArray[np.int64],
) -> list[Asked]:
    """Every style and average band against the others, and left hand against right."""
    asked = []
    for kind, name, who in zip(kinds, names, members, strict=True):
        if kind == "league" or (kind == "hand" and name == "right" and not who.all()):
            continue
        contrast = people_contrast(change, who, pair_of)
        raw, luck = math.nan, math.nan
        if 0 < who.sum() < who.size:
            raw = float(average[who].mean() - average[~who].mean())
            luck = math.sqrt(
                (change_se[who] ** 2).sum() / who.sum() ** 2
                + (change_se[~who] ** 2).sum() / (~who).sum() ** 2
            )
        group, others = _called(kind, name)
        asked.append(Asked(kind, group, others, contrast, int(who.sum()), raw, luck))
    return asked


def _called(kind: str, name: str) -> tuple[str, str]:
    if kind == "hand":
        return f"{name}-handers", "right-handers" if name == "left" else "left-handers"
    return name, "the others"


def twin_questions(
    gap: Array, gap_against: Array | None, pair_of: NDArray[np.int64]
) -> list[Asked]:
    """The same person's left less right, under the condition and as it changes."""
    n, raw = int(gap.size), float(gap.mean())
    rows = [
        Asked(
            TWIN,
            "the left hand",
            "the right hand",
            people_mean(gap, pair_of),
            n,
            raw,
            math.nan,
            True,
        )
    ]
    if gap_against is not None:
        contrast = people_mean(gap - gap_against, pair_of)
        rows.append(
            Asked(
                TWIN, "the left hand, as it changes", "the right hand", contrast, n, raw, math.nan
            )
        )
    return rows


def effects_table(asked: Sequence[Asked], margin: float) -> Any:
    """Tests and verdicts of all questions (tables.EFFECTS); each kind is a family of its own."""
    known = [q.contrast if q.contrast.pairs >= FEWEST_PAIRS else None for q in asked]
    difference = np.full(len(asked), np.nan)
    equivalence = np.full(len(asked), np.nan)
    smallest = np.full(len(asked), np.nan)
    for kind in {q.kind for q in asked}:
        rows = [i for i, q in enumerate(asked) if q.kind == kind and known[i] is not None]
        told = [asked[i].contrast for i in rows]
        difference[rows] = holm([difference_p(x.estimate, x.se, x.df) for x in told])
        equivalence[rows] = holm([tost_p(x.estimate, x.se, x.df, margin) for x in told])
        smallest[rows] = [smallest_caught(x.se, x.df, margin, len(rows)) for x in told]
    data: dict[str, list[Any]] = {k: [] for k in tables.EFFECTS}
    for i, q in enumerate(asked):
        c = known[i]
        low, high = (math.nan, math.nan) if c is None else t_interval(c.estimate, c.se, c.df)
        word = TOO_FEW if c is None else verdict(c.estimate, difference[i], equivalence[i], margin)
        values = (
            q.kind, q.group, q.others, q.bowlers, q.contrast.pairs, q.raw_gap, q.contrast.estimate,
            q.roster_se, low, high, smallest[i], difference[i], equivalence[i], word,
            sentence(q, word, (low, high), margin, shown=bool(difference[i] <= LEVEL)),
        )  # fmt: skip
        for key, value in zip(data, values, strict=True):
            data[key].append(value)
    return tables.frame(tables.EFFECTS, data)


def verdict(estimate: float, p_difference: float, p_equivalence: float, margin: float) -> str:
    """fair: shown to lie within the margin; unfair: shown to differ, and by the margin or more.

    >>> verdict(-9.0, 0.01, 0.98, 3.0), verdict(-2.0, 0.01, 0.3, 3.0)
    ('unfair', 'not shown')
    """
    if p_equivalence <= LEVEL:
        return FAIR
    if p_difference <= LEVEL and abs(estimate) >= margin:
        return UNFAIR
    return NOT_SHOWN


def sentence(
    q: Asked, word: str, interval: tuple[float, float], margin: float, *, shown: bool = False
) -> str:
    """The verdict as people read it, always with its interval and margin.

    ``shown``: that there is a difference at all is shown, whatever its size.
    """
    if word == TOO_FEW:
        if q.bowlers == 0 or math.isnan(q.contrast.estimate):
            return f"{_full(q)}: nobody to compare with."
        return (
            f"{_full(q)}: {q.bowlers} bowler{'s' if q.bowlers != 1 else ''} on "
            f"{q.contrast.pairs} pair{'s' if q.contrast.pairs != 1 else ''} of lanes are too few "
            f"to tell (at least {FEWEST_PAIRS} pairs are needed)."
        ).replace("1 bowler on 1 pair of lanes are", "1 bowler on 1 pair of lanes is")
    about = same_people(q.group) if q.kind == TWIN else _full(q)
    low, high = interval
    what = "difference" if q.level else "difference of changes"
    effect = f"{what} {_pins(q.contrast.estimate)} pins, 95 % from {_pins(low)} to {_pins(high)}"
    if word == FAIR:
        return f"{about}: fair within {margin:g} pins of {q.others} ({effect})."
    if word == UNFAIR:
        worse = loser(_full(q), q.others, q.contrast.estimate)
        return f"{about}: unfair toward {worse} ({effect})."
    if shown:
        return (
            f"{about}: a difference is shown, but neither that it stays within {margin:g} pins nor that it "
            f"is as large ({effect})."
        )
    return f"{about}: neither fair within {margin:g} pins nor unfair is shown ({effect})."


def _full(q: Asked) -> str:
    return f"averages {q.group}" if q.kind == "average band" else q.group


def same_people(group: str) -> str:
    """A group of twins as a sentence names it.

    >>> same_people("the left hand, as it changes")
    'the left hand of the same people, as it changes'
    """
    name, comma, rest = group.partition(",")
    return f"{name} of the same people{comma}{rest}"


def loser(group: str, others: str, effect: float) -> str:
    """Who comes off worse."""
    return group.removesuffix(", as it changes") if effect < 0.0 else others


def _pins(value: float) -> str:
    shown = f"{value:+.1f}"
    return ("0.0" if float(shown) == 0.0 else shown).replace("-", "−")


def losers_table(
    kinds: Sequence[str],
    names: Sequence[str],
    members: Mask,
    before: Array,
    after: Array,
    margin: float,
) -> Any:
    """Who loses more than the margin, and who leaves or enters the upper half (tables.LOSERS).

    Shares compare bowlers as if independent; the interval is Newcombe's, the test McNemar's.
    """
    data: dict[str, list[Any]] = {k: [] for k in tables.LOSERS}
    lose = after - before < -margin
    upper, later = _upper_half(before), _upper_half(after)
    for kind, name, who in zip(kinds, names, members, strict=True):
        if kind == "league":
            continue
        fell, rose = int((who & upper & ~later).sum()), int((who & ~upper & later).sum())
        low, high = math.nan, math.nan
        if 0 < who.sum() < who.size:
            counts = int(lose[who].sum()), int(who.sum()), int(lose[~who].sum()), int((~who).sum())
            low, high = newcombe(*counts)
        values = (
            kind, name, int(who.sum()), int(lose[who].sum()), int(lose[~who].sum()), low, high,
            fell, rose, mcnemar(fell, rose)[1],
        )  # fmt: skip
        for key, value in zip(data, values, strict=True):
            data[key].append(value)
    return tables.frame(tables.LOSERS, data)


def _upper_half(average: Array) -> Mask:
    order = average.argsort(kind="stable").argsort(kind="stable")
    return np.asarray(order >= average.size - average.size // 2)
