"""What is not known, in words and tables, for the page of a comparison and the terminal.

Does not compute and does not draw.
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from leaguesim.report.markup import Markup, bullets, join, paragraphs, table, tag
from leaguesim.report.spans import span
from leaguesim.report.texts import known, number, percent, signed

if TYPE_CHECKING:
    import pandas as pd

    from leaguesim.study.forecastresult import ForecastResult

TITLE = "What we do not know"
MOST_TOLD = 3
RARE = 0.001


def chance(value: Any) -> str:
    """A chance: never a bare 0 or 100 % of something that was drawn a few times."""
    if not known(value):
        return number(value)
    if 0.0 < value < 0.01:
        return "under 1 %"
    return "over 99 %" if 0.99 < value < 1.0 else percent(value)


def rate(value: Any) -> str:
    """An expected number a season; none among the games played is not told as never."""
    if value == 0.0:
        return "none seen"
    if known(value) and 0.0 < value < RARE:
        return f"under {RARE:g}"
    return number(value, 1 if known(value) and value >= 10.0 else 3)


def forecast_lines(told: "ForecastResult") -> list[str]:
    """The league's change with its two uncertainties, chances, honour scores, what to measure."""
    league = told.league
    lines = [
        f"With what is not known drawn too ({told.unknowns} times), the league's change is "
        f"{signed(league['change'])} pins, 90 % {span(league['low'], league['high'], signed)}: standard deviation "
        f"{number(league['unknown_sd'])} pins from what is not known, standard error "
        f"{number(league['luck_se'], 2)} from the luck of {told.nights} nights each time.",
        f"Chance that the league average falls more than 3 pins {chance(league['chance_falls'])}, that it "
        f"rises more than 3 {chance(league['chance_rises'])}.",
        honours(told),
        told.measure_first,
    ]
    hurt = told.bowlers[told.bowlers["chance_falls"] >= 0.5].sort_values(
        ["chance_falls", "bowler"], ascending=[False, True], kind="stable"
    )
    names = ", ".join(
        f"{r['bowler']} ({chance(r['chance_falls'])})"
        for r in hurt.head(MOST_TOLD).to_dict("records")
    )
    more = f" and {len(hurt) - MOST_TOLD} more" if len(hurt) > MOST_TOLD else ""
    if names:
        lines.insert(2, f"More likely than not to fall more than 5 pins: {names}{more}.")
    return lines


def honours(told: "ForecastResult") -> str:
    """Expected honour scores of the league a season."""
    league = told.league
    parts = [
        f"{words} {rate(league[f'{name}_now'])} now, {rate(league[f'{name}_next'])} next"
        for name, words in (
            ("games_300", "games of 300"),
            ("series_800", "series of 800"),
            ("games_200", "games of 200 and more"),
        )
        if known(league[f"{name}_now"])
    ]
    return f"Expected in the whole league, {told.season_games} games a bowler: {'; '.join(parts)}."


def forecast_section(told: "ForecastResult") -> Markup:
    """Words, what is not known by group of unknowns, groups, bowlers and what was assumed."""
    return join(
        [
            paragraphs(forecast_lines(told)),
            _sensitivities(told),
            _groups(told.groups),
            _bowlers(told.bowlers),
            tag("h3", "What this takes for granted"),
            bullets(told.notes),
        ]
    )


def _sensitivities(told: "ForecastResult") -> Markup:
    ranked = told.sensitivities[told.sensitivities["ranked"]]
    if len(ranked) == 0:
        return tag(
            "p",
            "Which unknown matters most cannot be told from this sample: the emulator foretells "
            f"R2 {number(told.r2.get('league'), 2)} of the league's change at points left out.",
        )
    rows = [
        [str(r["outcome"]), str(r["group"]), percent(r["first_order"]), percent(r["total"]),
         number(told.r2[str(r["outcome"])], 2)]
        for r in ranked.sort_values(
            ["outcome", "total"], ascending=[True, False], kind="stable"
        ).to_dict("records")
    ]  # fmt: skip
    head = [
        "change of", "what is not known", "share of the doubt alone", "alone or with others",
        "emulator's R2 at points left out",
    ]  # fmt: skip
    return table("Where the doubt comes from (Sobol indices)", head, rows, numeric_from=2)


def _row(r: Mapping[Any, Any]) -> list[str]:
    return [
        number(r["average_now"]), number(r["average_next"]), signed(r["change"]),
        span(r["low"], r["high"], signed), number(r["unknown_sd"]) + ("*" if r["floored"] else ""),
        number(r["luck_se"], 2),
    ]  # fmt: skip


_HEAD = [
    "average now", "next", "change, pins", "90 %", "sd, not known", "standard error, luck",
]  # fmt: skip
_HONOUR_HEAD = [
    "300 games now", "next", "800 series now", "next", "200 games now", "next",
]  # fmt: skip
_HONOURS = [f"{n}_{s}" for n in ("games_300", "series_800", "games_200") for s in ("now", "next")]


def _groups(groups: "pd.DataFrame") -> Markup:
    rows = [
        [str(r["group"]), str(r["bowlers"]), *_row(r), chance(r["chance_falls"]),
         chance(r["chance_rises"])]
        for r in groups.to_dict("records")
    ]  # fmt: skip
    head = ["group", "bowlers", *_HEAD, "falls more than 3", "rises more than 3"]
    caption = "League and styles, honour scores expected a season"
    return join(
        [
            table("League and styles with what is not known", head, rows),
            _honours("group", caption, groups.to_dict("records")),
        ]
    )


def _bowlers(bowlers: "pd.DataFrame") -> Markup:
    order = bowlers.sort_values(["change", "bowler"], kind="stable").to_dict("records")
    rows = [[str(r["bowler"]), *_row(r), chance(r["chance_falls"])] for r in order]
    head = ["bowler", *_HEAD, "falls more than 5"]
    caption = "Every bowler with what is not known; * no more than luck shows, put at 0"
    styles = [{"style": str(r["style"])} for r in order]
    honours = "Every bowler, honour scores expected a season"
    return join(
        [table(caption, head, rows, row_data=styles), _honours("bowler", honours, order, styles)]
    )


def _honours(
    who: str,
    caption: str,
    rows: Sequence[Mapping[Any, Any]],
    styles: Sequence[Mapping[str, str]] | None = None,
) -> Markup:
    """Honour scores in a table of their own: beside the changes it would be wider than a screen."""
    cells = [[str(r[who]), *(rate(r[c]) for c in _HONOURS)] for r in rows]
    return table(caption, [who, *_HONOUR_HEAD], cells, row_data=styles)
