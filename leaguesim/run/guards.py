"""The gate before play: every number that a plan rests on is finite, or the run stops and says which is not.

Does not judge whether a finite number is plausible.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np

from leaguesim.errors import NumberError
from leaguesim.play.setting import Pair, Setting


def all_finite(settings: Sequence[Setting], pairs: Sequence[Pair]) -> None:
    """Refuse films and bowlers that hold NaN or infinity.

    Raises
    ------
    NumberError : names condition, thing and, where it is one bowler's, the bowler
    """
    for s in settings:
        for own in (s, *s.apart):
            for what, values in (("the oil film", own.films), ("the tilt of the lane", own.pulls)):
                if not np.isfinite(values).all():
                    raise NumberError(f"{s.condition}: {what} is not a finite number somewhere")
        for ready, pair in zip(s.crews, pairs, strict=False):
            for what, values in _named(ready.covers, "friction: "):
                if not np.isfinite(values).all():
                    raise NumberError(f"{s.condition}: {what} is not a finite number")
            _check_crew(s.condition, ready.crew, pair)


def _check_crew(condition: str, crew: Any, pair: Pair) -> None:
    for what, values in _named(crew, ""):
        bad = ~np.isfinite(values)
        if not bad.any():
            continue
        rows = np.flatnonzero(bad.reshape(len(values), -1).any(axis=1))
        name = pair.bowlers[int(rows[0])].bowler
        raise NumberError(f"{condition}: {name}: {what} is not a finite number")


def _named(value: Any, before: str) -> list[tuple[str, Any]]:
    """Every float array of nested named tuples, with its name in words."""
    found: list[tuple[str, Any]] = []
    for name, part in value._asdict().items():
        words = before + name.replace("_", " ")
        if hasattr(part, "_asdict"):
            found += _named(part, words + " ")
        elif np.asarray(part).dtype.kind == "f":
            found.append((words, np.asarray(part)))
    return found
