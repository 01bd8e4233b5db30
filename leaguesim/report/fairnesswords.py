"""The sentences of the fairness page that explain: method, how often verdicts err, handicap, what could be shown.

Does not compute results; rates of error and the handicap league's bases are figures of ``leaguesim.outside``.
"""

from typing import TYPE_CHECKING, Any

from leaguesim.outside.figures import figures
from leaguesim.outside.verdict_rates import FIELDS, RUNS, SPREADS, Rates, coverage, verdict_rates
from leaguesim.report.fairnesscharts import short
from leaguesim.report.markup import Markup, join, paragraphs, table
from leaguesim.report.texts import TWO_INTERVALS, number, people, percent, signed

if TYPE_CHECKING:
    from leaguesim.study.fairness_result import FairnessResult

OF_MARGIN = {
    0.0: "nothing at all", 0.5: "half the margin", 1.0: "exactly the margin", 2.0: "twice the margin",
}  # fmt: skip


def method(result: "FairnessResult") -> Markup:
    """How the figures were made, and how often their verdicts err."""
    lines = [
        f"The same people bowl the same nights with the same luck under both conditions: "
        f"{people(result.nights, 'night')} of {people(result.games, 'game')}, seed {result.seed}. It "
        f"stopped because {result.stopped_because}.",
        f"Fair: two one-sided tests show that the effect lies within {result.limits.margin_pins:g} "
        "pins, a margin set in center.toml before anybody looked. Unfair: a difference is shown and it "
        "is as large as the margin or larger. Anything else is not shown. Both tests are adjusted "
        "(Holm) for the number of groups within each kind; style, hand, average band and twins are "
        "four kinds. A group needs four pairs of lanes. Intervals are not adjusted: one that leaves out "
        "zero may stand beside “not shown”.",
        "Standard errors come from leaving out one pair of lanes at a time: people are the sample, "
        "nights are not, so playing more nights does not make a verdict.",
        TWO_INTERVALS,
        error_words(),
    ]
    return join([paragraphs(lines), error_table(verdict_rates())])


def ends(span: tuple[float, float], digits: int = 0) -> str:
    """Two shares as per cent.

    >>> ends((0.0, 0.042)), ends((0.5, 0.5))
    ('0 to 4 %', '50 %')
    """
    low, high = (number(100.0 * x, digits) for x in span)
    return f"{low} %" if low == high else f"{low} to {high} %"


def error_words() -> str:
    """How often a verdict is wrong, in words."""
    told = {r.margins: r for r in verdict_rates()}
    none, half, whole = told[0.0], told[0.5], told[1.0]
    kinds = len(figures("verdict_rates")["verdicts"]) // len(told)
    sd = SPREADS["people"][1]
    return (
        f"How often verdicts err was measured on {kinds} kinds of invented leagues of 16 to 64 bowlers, "
        f"{RUNS:,} studies each, with one group of a kind, a margin of 3 pins and people whose changes "
        f"differ by {sd:g} pins and more. Where nothing differs, unfair was said in {ends(none.unfair, 1)} "
        f"of studies. A true effect of exactly the margin was called fair in {ends(whole.fair, 1)}, and unfair "
        f"in {ends(whole.unfair)}; one of half the margin was called unfair in {ends(half.unfair)}. So unfair says "
        "that a difference is there and that our best guess of it reaches the margin, not that the true one "
        f"does; and not shown clears nobody. The 95 % intervals held the true effect in "
        f"{ends(coverage('verdicts'))}. More groups of a kind make both verdicts rarer."
    )


def error_table(rates: list[Rates]) -> Markup:
    """Verdicts by what is true."""
    rows = [
        [OF_MARGIN.get(r.margins, f"{r.margins:g} margins"), ends(r.fair), ends(r.unfair), ends(r.neither)]
        for r in rates
    ]  # fmt: skip
    head = ["true effect", "verdict fair", "verdict unfair", "verdict not shown"]
    caption = "Share of studies that come to a verdict, lowest and highest of the invented leagues"
    return table(caption, head, rows)


