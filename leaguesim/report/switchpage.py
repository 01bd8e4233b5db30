"""The first weeks in words and tables, for the page and the terminal.

Does not compute and does not draw.
"""

from typing import TYPE_CHECKING, Any

from leaguesim.report.markup import Markup, join, paragraphs, table, tag
from leaguesim.report.texts import known, number, people, percent, signed

if TYPE_CHECKING:
    from leaguesim.study.results import CompareResult, SwitchResult

WAYS = {"jump": "at once", "sequence": "step by step"}
DIRECTIONAL = (
    "Directional figures: they say which way and about how much. How soon people see that another "
    "line is better, and that {memory} of a night's moves is still there a week later, is assumed, "
    "not measured. The change of average and kept happy above are for settled play and contain none of "
    "this."
)


def _whole(text: str) -> str:
    """A text that is not broken over lines."""
    return text.replace("-", "\u2011").replace(" ", "\u00a0")


def _luck(value: Any, se: Any) -> str:
    """A change with its standard error."""
    return f"{signed(value)} pins (standard error {number(se)})"


def weeks_sentence(switch: "SwitchResult") -> str:
    """What the first weeks cost the league."""
    told = switch.league
    if told["learn"] + told["keep"] == 0:
        return "First weeks: everybody lines up as before, there is nothing to get used to."
    return (
        f"First {switch.weeks} weeks: {number(told['first_weeks'])} pins, {_luck(told['change'], told['change_se'])} "
        f"from settled play; {_luck(told['first_week'], told['first_week_se'])} in the first week, "
        f"{_luck(told['last_week'], told['last_week_se'])} in week {switch.weeks}."
    )


def moves_sentence(switch: "SwitchResult") -> str:
    """What is asked of people."""
    told, count = switch.league, len(switch.bowlers)
    return (
        f"Half of the bowlers have {number(told['move'])} boards or more to move; "
        f"{told['ball_changes']} of {count} need another ball."
    )


def settling_sentence(switch: "SwitchResult") -> str:
    """Who takes up a new line, and when."""
    told = switch.league
    parts = [f"{people(told['alike'])} line up as before" if told["alike"] != 1 else
             "1 bowler lines up as before"]  # fmt: skip
    after = ""
    if known(told["weeks_to_settle"]):
        after = f" (half of them after {people(round(told['weeks_to_settle']), 'week')} or sooner)"
    parts.append(f"{told['learn']} take up a new line within a season{after}")
    parts.append(
        f"{told['keep']} keep the old one: the difference is too small for them to see, or none"
    )
    return ", ".join(parts[:2]) + f", and {parts[2]}."


def sequence_sentences(switch: "SwitchResult") -> list[str]:
    """At once against step by step; none without dated conditions."""
    told = switch.sequence
    if told is None:
        return []
    steps = ", ".join(f"{c} from {d}" for d, c in switch.steps)
    return [
        f"Over {people(switch.weeks_played, 'week')} the league averages {number(told['jump'])} going over at "
        f"once and {number(told['sequence'])} step by step ({steps}): "
        f"{_luck(told['gain'], told['gain_se'])}.",
        f"Of that, {_luck(told['habit_gain'], told['habit_gain_se'])} are old habits, which cost "
        f"{'less' if told['habit_gain'] > 0.0 else 'more'} step by step; the rest is other oil in the weeks "
        "between. "
        f"Worst week: {signed(told['jump_worst_change'])} pins from settled play at once (week "
        f"{told['jump_worst_week']}), {signed(told['sequence_worst_change'])} step by step (week "
        f"{told['sequence_worst_week']}).",
    ]


def switch_lines(switch: "SwitchResult") -> list[str]:
    """The terminal's lines."""
    return [f"{weeks_sentence(switch)} {moves_sentence(switch)}", *sequence_sentences(switch)]


