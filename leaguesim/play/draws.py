"""The luck of a bowler's nights: reserved slots of one stream, the same under every condition.

One stream fills 32 nights; a slot that is not needed is thrown away.  Uniforms become normal errors by
the inverse distribution.  Does not know who throws next or how a night goes.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from leaguesim.play._kernel import FORM_DRAWS, GAME_SLOTS, PRACTICE_SLOTS, SLOT_DRAWS
from leaguesim.streams import NIGHTS_PER_STREAM, Purpose, stream

Array = NDArray[np.float64]


def draws_a_night(games: int) -> int:
    """How many uniforms one bowler's night reserves."""
    return FORM_DRAWS + SLOT_DRAWS * (PRACTICE_SLOTS + GAME_SLOTS * games)


@lru_cache(maxsize=16)
def _is_normal(games: int) -> NDArray[np.bool_]:
    flags = np.ones(draws_a_night(games), np.bool_)
    flags[FORM_DRAWS + SLOT_DRAWS - 1 :: SLOT_DRAWS] = False  # the uniform for the pins
    return flags


def night_draws(
    seed: int,
    bowler: str,
    *,
    block: int,
    games: int,
    replicate: int = 0,
    purpose: Purpose = Purpose.LEAGUE_NIGHT,
) -> Array:
    """Draws of 32 nights (block 0: nights 0 to 31), (32, draws_a_night): normal errors and uniforms."""
    rng = stream(
        seed, purpose, replicate=replicate, night=block * NIGHTS_PER_STREAM, identity=bowler
    )
    u = rng.random((NIGHTS_PER_STREAM, draws_a_night(games)))
    normal = _is_normal(games)
    u[:, normal] = ndtri(np.clip(u[:, normal], 2.0**-54, 1.0 - 2.0**-53))
    return u
