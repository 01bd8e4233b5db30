"""The sentences of pages and terminal: numbers in words, cautions, glossary.

Does not compute anything beyond rounding and choosing a verdict's word by rules stated here.
"""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from leaguesim.study.happy import SMALLEST_BAND
from leaguesim.study.notes import FITTED, IN_WORDS, NOTICE_PINS, UNMET

if TYPE_CHECKING:
    from leaguesim.study.results import CompareResult, LaneLook

MOVED_PINS = 3.0  # ours: a bowler whose average moves so much is counted when the league's does not
STILL_PINS = 0.05  # a league change that rounds to 0.0
RATIO_AT_FT = 22.0  # mid-lane: ends and joints of a pattern show less there
ONE_NIGHT = "one night can't tell the luck"
TOO_FEW = "too few to tell"
UNKNOWN = "can't be told"

NOT_A_FORECAST = (
    "Kept happy is our own index of how the lane plays for somebody. It is not a forecast of who "
    "quits: people stay and leave for many reasons that no lane condition has a say in."
)
TWO_INTERVALS = (
    "Two different intervals appear on this page and they are never mixed. “This roster” is the "
    "luck left in the simulation: how far the figure would move if the same people played more "
    "nights. “People like these” is what other people of the same kind would give: bowlers are "
    "drawn anew from this roster, pair by pair. Only the second says anything about next season's "
    "newcomers, and more nights do not make it narrower. Neither holds what the roster leaves out of a "
    "bowler: revs, rotation and tilt are drawn from the style, and another seed draws others."
)
INVENTED = (
    "This center is invented: its lanes, conditioners and bowlers exist only to show what "
    "the program does."
)
CAUTIONS = (
    "Conditioners and cleaners are chemicals: follow the maker's safety data sheet and local codes.",
    "Oil that reaches an approach makes it slippery and people fall. Keep approaches clean and dry, "
    "and stop play when one is not.",
    "Lane machines have belts, blades, pumps and mains voltage: maintenance belongs to technicians "
    "licensed for it, by the maker's manual.",
    "Do not mix conditioners by hand for storage: a mixture may separate, and its viscosity is only "
    "an estimate.",
    "Where a league is certified, check the condition against the governing body's rules before "
    "it goes on the lanes. This page is not a certificate.",
)
ALWAYS_UNKNOWN = (
    "Friction constants are calibrated to published ball paths, not measured on these lanes.",
    "Nobody's release was measured unless the roster says so: it comes from the style, the average and, "
    "with a fit, from the scores.",
)
SHORT_COMPARE = (
    "friction: from published ball paths, not measured on your lanes",
    "axis rotation: from the style unless the roster gives it",
    "lanes: alike but for what center.toml says",
)
SHORT_LANE = (
    "friction: from published ball paths, not measured on your lanes",
    "styles: their usual ball and release, no bowler of yours",
    "one lane as its surface has it: no machine error",
)


def known(value: Any) -> bool:
    """Whether a figure can be printed: a finite number."""
    try:
        return value is not None and math.isfinite(float(value))
    except (TypeError, ValueError):
        return False


def number(value: Any, digits: int = 1) -> str:
    """A figure with a proper minus sign; unknown ones as a dash.

    >>> number(-3.14159)
    '−3.1'
    """
    if not known(value):
        return "–"
    shown = f"{float(value):.{digits}f}"
    if float(shown) == 0.0:
        shown = shown.removeprefix("-")
    return shown.replace("-", "−")


def signed(value: Any, digits: int = 1) -> str:
    """A change with its sign; zero without one.

    >>> signed(2.04)
    '+2.0'
    """
    shown = number(value, digits)
    if not known(value) or float(shown.replace("−", "-")) == 0.0:
        return shown
    return shown if shown.startswith("−") else f"+{shown}"


def percent(value: Any, digits: int = 0) -> str:
    """A share as per cent."""
    return f"{number(100.0 * float(value), digits)} %" if known(value) else "–"


def people(count: int, word: str = "bowler") -> str:
    """A count with its noun.

    >>> people(1), people(3)
    ('1 bowler', '3 bowlers')
    """
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def yes_no(value: Any) -> str:
    """Kept happy in a word."""
    if not known(value):
        return UNKNOWN
    return "yes" if value else "no"


def interval(low: Any, high: Any) -> str:
    """A 95 % interval of a change in words: signs kept when it straddles zero."""
    if not (known(low) and known(high)):
        return "not known"
    return f"between {signed(low)} and {signed(high)}"


