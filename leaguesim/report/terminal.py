"""The answer as text for a terminal of 80 columns.

Does not choose colours that carry meaning: everything reads the same without them.
"""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from leaguesim.report.forecastpage import forecast_lines
from leaguesim.report.lines import say_on
from leaguesim.report.people import for_people, look_for_people
from leaguesim.report.surfacespage import surface_lines
from leaguesim.report.switchpage import switch_lines
from leaguesim.report.texts import (
    NOT_A_FORECAST,
    SHORT_COMPARE,
    SHORT_LANE,
    UNKNOWN,
    answer,
    close_word,
    number,
    percent,
    ratio_headline,
    signed,
    yes_no,
)
from leaguesim.report.tillpage import till_lines
from leaguesim.report.turning import forgiving

if TYPE_CHECKING:
    from leaguesim.study.results import CompareResult, LaneResult
    from leaguesim.study.surfaces import SurfacesResult

MOST_ROWS = 10
MOST_BOWLERS = 3 * MOST_ROWS  # a longer roster shows its first and last rows: never to hide a few
MOST_REASONS = 3
WIDEST_BOWLER = 17  # letters of a name: with more, verdicts would break at 80 columns
WIDEST_SURFACE = 34  # letters of a surface's name
CROWDED = 9  # columns; from so many on a table stands closer

INVENTED_LINE = "{center} is invented: lanes, conditioners and bowlers alike."
COMPARE_KEY = (
    "r, l: right- or left-handed. se: standard error, the simulation luck left in a change: another seed "
    "draws other revs and rotation where the roster gives none, and can name others. happy: kept happy now → "
    "next; close: a verdict within 2 se of a threshold. The page says which part fails."
)
RATIO_KEY = "Ratio: film on boards 18 to 22 over film on boards 3 to 7 of a side."

LANE_KEY = (
    "line, arrow, break: board at the foul line, at the arrows and where the path is outermost, "
    "from the bowler's own edge. roll: where the ball starts to roll, ft. entry: angle at the "
    "pins, degrees. mph: speed there. pins: where the ball meets them, boards from the head pin. "
    "out, in: where a ball a board wide at the arrows ends (feet unmoved), boards from the line's end."
)


def table_of(
    title: str, head: Sequence[str], rows: Iterable[Sequence[str]], words: int, *, widest: int = 22
) -> Table:
    close = len(head) >= CROWDED or widest > 22
    table = Table(
        title=Text(title), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False,
        padding=(0, 0 if close else 1, 0, 1),
    )  # fmt: skip
    for k, name in enumerate(head):
        if k < words:
            table.add_column(Text(name), overflow="ellipsis", no_wrap=True, max_width=widest)
        else:
            table.add_column(Text(name), justify="right", no_wrap=True)
    for row in rows:
        table.add_row(*(Text(value) for value in row))
    return table


def compare_text(result: "CompareResult", console: Console) -> None:
    """Print a comparison: the answer, styles, the bowlers most affected."""
    result = for_people(result)
    told = answer(result)
    if result.invented:
        say_on(console, INVENTED_LINE.format(center=result.center))
    say_on(console, f"From “{result.now_title}” to “{result.next_title}”.")
    say_on(console, told.headline, "bold")
    say_on(console, told.verdict, "bold")
    for line in (told.roster_interval, told.people_interval, *told.who, told.happy, NOT_A_FORECAST):
        say_on(console, line)
    for line in switch_lines(result.switch) if result.switch is not None else ():
        say_on(console, line)
    for line in till_lines(result.till) if result.till is not None else ():
        say_on(console, line)
    for line in forecast_lines(result.forecast) if result.forecast is not None else ():
        say_on(console, line)
    say_on(console, f"It stopped because {result.stopped_because}.")
    console.print(_style_table(result))
    console.print(_bowler_table(result))
    for line in _lost_though_better(result):
        say_on(console, line)
    say_on(console, COMPARE_KEY)
    _not_known(console, SHORT_COMPARE)


def surfaces_text(result: "SurfacesResult", console: Console) -> None:
    """Print one switch on several surfaces."""
    if result.invented:
        say_on(console, INVENTED_LINE.format(center=result.center))
    for line in surface_lines(result):
        say_on(console, line, "bold" if line == result.answer else "")
    rows = [
        [
            str(r["name"]), number(r["average_now"]), number(r["average_next"]),
            signed(r["change"]), number(r["change_se"], 2),
            percent(r["kept_happy_now"]), percent(r["kept_happy_next"]),
        ]
        for r in result.rows
    ]  # fmt: skip
    head = ["surface", "now", "next", "change", "se", "happy now", "happy next"]
    console.print(table_of("By surface, averages in pins", head, rows, 1, widest=WIDEST_SURFACE))
    say_on(console, f"{result.nights} nights. se: standard error, the luck of the nights alone.")
    _not_known(console, SHORT_COMPARE)


