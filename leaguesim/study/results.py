"""What a study returns: tidy tables plus the few figures that answer the question.

Plain values that know how to become JSON; nothing here simulates or draws.
"""

import json
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

    from leaguesim.play.values import Thresholds
    from leaguesim.study.forecastresult import ForecastResult
    from leaguesim.study.tillresult import TillResult

COMPARE_SCHEMA = "leaguesim.compare/1"
LANE_SCHEMA = "leaguesim.lane/1"


def plain(value: Any) -> Any:
    """A value as strict JSON has it: no NaN or infinity (null), no NumPy types."""
    if isinstance(value, dict):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(v) for v in value]
    if hasattr(value, "item") and not isinstance(value, str):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if type(value).__name__ in {"NAType", "NaTType"}:
        return None
    return value


def records(table: "pd.DataFrame", columns: list[str]) -> list[dict[str, Any]]:
    """Chosen columns of a table as strict JSON rows."""
    return [
        plain(dict(zip(columns, row, strict=True)))
        for row in table[columns].itertuples(index=False)
    ]


@dataclass(frozen=True)
class LaneLook:
    """One condition looked at: film, friction, and where each style's balls go.

    ``cells`` (tables.LANE_CELLS), ``paths`` (tables.PATHS), ``arrivals`` (tables.ARRIVALS);
    ``worn`` (tables.WORN_CELLS): film before the night and after each game of it;
    ``ratios``: list of {distance_ft, right, left}, None where the outside is dry; ``designation``
    in words.  ``reference`` says which ball and release the friction map is for.
    """

    condition: str
    title: str
    volume_ml: float
    length_ft: float
    ratios: list[dict[str, float | None]]
    designation: str
    reference: str
    cells: "pd.DataFrame"
    paths: "pd.DataFrame"
    arrivals: "pd.DataFrame"
    worn: "pd.DataFrame | None" = None  # tables.WORN_CELLS


@dataclass(frozen=True)
class LaneResult:
    """``study.look``: one condition of a center."""

    center: str
    invented: bool
    look: LaneLook
    notes: list[str]
    manifest: dict[str, Any] = field(default_factory=dict)
    curves: list[dict[str, Any]] = field(default_factory=list)  # ``grip.friction_curves``
    slips: list[dict[str, Any]] = field(default_factory=list)  # ``grip.slip_ranges``
    used: tuple[str, ...] = ()  # conditioners of the condition

    def to_json(self) -> str:
        """Strict JSON: volume, ratios, arrivals by style."""
        return json.dumps(
            {
                "schema": LANE_SCHEMA,
                "manifest": plain(self.manifest),
                "condition": self.look.condition,
                "title": self.look.title,
                "volume_ml": plain(self.look.volume_ml),
                "length_ft": plain(self.look.length_ft),
                "ratios": plain(self.look.ratios),
                "designation": self.look.designation,
                "arrivals": records(self.look.arrivals, list(self.look.arrivals.columns)),
                "friction_by_slip": plain(self.curves),
                "slip_at_release": plain(self.slips),
            },
            indent=1,
            allow_nan=False,
        )


@dataclass(frozen=True)
class SwitchResult:
    """The first weeks after going over from one condition to another.

    Settled play decides ``change`` and kept happy; these figures are directional.

    ``bowlers`` (tables.SWITCH), ``weekly`` (tables.SWITCH_WEEKS), ``groups`` (tables.SWITCH_GROUPS).
    ``league``: first_weeks, settled, change and change_se (first weeks minus settled; the season as
    unit), the same of first_week and last_week; move (median of boards, either way), ball_changes,
    weeks_to_settle (median of those who take up a new line), alike, learn, keep (how many have
    nothing to learn, take the new line up within a season, keep the old one).
    ``steps``: (date, condition) of the dated conditions; empty without.  ``sequence``: jump, sequence
    (averages over all ``weeks_played``), gain and habit_gain (the part of it that is not other oil
    in the weeks between) with se; of each way its change from settled play with
    se, worst week and the share of bowlers on the new line at the end; None without.
    """

    weeks: int  # that count as the first
    weeks_played: int
    seasons: int
    line_memory: float  # share of a night's moves that is still there a week later (assumed)
    bowlers: "pd.DataFrame"
    weekly: "pd.DataFrame"
    groups: "pd.DataFrame"
    league: dict[str, Any]
    steps: tuple[tuple[str, str], ...] = ()
    sequence: dict[str, Any] | None = None

    def summary(self) -> dict[str, Any]:
        """What goes into JSON."""
        league = self.groups[self.groups["group"] == "league"]
        return {
            "weeks": self.weeks,
            "weeks_played": self.weeks_played,
            "seasons": self.seasons,
            "line_memory": self.line_memory,
            "league": plain(self.league),
            "by_week": records(league, [c for c in league.columns if c != "group"]),
            "bowlers": records(self.bowlers, list(self.bowlers.columns)),
            "steps": [{"date": d, "condition": c} for d, c in self.steps],
            "sequence": plain(self.sequence),
        }


