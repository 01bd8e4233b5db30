"""The door: a folder of TOML and CSV files read into one checked ``Center``.

The only room that imports pydantic; what it hands out are the frozen values of the rooms below.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from leaguesim.center.values import Center

if TYPE_CHECKING:
    from leaguesim.center.door import find_condition, on_surface, read
    from leaguesim.center.priors import dimensions, other_form, perturbed
    from leaguesim.center.schema import schemas
    from leaguesim.center.starter import demo_center, starter_folder, write_starter

__all__ = [
    "Center",
    "demo_center",
    "dimensions",
    "find_condition",
    "on_surface",
    "other_form",
    "perturbed",
    "read",
    "schemas",
    "starter_folder",
    "write_starter",
]

_LAZY = {
    "dimensions": "priors",
    "find_condition": "door",
    "on_surface": "door",
    "other_form": "priors",
    "perturbed": "priors",
    "read": "door",
    "schemas": "schema",
    "demo_center": "starter",
    "starter_folder": "starter",
    "write_starter": "starter",
}


def __getattr__(name: str) -> Any:
    if name in _LAZY:
        return getattr(import_module(f"leaguesim.center.{_LAZY[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
