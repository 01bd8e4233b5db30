"""The ball room: from a release to where, how steep and how fast the ball meets the pins."""

from typing import Any

from leaguesim.ball.values import Ball, Release

__all__ = ["Ball", "BallPath", "Release", "roll"]


def __getattr__(name: str) -> Any:
    if name in {"BallPath", "roll"}:
        from leaguesim.ball import path

        return getattr(path, name)
    raise AttributeError(f"module 'leaguesim.ball' has no attribute {name!r}")
