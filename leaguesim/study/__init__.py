"""The study room: experiments on a center's bowlers and the statistics on them."""

from typing import Any

__all__ = ["compare", "look"]


def __getattr__(name: str) -> Any:
    if name == "compare":
        from leaguesim.study.compare import compare

        return compare
    if name == "look":
        from leaguesim.study.look import look

        return look
    raise AttributeError(f"module 'leaguesim.study' has no attribute {name!r}")