def people_like_these(low: Any, high: Any) -> str:
    """The short form of an interval for people like these, in a table's cell.

    >>> people_like_these(None, 2.0)
    'too few to tell'
    """
    if not (known(low) and known(high)):
        return TOO_FEW
    return f"{signed(low)} to {signed(high)}"


def close_word(value: Any) -> str:
    """Whether a verdict lies close to a threshold, in a word."""
    return "close" if known(value) and value else "–"


def _luck(low: Any, high: Any) -> str:
    """The interval of this roster after its level, or why there is none."""
    return f"95 % {interval(low, high)}" if known(low) and known(high) else ONE_NIGHT


@dataclass(frozen=True)
class Answer:
    """The first screen: headline, verdict, both intervals, who is affected."""

    headline: str
    verdict: str
    roster_interval: str
    people_interval: str
    happy: str
    who: list[str]

    def lines(self) -> list[str]:
        """All of it, a sentence or two a line."""
        return [
            self.headline,
            self.verdict,
            self.roster_interval,
            self.people_interval,
            self.happy,
            *self.who,
        ]


def _headline(result: "CompareResult") -> str:
    change = result.league.get("change")
    then = result.league.get("average_next")
    league_low, league_high = result.league.get("change_low"), result.league.get("change_high")
    if not known(change):
        return "The change of the league average can't be told."
    if float(change or 0.0) == 0.0:
        return f"League average stays exactly where it is, at {number(then)} pins."
    if abs(float(change or 0.0)) < STILL_PINS:
        return (
            f"League average stays within 0.1 pin, at {number(then)} pins "
            f"({_luck(league_low, league_high)}, this roster)."
        )
    word = "falls" if float(change or 0.0) < 0.0 else "rises"
    return (
        f"League average {word} {number(abs(float(change or 0.0)))} pins, "
        f"from {number(result.league.get('average_now'))} to {number(then)} "
        f"({_luck(league_low, league_high)}, this roster)."
    )


def verdict(change: Any, low: Any, high: Any) -> str:
    """The plain word for a change of an average and its 95 % interval.

    Within one pin either way: no change anybody would notice.  Clear of zero and of one pin: a
    clear rise or drop.  Clear of zero only: small.  Otherwise it can't be told.
    """
    if not (known(change) and known(low) and known(high)):
        return "Verdict: can't be told from this run."
    if float(change) == float(low) == float(high) == 0.0:
        return "Verdict: the two conditions play exactly alike."
    side = "drop" if float(change) < 0.0 else "rise"
    if float(low) > -NOTICE_PINS and float(high) < NOTICE_PINS:
        return f"Verdict: no change anybody would notice (under {NOTICE_PINS:g} pin either way)."
    if float(high) < -NOTICE_PINS or float(low) > NOTICE_PINS:
        return f"Verdict: a clear {side}."
    if float(high) < 0.0 or float(low) > 0.0:
        return f"Verdict: a {side}, perhaps a small one."
    return "Verdict: too close to call; more nights would narrow it."


def _moved(result: "CompareResult") -> str:
    """Who moves although the league's average stays; empty where that average moves."""
    league = result.league.get("change")
    if not known(league) or abs(float(league or 0.0)) >= NOTICE_PINS:
        return ""
    changes = result.bowlers["change"]
    count = int((changes.abs() >= MOVED_PINS).sum())
    if count == 0:
        return ""
    return (
        f" But people do move: {count} of {people(len(changes))} by {MOVED_PINS:g} pins or more, "
        f"from {signed(changes.min())} to {signed(changes.max())}."
    )


def _with_doubt(result: "CompareResult") -> str:
    """The league's change with what is not known drawn too, beside the verdict on luck alone."""
    told = result.forecast
    if told is None or not known(told.league["change"]):
        return ""
    low, high = told.league["low"], told.league["high"]
    either = ", so it may go either way" if known(low) and low < 0.0 < high else ""
    return (
        f" With what is not known drawn too the change is {signed(told.league['change'])} pins, 90 % "
        f"{signed(low)} to {signed(high)}{either}: go by that."
    )


def as_fitted(result: "CompareResult") -> bool:
    """Whether people play as a fit has them."""
    return any(n.startswith(FITTED) for n in result.notes)


def _either_way(low: Any, high: Any) -> str:
    if known(low) and known(high) and float(low) < 0.0 < float(high):
        return ": it could go either way for them"
    return ""


