"""The only place a random generator is made; a stream is named by what its numbers are for.

``SeedSequence(entropy = 4 words of the seed's blake2b, spawn_key = (purpose, replicate,
night // 32, id_hi, id_lo))``: who computes a number and under which lane condition is never part of
the key, so two conditions share their luck and the number of workers changes nothing.
One stream fills the reserved slots of 32 nights.  Does not decide how the numbers are used.
"""

from enum import IntEnum
from hashlib import blake2b
from secrets import randbits

import numpy as np

from leaguesim.errors import InputError

NIGHTS_PER_STREAM = 32
LAYOUT_VERSION = 1
SEED_LIMIT = 2**64


class Purpose(IntEnum):
    """What a stream's numbers are for; never renumber, only append."""

    LEAGUE_NIGHT = 1
    EARLIER_PLAY = 2
    BOWLER_TRAITS = 3
    LANE_TRAITS = 4
    BOOTSTRAP = 5
    LIBRARY_BUILD = 6
    CHECK = 7


def check_seed(seed: int) -> int:
    """Return the seed if it is an integer in 0..2**64-1, else raise InputError."""
    if isinstance(seed, bool) or not isinstance(seed, (int, np.integer)):
        raise InputError(f"seed: a whole number from 0 to 2**64 - 1 is needed, got {seed!r}")
    if not 0 <= int(seed) < SEED_LIMIT:
        raise InputError(f"seed: a whole number from 0 to 2**64 - 1 is needed, got {seed}")
    return int(seed)


def new_seed() -> int:
    """A fresh seed from the operating system, small enough to be read aloud (under 2**32)."""
    return randbits(32)


def id_words(identity: str) -> tuple[int, int]:
    """Two 32-bit words for a stable identity such as a bowler's name (blake2b, never ``hash()``)."""
    digest = blake2b(identity.encode("utf-8"), digest_size=8).digest()
    return int.from_bytes(digest[:4], "big"), int.from_bytes(digest[4:], "big")


def stream(
    seed: int, purpose: Purpose, *, replicate: int = 0, night: int = 0, identity: str = ""
) -> np.random.Generator:
    """The generator that belongs to (seed, purpose, replicate, block of 32 nights, identity)."""
    digest = blake2b(str(check_seed(seed)).encode("ascii"), digest_size=16).digest()
    entropy = [int.from_bytes(digest[4 * i : 4 * i + 4], "big") for i in range(4)]
    high, low = id_words(identity)
    key = (int(purpose), replicate, night // NIGHTS_PER_STREAM, high, low)
    return np.random.Generator(np.random.PCG64DXSM(np.random.SeedSequence(entropy, spawn_key=key)))