def _style_table(result: "CompareResult") -> Table:
    rows = [
        [
            str(r["group"]), str(r["bowlers"]), number(r["average_now"]),
            number(r["average_next"]), signed(r["change"]), number(r["change_se"], 2),
            percent(r["kept_happy_now"]), percent(r["kept_happy_next"]),
        ]
        for r in result.groups["style"].to_dict("records")
    ]  # fmt: skip
    head = ["style", "n", "now", "next", "change", "se", "happy now", "happy next"]
    return table_of("By style, averages in pins", head, rows, 1)


def _bowler_table(result: "CompareResult") -> Table:
    order = result.bowlers.sort_values(["change", "bowler"], kind="stable").to_dict("records")
    short = len(order) > MOST_BOWLERS
    shown = [*order[:MOST_ROWS], *order[-MOST_ROWS:]] if short else order
    rows = [
        [
            str(r["bowler"]), str(r["style"]), str(r["hand"])[:1], number(r["average_now"]),
            number(r["average_next"]), signed(r["change"]), number(r["change_se"], 2),
            f"{_short(r['kept_happy_now'])} → {_short(r['kept_happy_next'])}",
            "close" if close_word(r["close_call"]) == "close" else "",
        ]
        for r in shown
    ]  # fmt: skip
    title = "Every bowler, most hurt first"
    if short:
        title = f"The {MOST_ROWS} most hurt and the {MOST_ROWS} least, of {len(order)}"
    head = ["bowler", "style", "", "now", "next", "change", "se", "happy", ""]
    return table_of(title, head, rows, 3, widest=WIDEST_BOWLER)


def _lost_though_better(result: "CompareResult") -> list[str]:
    """Why somebody who gains pins is lost, a line each for the first few."""
    table = result.bowlers
    gone = (table["kept_happy_now"] & ~table["kept_happy_next"]).fillna(False).astype(bool)
    rows = table[gone & (table["change"] > 0.0)].sort_values("change", ascending=False)
    return [
        f"{r['bowler']} gains {number(r['change'])} pins and is still lost: {r['why_not_next']}"
        + (" (close)." if close_word(r["close_call"]) == "close" else ".")
        for r in rows.head(MOST_REASONS).to_dict("records")
    ]


def _not_known(console: Console, notes: Sequence[str]) -> None:
    say_on(console, "What the model does not know (all of it on the page):")
    for note in notes:
        say_on(console, f"  - {note}")


def _short(value: object) -> str:
    word = yes_no(value)
    return "?" if word == UNKNOWN else word


def lane_text(result: "LaneResult", console: Console) -> None:
    """Print one condition: film, ratios, and where each style's balls go."""
    look = look_for_people(result.look)
    if result.invented:
        say_on(console, INVENTED_LINE.format(center=result.center))
    say_on(
        console,
        f"{look.title or look.condition}: {number(look.volume_ml)} mL of conditioner over "
        f"{number(look.length_ft, 0)} ft.",
        "bold",
    )
    say_on(console, forgiving(look), "bold")
    say_on(console, ratio_headline(look))
    say_on(console, RATIO_KEY)
    say_on(console, look.designation)
    ratios = [
        [
            f"{number(r['distance_ft'], 0)} ft",
            *(
                "dry" if r[side] is None else f"{number(r[side], 2)} : 1"
                for side in ("right", "left")
            ),
        ]
        for r in look.ratios
    ]
    console.print(table_of("Crosswise ratio", ["distance", "right", "left"], ratios, 1))
    arrivals = [
        [
            str(r["style"]), str(r["hand"])[:1], number(r["line_board"]),
            number(r["arrow_board"]), "none" if r["breakpoint_ft"] <= 0.0 else number(r["breakpoint_board"]),
            "never" if r["roll_start_ft"] > 60.0 else number(r["roll_start_ft"], 0),
            number(r["entry_angle"]), number(r["speed_mph"]), signed(r["offset_board"]),
            signed(r["outside_miss_board"]), signed(r["inside_miss_board"]),
        ]
        for r in look.arrivals.to_dict("records")
    ]  # fmt: skip
    head = ["style", "hand", "line", "arrow", "break", "roll", "entry", "mph", "pins", "out", "in"]
    title = "Lines by style, right- and left-handed (r, l)"
    console.print(table_of(title, head, arrivals, 2))
    say_on(console, LANE_KEY)
    _not_known(console, SHORT_LANE)
