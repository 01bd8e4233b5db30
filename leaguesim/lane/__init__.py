"""The lane: oil film laid down, viscosity and blends, friction, wear."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from leaguesim.lane.values import (
    CONTACT_CONSTANTS,
    Band,
    Condition,
    Conditioner,
    EarlierPlay,
    FrictionConstants,
    Readings,
    Surface,
)

if TYPE_CHECKING:
    from leaguesim.lane.friction import FrictionTable
    from leaguesim.lane.lane import Lane

__all__ = [
    "CONTACT_CONSTANTS",
    "Band",
    "Condition",
    "Conditioner",
    "EarlierPlay",
    "FrictionConstants",
    "FrictionTable",
    "Lane",
    "Readings",
    "Surface",
]

_LAZY = {"Lane": "lane", "FrictionTable": "friction"}


def __getattr__(name: str) -> Any:
    if name in _LAZY:
        return getattr(import_module(f"leaguesim.lane.{_LAZY[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
