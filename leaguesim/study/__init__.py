"""The study room: experiments on a center's bowlers and the statistics on them.

No module may be called what a function here is called: importing it would put the module in the
function's place.
"""

from typing import Any

__all__ = [
    "across_surfaces",
    "compare",
    "fairness",
    "fit",
    "forecast",
    "look",
    "posterior_draws",
    "read_fitted",
    "tournament",
    "tune",
]


def __getattr__(name: str) -> Any:
    if name == "compare":
        from leaguesim.study.paired import compare

        return compare
    if name == "across_surfaces":
        from leaguesim.study.surfaces import across_surfaces

        return across_surfaces
    if name == "fairness":
        from leaguesim.study.fairness_run import fairness

        return fairness
    if name == "forecast":
        from leaguesim.study.forecasting import forecast

        return forecast
    if name == "look":
        from leaguesim.study.sight import look

        return look
    if name == "tune":
        from leaguesim.study.tuning import tune

        return tune
    if name == "tournament":
        from leaguesim.study.tournaments import tournament

        return tournament
    if name == "fit":
        from leaguesim.study.fitting import fit

        return fit
    if name in ("posterior_draws", "read_fitted"):
        from leaguesim.study import posterior

        return getattr(posterior, name)
    raise AttributeError(f"module 'leaguesim.study' has no attribute {name!r}")