def switch_words(switch: "SwitchResult") -> Markup:
    """The section's opening."""
    memory = percent(switch.line_memory)
    lines = [
        weeks_sentence(switch),
        f"{moves_sentence(switch)} {settling_sentence(switch)}",
        *sequence_sentences(switch),
        f"{people(switch.seasons, 'season')} of {people(switch.weeks_played, 'week')} were played, everybody "
        "coming with the line and ball of the condition now, against settled play on the same nights "
        "and luck. The standard error is over seasons.",
    ]
    return join([paragraphs(lines), tag("p", tag("strong", DIRECTIONAL.format(memory=memory)))])


def weeks_table(switch: "SwitchResult") -> Markup:
    """Week by week, the whole league."""
    dated = bool(switch.steps)
    head = ["week", *(["of", "going over", "condition"] if dated else []), "average", "settled",
            "from settled, pins", "standard error", "on the new line"]  # fmt: skip
    league = switch.groups[switch.groups["group"] == "league"]
    rows = [
        [
            str(r["week"]), *([_whole(r["date"]), _whole(WAYS[r["way"]]), r["condition"]] if dated else []),
            number(r["average"]), number(r["settled"]), signed(r["change"]),
            number(r["change_se"], 2), percent(r["learnt"]),
        ]
        for r in league.to_dict("records")
    ]  # fmt: skip
    return table("Week by week", head, rows, numeric_from=4 if dated else 1)


def switch_table(switch: "SwitchResult") -> Markup:
    """What the switch asks of every bowler, largest first-weeks loss first."""
    head = [
        "bowler", "style", "hand", "ball", "boards to move", "breakpoint, boards",
        "roll start, ft", "weeks to settle", "first weeks", "settled", "from settled, pins",
        "standard error",
    ]  # fmt: skip
    order = switch.bowlers.sort_values(["first_weeks_change", "bowler"], kind="stable")
    records = order.to_dict("records")
    rows = [
        [
            r["bowler"], r["style"], r["hand"],
            _balls(r),
            signed(r["move"]), signed(r["breakpoint_shift"]),
            signed(r["roll_start_shift"]) if known(r["roll_start_shift"]) else "never rolls",
            number(r["weeks_to_settle"], 0) if known(r["weeks_to_settle"]) else "keeps the old line",
            number(r["first_weeks"]), number(r["settled"]), signed(r["first_weeks_change"]),
            number(r["first_weeks_change_se"], 2),
        ]
        for r in records
    ]  # fmt: skip
    data = [{"style": str(r["style"])} for r in records]
    return table("What it asks of every bowler", head, rows, numeric_from=4, row_data=data)


def _balls(row: "dict[Any, Any]") -> str:
    """The ball, or the two where the switch asks for another one."""
    names = [row["ball_from"], row["ball_to"]] if row["ball_change"] else [row["ball_to"]]
    return " → ".join(str(name).replace("_", " ") for name in names)


def games_table(result: "CompareResult") -> Markup | None:
    """Averages, averages held and boards moved by game of the night; None if not known."""
    games = result.games_table
    if games is None:
        return None
    means = games.groupby(["game", "condition"])[["average", "held", "moved"]].mean()
    rows = []
    for game in sorted(set(games["game"])):
        now, after = means.loc[(game, "now")], means.loc[(game, "next")]
        rows.append(
            [
                f"game {game}", number(now["average"]), number(after["average"]),
                percent(now["held"]), percent(after["held"]),
                number(now["moved"]), number(after["moved"]),
            ]
        )  # fmt: skip
    head = ["game", "average now", "next", "average held now", "next", "boards moved now", "next"]
    return join(
        [
            table("By game of the night", head, rows),
            tag(
                "p",
                "Average held: share of bowlers whose average in that game is no further below their "
                "reference than kept happy allows; the other parts of kept happy are of whole nights. "
                "Boards moved: from the night's first line to where people stand after the game, "
                "settled play, on average.",
            ),
        ]
    )
