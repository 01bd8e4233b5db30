"""What would change an answer, in sentences for the end of a page.

Does not compute results: it reads intervals, close verdicts and spreads that a result holds.
"""

from typing import TYPE_CHECKING

from leaguesim.report.texts import as_fitted, known, number, people
from leaguesim.study.notes import NOTICE_PINS

if TYPE_CHECKING:
    from leaguesim.study.results import CompareResult, LaneLook
    from leaguesim.study.surfaces import SurfacesResult

TITLE = "What would change the answer"
FORGIVEN_BOARDS = 1.0  # ours: a style is forgiven a board at the arrows if it ends no farther off
STRAIGHT_BOARDS = 4  # a board at the arrows (15 ft), feet unmoved, is 60 / 15 boards at the pins
READINGS = (
    "Readings of the film, or of the friction, on your own lanes in place of constants from published "
    "ball paths."
)
PEOPLE = (
    "Averages in the roster, or a season of scores (leaguesim fit), in place of what is drawn from "
    "styles."
)

FAIRNESS_TURNS = (
    "More bowlers of a group: intervals of people like these narrow with people, not with nights.",
    "Another margin: what difference is still fair is yours to say ([fairness] in center.toml).",
    "Another condition to hold it against: --against.",
    READINGS,
    PEOPLE,
)
TUNE_TURNS = (
    "More nights and conditions tried: both are in the goal's file.",
    "Other limits in the goal's file: length, oil, ratio, conditioners at hand, what the machine can lay.",
    "A pattern outside the family that was searched.",
    READINGS,
    PEOPLE,
)
TOURNAMENT_TURNS = (
    "Another field: the intervals cover luck and draws with these entrants alone.",
    "More tournaments played (--played): they narrow the luck.",
    "Another format: games, cut, squads and oil between them are in the tournament's file.",
    READINGS,
    PEOPLE,
)
FIT_TURNS = (
    "More games: each bowler's interval narrows with them.",
    "Strikes and spares beside the scores: they tell accuracy and spare skill apart.",
    "The condition of each week in the file: without it every game counts as today's.",
    READINGS,
)


def compare_turns(result: "CompareResult") -> list[str]:
    """What would change the answer to a comparison, the nearest first."""
    league = result.league
    low, high = league.get("change_low"), league.get("change_high")
    close, count = int(league.get("close_calls") or 0), len(result.bowlers)
    lines = [
        *_room(low, high),
        "Other bowlers: the interval of people like these says how far; more nights do not narrow it.",
        f"{close} of {people(count)} lie within two standard errors of a threshold of kept happy: more "
        "nights, or another threshold in center.toml, could move them.",
    ]
    lines.append(
        "What is not known of conditioners, lanes and people: --unknowns plays the change on many "
        "centers that yours might be."
        if result.forecast is None
        else result.forecast.measure_first
    )
    surface = (
        "Another surface, or the same one older: --surface all plays this switch on every one."
    )
    return [*lines, surface, READINGS, *([] if as_fitted(result) else [PEOPLE])]


def _room(low: object, high: object) -> list[str]:
    """How far the luck that is left is from turning the verdict."""
    if not (known(low) and known(high)):
        return ["More than one night: one can't tell the luck."]
    a, b = float(str(low)), float(str(high))
    if b < -NOTICE_PINS or a > NOTICE_PINS:
        room = min(abs(a), abs(b)) - NOTICE_PINS
        return [
            f"More of the same nights hardly: the interval of this roster lies {number(room)} pins clear "
            f"of a change that nobody would notice ({NOTICE_PINS:g} pin)."
        ]
    return [
        f"More nights: this roster's interval is {number(b - a)} pins wide, and they narrow it."
    ]


def farthest_misses(look: "LaneLook") -> dict[str, float]:
    """By style, how far from its line's end a ball a board wide at the arrows ends at most [boards]."""
    most: dict[str, float] = {}
    for row in look.arrivals.to_dict("records"):
        misses = [
            abs(float(row[k])) for k in ("outside_miss_board", "inside_miss_board") if known(row[k])
        ]
        if misses:
            style = str(row["style"])
            most[style] = max(most.get(style, 0.0), *misses)
    return most


def forgiving(look: "LaneLook") -> str:
    """Whether the condition forgives a miss, with the range over styles."""
    most = farthest_misses(look)
    if not most:
        return "Verdict: whether misses are forgiven can't be told."
    best, worst = min(most, key=most.__getitem__), max(most, key=most.__getitem__)
    held = sum(v <= FORGIVEN_BOARDS for v in most.values())
    span = (
        f"from {number(most[best])} ({best}) to {number(most[worst])} ({worst})"
        if best != worst
        else f"{number(most[best])} ({best})"
    )
    return (
        f"Verdict: {held} of {people(len(most), 'style')} {'is' if held == 1 else 'are'} forgiven a "
        f"board at the arrows; such a ball ends {span} boards from its line's end "
        f"({STRAIGHT_BOARDS} for a ball that rolls straight on)."
    )


def lane_turns() -> list[str]:
    """What would change the look of a condition."""
    return [
        READINGS,
        "Another surface or temperature in center.toml: both move where oil films break down.",
        "Another ball or release: lines are those of each style's usual one; a bowler's own are in compare.",
        "The hours before: oil that earlier play took off or carried on ([after] in the condition's file).",
        f"The word forgiven is ours: no more than {FORGIVEN_BOARDS:g} board off at the pins.",
    ]


def surfaces_turns(result: "SurfacesResult") -> list[str]:
    """What would change the answer about several surfaces."""
    wide = max(float(r["high"]) - float(r["low"]) for r in result.rows)
    return [
        f"More nights: the widest interval of a change is {number(wide)} pins, and they narrow it.",
        "Other roughness, residue or wear in surfaces/*.toml than your lanes have.",
        READINGS,
        PEOPLE,
    ]


def checks_turns() -> list[str]:
    """What would change the verdict on the model."""
    return [
        "A published figure with a better source, where the row says “from memory” or “common "
        "practice, no source”.",
        "Measurements on one lane of film, ball path and pin fall together: most rows come from "
        "different lanes.",
        "Scores of your own center (leaguesim fit): the only check of a forecast for it.",
    ]
