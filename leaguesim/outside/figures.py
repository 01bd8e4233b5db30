"""Outside figures: numbers that others measured, published or proved, each with its source.

They live once, in the TOML files beside this module, and tests and checks read them here.  This
module only loads; it compares nothing with a model.

A file ``<name>.toml`` holds tables.  Every table that holds a number has a ``source`` key (author,
year, title, section; or body, document, section; or "common practice, no source"; or "from
memory"), its own or that of a table around it.  Units are in the names of the keys.
"""

import re
import tomllib
from copy import deepcopy
from functools import cache
from importlib.resources import files
from typing import Any

from leaguesim.errors import InputError, LibraryError


def figures(name: str) -> dict[str, Any]:
    """The outside figures of one subject, as the tables of ``leaguesim/outside/<name>.toml``.

    Each call returns a copy of its own, so no reader can change what another one reads.

    Raises
    ------
    InputError : no such subject
    LibraryError : the shipped file can't be read

    >>> figures("scoring")["perfect_games"]["probability"][2] == 0.5**12
    True
    """
    return deepcopy(_tables(name))


def figure_names() -> list[str]:
    """The subjects there are figures for, sorted."""
    folder = files("leaguesim.outside")
    return sorted(f.name.removesuffix(".toml") for f in folder.iterdir() if f.name[-5:] == ".toml")


def unsourced(tables: dict[str, Any]) -> list[str]:
    """Dotted places of the numbers that no source covers; empty when every number has one.

    >>> unsourced({"oil": {"unit_um": 0.18}, "pin": {"source": "from memory", "height_in": 15.0}})
    ['oil.unit_um']
    """
    return _unsourced(tables, "")


def _unsourced(value: Any, place: str) -> list[str]:
    if isinstance(value, dict):
        if isinstance(value.get("source"), str) and value["source"].strip():
            return []
        return [miss for key in value for miss in _unsourced(value[key], f"{place}.{key}")]
    if isinstance(value, list):
        return [miss for i, item in enumerate(value) for miss in _unsourced(item, f"{place}[{i}]")]
    return [place.removeprefix(".")] if isinstance(value, (int, float)) else []


@cache
def _tables(name: str) -> dict[str, Any]:
    if not re.fullmatch(r"[a-z0-9_]+", name) or name not in figure_names():
        raise InputError(f"no outside figures {name!r}, there are: {', '.join(figure_names())}")
    try:
        text = files("leaguesim.outside").joinpath(f"{name}.toml").read_text(encoding="utf-8")
        return tomllib.loads(text)
    except (OSError, ValueError) as fault:
        raise LibraryError(f"outside figures {name}.toml can't be read: {fault}") from fault
