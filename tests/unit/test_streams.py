"""Streams: named by what they are for, stable for ever, independent of each other."""

import numpy as np
import pytest

from leaguesim import streams
from leaguesim.errors import InputError
from leaguesim.streams import NIGHTS_PER_STREAM, Purpose, check_seed, id_words, new_seed, stream


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("", (0xE4A6A057, 0x7479B2B4)),
        ("Ada K.", (0x44E15409, 0xF62CC669)),
        ("Zoë Ñ", (0x4AB43B1B, 0xAEA08C05)),
    ],
)
def test_identity_words_are_what_they_always_were(name, words):
    """blake2b of the UTF-8 name, never ``hash()``: these figures must not change."""
    assert id_words(name) == words


def test_words_fit_32_bits():
    words = np.array([id_words(f"bowler {k}") for k in range(2000)], dtype=np.uint64)
    assert words.max() < 2**32
    assert len({tuple(w) for w in words.tolist()}) == 2000


@pytest.mark.parametrize("seed", [-1, 2**64, 1.0, "1", None, True, np.float64(3), float("nan")])
def test_a_seed_that_is_none_is_refused(seed):
    with pytest.raises(InputError, match="seed: a whole number from 0 to"):
        check_seed(seed)


@pytest.mark.parametrize("seed", [0, 1, 2**64 - 1, np.int64(7), np.uint64(2**64 - 1)])
def test_a_seed_is_a_plain_integer(seed):
    assert check_seed(seed) == int(seed)
    assert type(check_seed(seed)) is int
    stream(int(seed), Purpose.CHECK).random()


def test_new_seeds_are_short_and_differ():
    seeds = {new_seed() for _ in range(20)}
    assert len(seeds) == 20
    assert all(0 <= s < 2**32 for s in seeds)


def test_nights_of_one_block_share_a_stream():
    one = stream(5, Purpose.LEAGUE_NIGHT, night=32, identity="a").random(4)
    assert np.array_equal(one, stream(5, Purpose.LEAGUE_NIGHT, night=63, identity="a").random(4))
    assert not np.array_equal(
        one, stream(5, Purpose.LEAGUE_NIGHT, night=64, identity="a").random(4)
    )


def test_every_part_of_the_key_matters():
    """Seed, purpose, replicate, block and identity each give another stream."""
    keys = [
        (seed, purpose, replicate, night, who)
        for seed in (0, 1, 2**63)
        for purpose in Purpose
        for replicate in (0, 1, 1_000_000)
        for night in (0, NIGHTS_PER_STREAM)
        for who in ("", "a", "b")
    ]
    firsts = [
        stream(s, p, replicate=r, night=n, identity=w).integers(2**63) for s, p, r, n, w in keys
    ]
    assert len(set(firsts)) == len(keys)


def test_streams_are_not_correlated():
    """Largest of about 1,100 pairwise correlations of 48 streams, against a 1 in 1,000 false alarm."""
    keys = [
        (p, r, n, w)
        for p in (Purpose.LEAGUE_NIGHT, Purpose.EARLIER_PLAY)
        for r in (0, 1)
        for n in (0, 32, 64)
        for w in ("Ann", "Bea", "Cid", "Ann ")
    ]
    n = 8192
    draws = np.array(
        [stream(9, p, replicate=r, night=k, identity=w).random(n) for p, r, k, w in keys]
    )
    r = np.corrcoef(draws)[np.triu_indices(len(keys), 1)]
    from scipy.stats import norm

    limit = norm.isf(0.5 * 1e-3 / r.size) / np.sqrt(n)
    assert np.abs(r).max() < limit
    # ... and at a lag of one draw, where neighbouring counters would show.
    lagged = (draws[:, 1:] - 0.5) @ (draws[:, :-1].T - 0.5) / (n - 1) * 12.0
    assert np.abs(lagged).max() < norm.isf(0.5 * 1e-3 / lagged.size) / np.sqrt(n - 1)


def test_purposes_keep_their_numbers():
    """Appending is fine; renumbering would change every result."""
    assert {p.name: int(p) for p in Purpose}.items() >= {
        "LEAGUE_NIGHT": 1,
        "EARLIER_PLAY": 2,
        "BOWLER_TRAITS": 3,
        "LANE_TRAITS": 4,
        "BOOTSTRAP": 5,
        "LIBRARY_BUILD": 6,
        "CHECK": 7,
    }.items()
    assert streams.LAYOUT_VERSION == 1


def test_first_numbers_of_a_stream_are_what_they_always_were():
    """Golden: seed 1, league night, replicate 2, block 1, one name."""
    got = stream(1, Purpose.LEAGUE_NIGHT, replicate=2, night=40, identity="Ada K.").integers(
        2**32, size=4
    )
    assert got.tolist() == [3562116398, 3119031031, 3794425400, 3315657828]