def _group_sentences(result: "CompareResult") -> list[str]:
    lines = []
    style = result.groups.get("style")
    if style is not None and len(style) > 1:
        order = style.sort_values(["change", "group"], kind="stable")
        first, last = order.iloc[0], order.iloc[-1]
        lines.append(
            f"By style, from {first['group']} ({signed(first['change'])} pins, "
            f"{people(int(first['bowlers']))}) to {last['group']} ({signed(last['change'])} pins, "
            f"{people(int(last['bowlers']))})."
        )
    hand = result.groups.get("hand")
    if hand is not None and len(hand) > 1:
        words = [
            f"{row.group}-handers {signed(row.change)} pins ({row.bowlers})"
            for row in hand.sort_values("group", ascending=False).itertuples(index=False)
        ]
        lines.append("By hand: " + ", ".join(words) + ".")
    return lines


def answer(result: "CompareResult") -> Answer:
    """The answer to a comparison, in sentences."""
    league = result.league
    count = len(result.bowlers)
    tell = int(league.get("unknown") or 0)
    happy = (
        f"Kept happy: {percent(league.get('kept_happy_now'))} of {people(count)} now, "
        f"{percent(league.get('kept_happy_next'))} next. "
        f"{people(int(league.get('lost') or 0))} lost, {int(league.get('won_back') or 0)} won back"
        + (f", {tell} can't be told." if tell else ".")
        + _hanging(int(league.get("close_calls") or 0), count)
    )
    low, high = league.get("people_low"), league.get("people_high")
    span = (league.get("change_low"), league.get("change_high"))
    return Answer(
        headline=_headline(result),
        verdict=verdict(league.get("change"), *span)
        + (_moved(result) if result.forecast is None else _with_doubt(result)),
        roster_interval=(
            f"This roster: {interval(*span)} pins "
            f"(95 %, the luck left in {people(result.nights, 'simulated night')})."
            if known(span[0]) and known(span[1])
            else f"This roster: {ONE_NIGHT}."
        ),
        people_interval=(
            f"People like these: {interval(low, high)} pins (95 %, other bowlers of "
            f"the same kinds{_either_way(low, high)})."
            if known(low) and known(high)
            else _too_few(result)
        ),
        happy=happy,
        who=[
            *_group_sentences(result),
            *(n for n in result.notes if n.startswith((UNMET, IN_WORDS))),
        ],
    )


def _too_few(result: "CompareResult") -> str:
    """Why nothing is told of people like these, and what would let it be told."""
    from leaguesim.study.intervals import FEWEST_PAIRS

    pairs = result.bowlers["pair"].nunique()
    have = (
        f" ({people(pairs, 'pair')} here, {FEWEST_PAIRS} are needed)"
        if pairs < FEWEST_PAIRS
        else ""
    )
    return f"People like these: too few pairs of lanes to tell{have}."


def _hanging(close: int, count: int) -> str:
    """What to do when luck could still turn half of the verdicts or more."""
    if 2 * close < count:
        return ""
    return f" {close} of them are close to a threshold: more nights, before you name anybody."


def thresholds(result: "CompareResult") -> list[str]:
    """The parts of kept happy with the thresholds of this run."""
    t = result.thresholds
    return [
        f"Average: no more than {t.average_drop_pins:g} pins below the bowler's reference.",
        f"Misses forgiven: pins lost per degree of miss at most {t.miss_cost_ratio:g} times the "
        f"median of their average band under today's condition (everybody's, where fewer than {SMALLEST_BAND} "
        "are in it).",
        f"Even sides: a miss to one side costs at most {t.side_ratio:g} times a miss to the other, over the "
        "whole night: whether it does so in every game is not told apart.",
        f"Good hits carry: corner pins at most {t.corner_ratio:g} times their band's share, told "
        f"only after {t.corner_min_pocket_hits} pocket hits.",
        f"A steady night: game 3 at most {t.fade_pins:g} pins below game 1.",
    ]


def ratio_headline(look: "LaneLook") -> str:
    """The crosswise ratio at 22 ft, or at the nearest listed distance inside the pattern.

    The largest of all is in the designation: it often sits where the pattern begins or ends.
    """
    ratios: list[dict[str, Any]] = list(look.ratios)
    inside = [r for r in ratios if float(r["distance_ft"]) <= look.length_ft] or ratios
    if not inside:
        return "No crosswise ratio was worked out."
    row = min(inside, key=lambda r: abs(float(r["distance_ft"]) - RATIO_AT_FT))
    sides = [row["right"], row["left"]]
    shown = ["dry outside" if v is None else f"{number(v)}:1" for v in sides]
    here = shown[0] if shown[0] == shown[1] else f"{shown[0]} right, {shown[1]} left"
    return f"Crosswise ratio at {number(row['distance_ft'], 0)} ft: {here}."
