"""The study room: experiments on a center's bowlers and the statistics on them.

No module may be called what a function here is called: importing it would put the module in the
function's place.
"""

from typing import Any

__all__ = ["compare", "look"]


def __getattr__(name: str) -> Any:
    if name == "compare":
        from leaguesim.study.paired import compare

        return compare
    if name == "look":
        from leaguesim.study.sight import look

        return look
    raise AttributeError(f"module 'leaguesim.study' has no attribute {name!r}")
