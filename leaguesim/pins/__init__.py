"""What happens at the pins: the carry library and its draws; building it needs the extra ``pins``.

Does not know lanes, bowlers or scores.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from leaguesim.pins.carry import CarryLibrary
    from leaguesim.pins.second import SecondBall
    from leaguesim.pins.spec import mirror_mask

__all__ = ["CarryLibrary", "SecondBall", "mirror_mask"]

_HOMES = {"CarryLibrary": "carry", "SecondBall": "second", "mirror_mask": "spec"}


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        from importlib import import_module

        return getattr(import_module(f"leaguesim.pins.{_HOMES[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
