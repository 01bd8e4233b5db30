"""Intervals in a cell of a table, in words where there is none.

Does not compute them.
"""

from collections.abc import Callable
from typing import Any

from leaguesim.report.texts import known

TOO_FEW = "too few to tell"


def span(low: Any, high: Any, show: Callable[[Any], str]) -> str:
    """From low to high as ``show`` writes figures; in words where either is unknown."""
    if not (known(low) and known(high)):
        return TOO_FEW
    return f"{show(low)} to {show(high)}"