def selection_words() -> str:
    """How well the two intervals of a selection ratio cover."""
    return (
        f"In {len(FIELDS)} kinds of simulated fields the first held the truth in {ends(coverage('this_field'))} "
        f"and the second in {ends(coverage('people_like_these'))} of cases, where 95 % is meant."
    )


def handicap_answer(result: "FairnessResult") -> str:
    """What the formula does and what the condition does, in a sentence."""
    if result.handicap is None:
        return result.handicap_words
    rows = result.handicap.to_dict("records")
    own = next(r for r in rows if r["percent"] == result.handicap_percent)
    before, after = percent(own["before"]), percent(own["settled"])
    noise = abs(own["condition"]) <= 3.0 * own["se"]
    moved = (
        f"no more than the luck of the seasons played (it was {before})"
        if noise
        else f"{signed(100 * own['condition'])} points from {before}, which is the condition's doing"
    )
    return (
        f"With a handicap of {own['percent']} % a team from the lower half of the averages wins the league in "
        f"{after} of seasons on the new condition, once averages are made on it: {moved}. With all teams equal it "
        f"would be {percent(result.even_chance)}; the rest of the way there is the formula's doing."
    )


def base_words(result: "FairnessResult") -> str:
    """How much hangs on the base of the handicap here, and in the model of the published study."""
    made = result.handicap
    if made is None:
        return ""
    steps = [
        f"{_points(made[column] - made['before'])}" for column in ("base_lower", "base_higher")
    ]
    return (
        f"The base matters: ten pins lower moves these chances by {steps[0]}, ten higher by {steps[1]}. "
        + study_words()
    )


def study_words() -> str:
    """The governing body's study against the league model, base by base."""
    data = figures("fairness")
    study, model = data["handicap"], data["handicap_model"]
    rows = figures("verdict_rates")["bases"]
    told = []
    for at in sorted({r["percent"] for r in rows}):
        meant = study[f"below_median_at_{at}"]
        chances = ", ".join(
            f"{_percent(r['chance'])} with a base of {r['base']}" for r in rows if r["percent"] == at
        )  # fmt: skip
        fit = [
            str(r["base"])
            for r in rows
            if r["percent"] == at and abs(r["chance"] - meant) <= study["tolerance"]
        ]
        within = (
            f"within {100 * study['tolerance']:g} points at {' and '.join(fit) or 'none of them'}"
        )
        told.append(
            f"at {at} % the study found {_percent(meant)}, our league model {chances} ({within})"
        )
    return (
        "The league model was held against the governing body's handicap study of 2008 (read in a secondary "
        f"report, which names no base): {'; '.join(told)}. Our model: {model['teams']} teams of "
        f"{model['size']}, averages {model['average_mean']:g} with a standard deviation of "
        f"{model['average_sd']:g}, {model['games']} games, {model['weeks']} weeks, all assumed. So a chance "
        "here is good to a few points at best."
    )


def _percent(share: float) -> str:
    return percent(share)


def _points(moved: Any) -> str:
    """The least and the largest move of a column of shares, in points."""
    low, high = (signed(100.0 * float(x)) for x in (moved.min(), moved.max()))
    return f"{low} points" if low == high else f"{low} to {high} points"


def smallest_words(result: "FairnessResult") -> str:
    """What the run could have shown: the best and the worst told question, and the hands."""
    e = result.effects[result.effects["smallest"].notna()]
    if len(e) == 0:
        return "No question had enough pairs of lanes to show anything."
    rows = e.sort_values("smallest", kind="stable").to_dict("records")
    first, last = rows[0], rows[-1]
    told = f"{number(first['smallest'])} pins ({short(first)}) to {number(last['smallest'])} ({short(last)})"
    hands = e[e["kind"] == "hand"]
    more = "".join(f"; {short(r)}: {number(r['smallest'])}" for r in hands.to_dict("records")[:1])
    return (
        "The smallest true effect that a run like this would have called unfair in four cases of five goes "
        f"from {told}{more}. Smaller ones may be there unseen: more people show them, more nights do not."
    )
