"""From pins to scores: one game, the exact distribution of a game, the count of all games.

Traditional scoring only; does not know who bowls or on what lane.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from leaguesim.scoring.counts import count_games
    from leaguesim.scoring.distribution import score_distribution
    from leaguesim.scoring.games import game_score, running_totals

_HOME = {
    "count_games": "leaguesim.scoring.counts",
    "game_score": "leaguesim.scoring.games",
    "running_totals": "leaguesim.scoring.games",
    "score_distribution": "leaguesim.scoring.distribution",
}

__all__ = ["count_games", "game_score", "running_totals", "score_distribution"]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
