"""What a switch does to the league and the till: tables and how they were made.

Plain values that know how to become JSON; nothing here simulates.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from leaguesim.study.results import records

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class TillResult:
    """Handicaps, standings, conditioner and machine of a switch.

    ``bowlers`` (tables.TILL_BOWLERS), ``groups`` (tables.TILL_GROUPS), ``teams`` (tables.TILL_TEAMS, None with
    fewer than two), ``oil`` (tables.TILL_OIL), ``machine`` (tables.TILL_MACHINE).  ``switch_week``: week of
    the season, from 1; ``caught_up``: first week after the switch whose handicap rests on games of the new
    condition, None if the season ends before; ``lanes_per_night``: that the league plays on.
    """

    percent: int
    base: int
    weeks: int
    switch_week: int
    caught_up: int | None
    seasons: int
    currency: str
    lanes_per_night: int
    bowlers: "pd.DataFrame"
    groups: "pd.DataFrame"
    teams: "pd.DataFrame | None"
    oil: "pd.DataFrame"
    machine: "pd.DataFrame"

    def summary(self) -> dict[str, Any]:
        """What goes into JSON."""
        told: dict[str, Any] = {
            name: getattr(self, name)
            for name in (
                "percent", "base", "weeks", "switch_week", "caught_up", "seasons", "currency",
                "lanes_per_night",
            )
        }  # fmt: skip
        for name in ("bowlers", "groups", "teams", "oil", "machine"):
            table = getattr(self, name)
            told[name] = None if table is None else records(table, list(table.columns))
        return told