@dataclass(frozen=True)
class CompareResult:
    """``study.compare``: what happens to these bowlers when the condition changes.

    ``league``: average_now, average_next, change, change_se, change_low, change_high (Monte Carlo,
    95 %), people_low, people_high (people like these, 95 %), kept_happy_now, kept_happy_next and
    their people intervals kept_happy_now_low ..., kept, lost, won_back, unknown, close_calls.
    ``groups``: 'style', 'hand', 'average band' -> table (tables.GROUPS).
    ``stability``: how the share kept happy moves when a threshold moves by a quarter: list of
    {part, factor, kept_happy_now, kept_happy_next}.
    """

    center: str
    invented: bool
    now: str
    next: str
    now_title: str
    next_title: str
    today: str
    games: int
    nights: int
    seed: int
    stopped_because: str
    league: dict[str, Any]
    bowlers: "pd.DataFrame"
    groups: dict[str, "pd.DataFrame"]
    scores: "pd.DataFrame"
    stability: list[dict[str, Any]]
    looks: dict[str, LaneLook]  # "now", "next"
    thresholds: "Thresholds"
    notes: list[str]
    manifest: dict[str, Any] = field(default_factory=dict)
    switch: SwitchResult | None = None
    games_table: "pd.DataFrame | None" = None  # tables.GAMES
    forecast: "ForecastResult | None" = (
        None  # with all that is not known drawn too, where asked for
    )
    surface: str = ""  # played on, where it is not the center's own
    till: "TillResult | None" = None  # handicaps, standings, conditioner, machine

    def summary(self) -> dict[str, Any]:
        """The summary that ``--json`` prints."""
        style = self.groups["style"].rename(columns={"group": "style"})
        group = ["style", "bowlers", "average_now", "average_next", "change", "change_se"]
        bowler = ["bowler", "style", "hand", "average_now", "average_next", "change", "change_se"]
        rates = ["strike_rate_now", "strike_rate_next", "spare_rate_now", "spare_rate_next"]
        happy = ["kept_happy_now", "kept_happy_next"]
        return {
            "schema": COMPARE_SCHEMA,
            **({"surface": self.surface} if self.surface else {}),
            "manifest": plain(self.manifest),
            "now": self.now,
            "next": self.next,
            "nights": self.nights,
            "stopped_because": self.stopped_because,
            "league": plain(self.league),
            "styles": records(style, group + happy),
            "bowlers": records(self.bowlers, bowler + rates + happy),
            "first_weeks": None if self.switch is None else self.switch.summary(),
            **({} if self.forecast is None else {"forecast": self.forecast.summary()}),
            **({} if self.till is None else {"till": self.till.summary()}),
            "by_game": self._by_game(),
        }

    def _by_game(self) -> list[dict[str, Any]] | None:
        """The league by game: average, share whose average is held, boards moved."""
        if self.games_table is None:
            return None
        means = self.games_table.groupby(["condition", "game"], sort=False)
        table = means[["average", "held", "moved"]].mean().reset_index()
        return records(table, list(table.columns))

    def to_json(self) -> str:
        """Strict JSON of ``summary``."""
        return json.dumps(self.summary(), indent=1, allow_nan=False)
