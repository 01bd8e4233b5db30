"""Tournaments and searches as text for a terminal of 80 columns.

Does not choose colours that carry meaning: everything reads the same without them.
"""

from typing import TYPE_CHECKING

from rich.console import Console

from leaguesim.report.lines import say_on
from leaguesim.report.people import spelled
from leaguesim.report.terminal import INVENTED_LINE, MOST_ROWS, table_of
from leaguesim.report.texts import number, percent
from leaguesim.report.tournamentpage import sentences
from leaguesim.report.tournamentpage import verdict as tournament_verdict
from leaguesim.report.tunepage import verdict

if TYPE_CHECKING:
    from leaguesim.study.tournaments import TournamentResult
    from leaguesim.study.tuneresult import TuneResult

TOURNAMENT_KEY = (
    "Truly best: by what an entrant is worth, which luck hides in any one tournament. Reliability: 0 is "
    "luck alone, 1 is skill alone. average: of the games played here. makes cut: how often."
)
TUNE_KEY = (
    "All measured on the same fresh nights. se: standard error of the average, the luck left. happy: kept "
    "happy. ratio: the larger of the two sides. cost: conditioner a lane. A difference within the "
    "intervals on the page is luck."
)
TUNE_NAMES = 30  # letters of a condition's name


def tournament_text(result: "TournamentResult", console: Console) -> None:
    """Print what a format does: the answer, whether the best win, and who makes the cut."""
    result = spelled(result, entrants="style")
    if result.invented:
        say_on(console, INVENTED_LINE.format(center=result.center))
    first, *rest = sentences(result)
    for k, line in enumerate([first, tournament_verdict(result), *rest]):
        say_on(console, line, "bold" if k == 0 else "")
    leads, wins = (result.figures.get(key) for key in ("best_leads", "best_wins_ladder"))
    if leads is not None:
        ladder = f" and wins the ladder in {percent(wins['value'])}" if wins is not None else ""
        line = (
            f"The best entrant leads the block in {percent(leads['value'])} of tournaments{ladder}."
        )
        say_on(console, line)
    entrants = result.entrants.sort_values(
        ["makes_cut", "average"], ascending=False, kind="stable"
    ).to_dict("records")
    shown = entrants[: min(max(2 * result.tournament.cut, MOST_ROWS), 2 * MOST_ROWS)]
    rows = [
        [
            str(r["bowler"]), str(r["style"]), str(r["hand"])[:1], number(r["average"]),
            percent(r["makes_cut"]),
        ]
        for r in shown
    ]  # fmt: skip
    cut = f"Who makes the cut at {result.tournament.cut}"
    title = (
        cut
        if len(rows) == len(entrants)
        else f"{cut}: the likeliest {len(rows)} of {len(entrants)}"
    )
    console.print(table_of(title, ["entrant", "style", "hand", "average", "makes cut"], rows, 3))
    say_on(console, TOURNAMENT_KEY)


def tune_text(result: "TuneResult", console: Console) -> None:
    """Print what a search found: the answer, and the best beside today's condition."""
    if result.invented:
        say_on(console, INVENTED_LINE.format(center=result.center))
    for k, line in enumerate([result.answer[0], verdict(result), *result.answer[1:]]):
        say_on(console, line, "bold" if k == 0 else "")
    rows = [
        [
            str(b["name"]), " + ".join(b["oils"]), number(b["length_ft"], 0),
            number(b["volume_ml"]), number(max(b["ratio_right"], b["ratio_left"])),
            number(b["cost"], 2), number(b["average"]), number(b["average_se"], 2),
            percent(b["kept_happy"]),
        ]
        for b in result.best
    ]  # fmt: skip
    t = result.today
    rows.append(
        ["today's", *[""] * 5, number(t["average"]), number(t["average_se"], 2),
         percent(t["kept_happy"])]
    )  # fmt: skip
    head = ["condition", "oil", "ft", "mL", "ratio", result.currency, "average", "se", "happy"]
    console.print(table_of("The best that were found", head, rows, 2))
    say_on(console, TUNE_KEY)
