"""What a forecast returns: changes with luck and doubt apart, chances, honour scores, sensitivities.

Plain values that know how to become JSON; nothing here simulates or weighs.
"""

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from leaguesim.study.results import plain, records

if TYPE_CHECKING:
    import pandas as pd

FORECAST_SCHEMA = "leaguesim.forecast/1"


@dataclass(frozen=True)
class ForecastResult:
    """``study.forecast``: a change with everything that is not known about the center drawn too.

    ``bowlers`` (tables.FORECAST_BOWLERS), ``groups`` (tables.FORECAST_GROUPS: the league first, then
    styles), ``sensitivities`` (tables.SENSITIVITIES).  ``league``: the league's row of ``groups`` and
    kept_happy_now, kept_happy_next with _low and _high (5th and 95th hundredth of the points; the luck
    of the few nights is in them).  ``r2``: outcome -> what the emulator foretells of points left out.
    ``measure_first``: one sentence.  ``fitted``: bowlers come from a fit of their scores.
    """

    center: str
    now: str
    next: str
    seed: int
    unknowns: int
    nights: int
    season_games: int
    fitted: bool
    league: dict[str, Any]
    bowlers: "pd.DataFrame"
    groups: "pd.DataFrame"
    sensitivities: "pd.DataFrame"
    r2: dict[str, float]
    measure_first: str
    notes: list[str]

    def summary(self) -> dict[str, Any]:
        """What goes into JSON."""
        return {
            "schema": FORECAST_SCHEMA,
            "center": self.center,
            "now": self.now,
            "next": self.next,
            "seed": self.seed,
            "unknowns": self.unknowns,
            "nights": self.nights,
            "season_games": self.season_games,
            "fitted": self.fitted,
            "league": plain(self.league),
            "bowlers": records(self.bowlers, list(self.bowlers.columns)),
            "groups": records(self.groups, list(self.groups.columns)),
            "sensitivities": records(self.sensitivities, list(self.sensitivities.columns)),
            "r2": plain(self.r2),
            "measure_first": self.measure_first,
            "notes": list(self.notes),
        }

    def to_json(self) -> str:
        """Strict JSON of ``summary``."""
        return json.dumps(self.summary(), indent=1, allow_nan=False)
