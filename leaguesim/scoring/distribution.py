"""The exact distribution of a game's score when the chances at every rack are known.

Racks are independent given their laws: a day's form, or a law that answers to the pins, is not in
it (mix several distributions for the first).
"""

from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from leaguesim.errors import InputError

Floats = NDArray[np.float64]
Chances: TypeAlias = Sequence[float] | Floats

_SUM_TOLERANCE = 1e-9


def score_distribution(
    strike: float | Chances,
    first_ball: Chances | Sequence[Chances],
    second_ball: Sequence[Chances] | Sequence[Sequence[Chances]],
) -> Floats:
    """Chance of every score from 0 to 300, exact to rounding (error below 1e-12).

    Parameters
    ----------
    strike : chance of ten on a fresh rack
    first_ball : (10,) chances of 0 to 9 on a fresh rack; with strike they sum to 1
    second_ball : second_ball[k] has 11 - k chances of 0 to 10 - k more after k, summing to 1

    Each may be a sequence of ten instead, one law per frame; balls two and three of the tenth
    frame follow its law at a fresh rack.  Sums may miss 1 by 1e-9 and are then scaled to it.

    Returns
    -------
    (301,) probabilities

    Raises
    ------
    InputError : a law is of the wrong shape, negative, not finite or does not sum to 1

    >>> nine_spare = [[0.0] * (10 - k) + [1.0] for k in range(10)]
    >>> chances = score_distribution(0.5, [0.0] * 9 + [0.5], nine_spare)
    >>> float(chances[300]) == 0.5**12
    True
    """
    from leaguesim.scoring._kernel import SCORES, WORK_ROWS, score_pmf

    strikes, firsts, seconds = game_laws(strike, first_ball, second_ball)
    out = np.empty(SCORES)
    score_pmf(strikes, firsts, seconds, np.empty((WORK_ROWS, SCORES)), out)
    return out


def game_laws(
    strike: float | Chances,
    first_ball: Chances | Sequence[Chances],
    second_ball: Sequence[Chances] | Sequence[Sequence[Chances]],
) -> tuple[Floats, Floats, Floats]:
    """The laws of a game's twelve racks as the kernels take them, checked.

    Takes and refuses what ``score_distribution`` does.

    Returns
    -------
    (12,) strike, (12, 10) first ball, (12, 10, 11) second ball, zero beyond the spare
    """
    strikes, firsts = _fresh_racks(strike, first_ball)
    seconds = np.zeros((12, 10, 11))
    depth = _depth(second_ball)
    if depth not in (2, 3) or len(second_ball) != 10:
        raise InputError("second_ball must be ten rows (pins left by 0 to 9), or ten such laws")
    if depth == 2:
        seconds[:10] = _leaves(second_ball, "second_ball")
    else:
        for frame, law in enumerate(second_ball):
            seconds[frame] = _leaves(law, f"second_ball of frame {frame + 1}")
    seconds[10:] = seconds[9]
    return strikes, firsts, seconds


def _fresh_racks(strike: Any, first_ball: Any) -> tuple[Floats, Floats]:
    strike = _numbers(strike, "strike")
    first = _numbers(first_ball, "first_ball")
    if strike.shape not in ((), (10,)):
        raise InputError(f"strike must be one chance or ten, got shape {strike.shape}")
    if first.shape not in ((10,), (10, 10)):
        raise InputError(f"first_ball must be ten chances or ten such laws, got {first.shape}")
    law = np.empty((12, 11))
    law[:10, :10] = first
    law[:10, 10] = strike
    law[10:] = law[9]
    one = strike.ndim == 0 and first.ndim == 1
    for frame in range(1 if one else 10):
        where = "" if one else f" of frame {frame + 1}"
        _check(law[frame], f"strike and first_ball{where}")
    law /= law.sum(axis=1, keepdims=True)
    return law[:, 10].copy(), law[:, :10].copy()


def _leaves(law: Any, name: str) -> Floats:
    """(10, 11) chances at what each first ball left."""
    if _depth(law) != 2 or len(law) != 10:
        raise InputError(f"{name} must be ten rows, one after each first ball of 0 to 9")
    out = np.zeros((10, 11))
    for k, row in enumerate(law):
        chances = _numbers(row, f"{name}[{k}]")
        if chances.shape != (11 - k,):
            raise InputError(
                f"{name}[{k}] must have {11 - k} chances (0 to {10 - k} more pins), "
                f"got shape {chances.shape}"
            )
        _check(chances, f"{name}[{k}]")
        out[k, : 11 - k] = chances / chances.sum()
    return out


def _check(chances: Floats, name: str) -> None:
    if not np.isfinite(chances).all() or (chances < 0.0).any():
        raise InputError(f"{name}: chances must be finite and not negative, got {chances.tolist()}")
    total = float(chances.sum())
    if abs(total - 1.0) > _SUM_TOLERANCE:
        raise InputError(f"{name}: chances must sum to 1, got {total!r}")


def _numbers(value: Any, name: str) -> Floats:
    try:
        return np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError):
        raise InputError(f"{name} must be numbers in rows of equal length, got {value!r}") from None


def _depth(value: Any) -> int:
    """How deep sequences are nested, following the first entry."""
    depth = 0
    while isinstance(value, (Sequence, np.ndarray)) and not isinstance(value, (str, bytes)):
        depth += 1
        if not len(value):
            break
        value = value[0]
    return depth
