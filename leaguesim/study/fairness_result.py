"""What ``study.fairness`` returns: tidy tables and the verdicts that answer the question.

Plain values that know how to become JSON; nothing here simulates.
"""

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from leaguesim.study.results import plain, records

if TYPE_CHECKING:
    import pandas as pd

    from leaguesim.play.values import FairnessLimits

FAIRNESS_SCHEMA = "leaguesim.fairness/1"


@dataclass(frozen=True)
class FairnessResult:
    """``study.fairness``: is a condition within the rules, and fair to whom?

    ``effects`` (tables.EFFECTS), ``losers`` (tables.LOSERS), ``twins`` (tables.TWINS), ``designation``
    (tables.DESIGNATION), ``readings`` (tables.READINGS or None), ``handicap`` (tables.HANDICAP or
    None), ``exchange`` (tables.EXCHANGE).  ``compared`` is False where there was no other condition
    to hold this one against: then only twins are judged.  ``control``: {nights, largest_gap,
    bowlers_off} of the mirrored run, which must be zero.
    """

    center: str
    invented: bool
    condition: str
    against: str
    title: str
    against_title: str
    compared: bool
    today: str
    games: int
    weeks: int
    nights: int
    twin_nights: int
    seed: int
    stopped_because: str
    limits: "FairnessLimits"
    average: float
    average_against: float
    designation_words: dict[str, str]
    rule: str
    designation: "pd.DataFrame"
    readings: "pd.DataFrame | None"
    readings_words: str
    effects: "pd.DataFrame"
    losers: "pd.DataFrame"
    twins: "pd.DataFrame"
    control: dict[str, Any]
    handicap: "pd.DataFrame | None"
    handicap_words: str
    handicap_percent: int
    even_chance: float
    exchange: "pd.DataFrame"
    notes: list[str]
    manifest: dict[str, Any] = field(default_factory=dict)

    def summary(self) -> dict[str, Any]:
        """The summary that ``--json`` prints."""
        tables = {
            "effects": self.effects,
            "losers": self.losers,
            "twins": self.twins,
            "designation": self.designation,
            "readings": self.readings,
            "handicap": self.handicap,
            "exchange": self.exchange,
        }
        return {
            "schema": FAIRNESS_SCHEMA,
            "manifest": plain(self.manifest),
            "condition": self.condition,
            "against": self.against if self.compared else None,
            "margin_pins": self.limits.margin_pins,
            "nights": self.nights,
            "twin_nights": self.twin_nights,
            "stopped_because": self.stopped_because,
            "average": plain(self.average),
            "average_against": plain(self.average_against),
            "designation_words": self.designation_words,
            "control": plain(self.control),
            **{k: None if t is None else records(t, list(t.columns)) for k, t in tables.items()},
        }

    def to_json(self) -> str:
        """Strict JSON of ``summary``."""
        return json.dumps(self.summary(), indent=1, allow_nan=False)
