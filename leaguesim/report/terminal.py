"""The answer as text for a terminal of 80 columns.

Does not choose colours that carry meaning: everything reads the same without them.
"""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rich import box
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from leaguesim.report.texts import (
    NOT_A_FORECAST,
    UNKNOWN,
    answer,
    number,
    percent,
    signed,
    yes_no,
)

if TYPE_CHECKING:
    from leaguesim.study.results import CompareResult, LaneResult

MOST_ROWS = 10
MOST_BOWLERS = 2 * MOST_ROWS

LANE_KEY = (
    "line, arrow, break: board at the foul line, at the arrows and where the path is outermost, "
    "from the bowler's own edge. roll: where the ball starts to roll, ft. entry: angle at the "
    "pins, degrees. mph: speed there. out, in: where a ball released a board outside or inside "
    "ends, boards from the line's end."
)


def _table(title: str, head: Sequence[str], rows: Iterable[Sequence[str]], words: int) -> Table:
    table = Table(title=Text(title), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for k, name in enumerate(head):
        if k < words:
            table.add_column(Text(name), overflow="ellipsis", no_wrap=True, max_width=22)
        else:
            table.add_column(Text(name), justify="right")
    for row in rows:
        table.add_row(*(Text(value) for value in row))
    return table


def _say(console: Console, line: str, style: str = "") -> None:
    console.print(Text(line, style=style), soft_wrap=False)


def compare_text(result: "CompareResult", console: Console) -> None:
    """Print a comparison: the answer, styles, the bowlers most affected."""
    told = answer(result)
    if result.invented:
        _say(console, f"{result.center} is invented: lanes, conditioners and bowlers alike.")
    _say(console, f"From “{result.now_title}” to “{result.next_title}”.")
    _say(console, told.headline, "bold")
    _say(console, told.verdict, "bold")
    for line in (told.roster_interval, told.people_interval, *told.who, told.happy, NOT_A_FORECAST):
        _say(console, line)
    _say(console, f"It stopped because {result.stopped_because}.")
    console.print(_style_table(result))
    console.print(_bowler_table(result))
    _not_known(console, result.notes)


def _style_table(result: "CompareResult") -> Table:
    rows = [
        [
            str(r["group"]), str(r["bowlers"]), number(r["average_now"]),
            number(r["average_next"]), signed(r["change"]), number(r["change_se"], 2),
            percent(r["kept_happy_now"]), percent(r["kept_happy_next"]),
        ]
        for r in result.groups["style"].to_dict("records")
    ]  # fmt: skip
    head = ["style", "n", "now", "next", "change", "se", "happy now", "next"]
    return _table("By style, averages in pins", head, rows, 1)


def _bowler_table(result: "CompareResult") -> Table:
    order = result.bowlers.sort_values(["change", "bowler"], kind="stable").to_dict("records")
    short = len(order) > MOST_BOWLERS
    shown = [*order[:MOST_ROWS], *order[-MOST_ROWS:]] if short else order
    rows = [
        [
            str(r["bowler"]), str(r["style"]), str(r["hand"]), number(r["average_now"]),
            number(r["average_next"]), signed(r["change"]), number(r["change_se"], 2),
            f"{_short(r['kept_happy_now'])} → {_short(r['kept_happy_next'])}",
        ]
        for r in shown
    ]  # fmt: skip
    title = "Every bowler, most hurt first"
    if short:
        title = f"The {MOST_ROWS} most hurt and the {MOST_ROWS} least, of {len(order)}"
    head = ["bowler", "style", "hand", "now", "next", "change", "se", "happy"]
    return _table(title, head, rows, 3)


def _not_known(console: Console, notes: Sequence[str]) -> None:
    if notes:
        _say(console, "What the model does not know:")
    for note in notes:
        console.print(Padding(Text(f"- {note}"), (0, 0, 0, 2)))


def _short(value: object) -> str:
    word = yes_no(value)
    return "?" if word == UNKNOWN else word


def lane_text(result: "LaneResult", console: Console) -> None:
    """Print one condition: film, ratios, and where each style's balls go."""
    look = result.look
    if result.invented:
        _say(console, f"{result.center} is invented: lanes, conditioners and bowlers alike.")
    _say(
        console,
        f"{look.title or look.condition}: {number(look.volume_ml)} mL of conditioner over "
        f"{number(look.length_ft, 0)} ft.",
        "bold",
    )
    _say(console, look.designation)
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
    console.print(_table("Crosswise ratio", ["distance", "right", "left"], ratios, 1))
    arrivals = [
        [
            str(r["style"]), str(r["hand"])[:1], number(r["line_board"]),
            number(r["arrow_board"]), number(r["breakpoint_board"]),
            "never" if r["roll_start_ft"] > 60.0 else number(r["roll_start_ft"], 0),
            number(r["entry_angle"]), number(r["speed_mph"]),
            signed(r["outside_miss_board"]), signed(r["inside_miss_board"]),
        ]
        for r in look.arrivals.to_dict("records")
    ]  # fmt: skip
    head = ["style", "", "line", "arrow", "break", "roll", "entry", "mph", "out", "in"]
    title = "Lines by style, right- and left-handed (r, l)"
    console.print(_table(title, head, arrivals, 2))
    _say(console, LANE_KEY)
    _not_known(console, result.notes)
