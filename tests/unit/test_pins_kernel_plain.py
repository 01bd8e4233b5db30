"""Every line of the kernels that read the carry library as plain Python, on a made-up library.

Mixtures are summed here by outcome; the grid's places are written out from what its heading says.  ``check``
takes the functions however they were made: compiled, plain, or with one thing changed (``tests/soak/mutants.py``).
"""

import numpy as np
import pytest

from leaguesim.pins import _kernel

RIGHT = np.concatenate([np.arange(36) * 0.2, 7.0 + 0.5 * np.arange(1, 27)])
PLACES = (
    np.concatenate([-RIGHT[:0:-1], RIGHT]), -2.0 + 1.25 * np.arange(9), 2.0 + 1.5 * np.arange(6),
    2.7 + 1.52 * np.arange(4),
)  # fmt: skip
SIZES = tuple(map(len, PLACES))
NODES = int(np.prod(SIZES))
PINS = np.array([bin(m).count("1") for m in range(1024)])
MIRROR = {1: 1, 2: 3, 3: 2, 4: 6, 5: 5, 6: 4, 7: 10, 8: 9, 9: 8, 10: 7}


def library():
    """Three to five outcomes a node out of forty, most pins first; some nodes without a strike."""
    rng = np.random.default_rng(3)
    masks = np.concatenate(
        [[1023, 0, 1022, 511], rng.choice(np.arange(1, 1022), 36, replace=False)]
    )
    keys = np.sort(PINS[masks] * 1024 + masks)[::-1]
    sizes = rng.integers(3, 6, NODES)
    starts = np.concatenate([[0], np.cumsum(sizes)])
    chosen = np.sort(np.argsort(rng.random((NODES, 40)), axis=1)[:, :5], axis=1)
    chosen[::2, 0] = 0  # a strike at every other node (at the most pins, first)
    held = np.arange(5) < sizes[:, None]
    weight = rng.random((NODES, 5)) * held
    weight /= weight.sum(axis=1, keepdims=True)
    key = keys[chosen]
    known = np.stack(
        [(weight * (key == keys[0])).sum(axis=1), (weight * (key // 1024)).sum(axis=1)], axis=1
    )
    return _kernel.CarryArrays(starts, key[held], weight[held], known, masks)


LIB = library()


def shots():
    """Places inside cells, on nodes, on ends and beyond them."""
    rng = np.random.default_rng(9)
    inside = np.stack([rng.uniform(p[0], p[-1], 60) for p in PLACES], axis=1)
    inside[:, 0] = rng.uniform(-19.4, 19.4, 60)
    nodes = np.stack([rng.choice(p[3:-3] if len(p) > 9 else p, 6) for p in PLACES], axis=1)
    ends = [(3.0, -9.0, 1.0, 2.0), (-3.1, 20.0, 30.0, 9.0), (7.1, 1.0, 6.0, 7.0), (19.5, 3.0, 8.0, 6.8),
            (-7.1, 1.0, 6.0, 7.0), (-19.5, 3.0, 8.0, 6.8), (0.05, 4.0, 7.9, 6.0), (-0.05, 4.0, 7.9, 6.0)]  # fmt: skip
    return [*map(tuple, inside), *map(tuple, nodes), *ends]


def law_at(made, shot):
    """The law of a place as a dictionary, from the nodes and shares of ``simplex``."""
    told = made.simplex(*shot)
    law = {}
    for node, share in zip(told[:5], told[5:], strict=True):
        if share > 0.0:
            for c in range(LIB.starts[node], LIB.starts[node + 1]):
                law[LIB.key[c]] = law.get(LIB.key[c], 0.0) + share * LIB.weight[c]
    return told, dict(sorted(law.items()))


def check_simplex(made, shot):
    """Five nodes, each one step on from the last along one axis, and shares whose mean is the place."""
    told = made.simplex(*shot)
    held = [min(max(x, p[0]), p[-1]) for x, p in zip(shot, PLACES, strict=True)]
    shares = np.array(told[5:])
    assert (shares >= -1e-12).all()
    assert abs(shares.sum() - 1.0) < 1e-12
    at = np.array([np.unravel_index(node, SIZES) for node in told[:5]])
    steps = np.diff(at, axis=0)
    assert (np.sort(steps, axis=1) == [0, 0, 0, 1]).all()
    assert (steps.sum(axis=0) == 1).all()
    for axis, place in enumerate(PLACES):
        assert abs(shares @ place[at[:, axis]] - held[axis]) < 1e-9
    return told


def check_law(made, shot, clear, more):
    _, law = law_at(_kernel, shot)  # simplex itself is held to its own check
    keys, weights = np.array(list(law)), np.array(list(law.values()))
    masks, shares = np.full(1024, -1), np.full(1024, np.nan)
    n = made.outcome_law(LIB, *shot, masks, shares)
    assert n == keys.size
    assert masks[:n].tolist() == (keys % 1024).tolist()
    assert np.allclose(shares[:n], weights, rtol=1e-10, atol=1e-14)
    ends = np.cumsum(weights)
    us = np.sort(np.concatenate([[1e-9, 1.0 - 1e-9], ends[:-1] - 1e-9, ends[:-1] + 1e-9]))
    us = us[(us > 0.0) & (us < 1.0) & (np.abs(us[:, None] - ends).min(axis=1) > 5e-10)]
    wanted = (keys[np.searchsorted(ends, us)] % 1024).tolist()
    assert [made.pick(masks, shares, n, u) for u in us] == wanted
    told = made.simplex(*shot)
    assert [made.pick_between(LIB, *told, u) for u in us] == wanted
    count = us.size
    lots = [np.full(count, x) for x in shot]
    out = np.full(count, -1)
    made.draw_many(LIB, *lots, us, out)
    assert out.tolist() == wanted
    rate = np.full(1, np.nan)
    made.strike_many(LIB, *(np.array([x]) for x in shot), rate)
    strike = law.get(10 * 1024 + 1023, 0.0)
    assert abs(rate[0] - strike) < 1e-12
    seen, value = np.full((NODES, 2), np.nan), np.full(4, np.nan)
    left = 1023 - keys % 1024
    first = weights @ PINS[keys % 1024]
    expected = (strike, first, weights @ clear[left], first + weights @ more[left])
    for u, mask in ((us[0], wanted[0]), (us[-1], wanted[-1])):  # the second time from memory
        assert made.carry(LIB, *shot, u, clear, more, seen, value) == mask
        assert np.allclose(value, expected, rtol=1e-9, atol=1e-12)
    assert 0 < np.isfinite(seen).all(axis=1).sum() <= 5


def check_off_the_deck(made, clear, more):
    for b in (19.51, -19.51, np.nan, np.inf):
        shot = (b, 3.0, 7.0, 6.8)
        value, seen = np.full(4, np.nan), np.full((1, 2), np.nan)
        assert made.carry(LIB, *shot, 0.999, clear, more, seen, value) == 0
        assert value.tolist() == [0.0, 0.0, clear[1023], more[1023]]
        masks, shares = np.full(4, -1), np.full(4, np.nan)
        assert made.outcome_law(LIB, *shot, masks, shares) == 1
        assert (masks[0], shares[0]) == (0, 1.0)
        lots = [np.array([x, y]) for x, y in zip(shot, (0.4, 3.0, 7.0, 6.8), strict=True)]
        out, rate = np.full(2, -1), np.full(2, np.nan)
        made.draw_many(LIB, *lots, np.array([0.9999, 0.9999]), out)
        assert out[0] == 0 < out[1]
        made.strike_many(LIB, *lots, rate)
        assert rate[0] == 0.0 < rate[1]


def small_library(*laws):
    """A library of as many nodes as laws (dictionaries of mask and weight)."""
    rows = [sorted(law.items(), key=lambda held: (PINS[held[0]], held[0]))[::-1] for law in laws]
    masks = np.array([mask for row in rows for mask, _ in row])
    known = [(law.get(1023, 0.0), sum(PINS[m] * w for m, w in law.items())) for law in laws]
    return _kernel.CarryArrays(
        np.cumsum([0, *map(len, rows)]), PINS[masks] * 1024 + masks,
        np.array([weight for row in rows for _, weight in row]), np.array(known), masks,
    )  # fmt: skip


def check_edges(made):
    """Where one outcome ends the next begins, exactly: shares and weights are sums of halves."""
    laws = [
        {1023: 0.5, 1022: 0.25, 0: 0.25}, {1023: 0.25, 511: 0.75}, {1023: 0.125, 1: 0.5, 0: 0.375},
        {1023: 0.75, 2: 0.25}, {1023: 0.5, 1022: 0.5},
    ]  # fmt: skip
    shares = (0.5, 0.25, 0.125, 0.0625, 0.0625)
    lib = small_library(*laws)
    masks = np.array([0, 1, 2, 511, 1022, 1023])  # the law between them, by hand
    weights = np.array([11, 4, 1, 12, 10, 26]) / 64.0
    begins = np.array([0, 11, 15, 16, 28, 38]) / 64.0
    for u, wanted in (
        *zip(begins, masks, strict=True),
        *zip(begins[1:] - 2.0**-40, masks[:-1], strict=True),
    ):
        assert made.pick_between(lib, 0, 1, 2, 3, 4, *shares, u) == wanted
        assert made.pick(masks, weights, 6, u) == wanted
    bare = lib._replace(starts=np.zeros_like(lib.starts))  # `known` alone tells a strike
    for u, mask in ((38 / 64, 1023), (0.999, 1023), (38 / 64 - 2.0**-40, 0), (0.0, 0)):
        assert made.pick_between(bare, 0, 1, 2, 3, 4, *shares, u) == mask


def check_last(made):
    """What rounding leaves of a law is its last outcome's, not one's that has no share in it."""
    tenths = dict.fromkeys((3, 5, 6, 7, 15, 31, 63, 127, 255, 511), 0.1)
    assert np.cumsum([*tenths.values()])[-1] == 1.0 - 2.0**-53
    for k in range(5):
        lib = small_library(*(tenths if node == k else {0: 0.5, 1: 0.5} for node in range(5)))
        alone = [float(node == k) for node in range(5)]
        assert made.pick_between(lib, 0, 1, 2, 3, 4, *alone, 0.0) == 3
    longer = np.array([*tenths, 1023]), np.array([*tenths.values(), 1.0])  # left from another law
    assert made.pick(*longer, 10, 1.0 - 2.0**-53) == 511


def check_memory(made, clear, more):
    """A ball on a node works out that node and no other."""
    for shot, place in (
        ((0.0, -2.0, 2.0, 2.7), (61, 0, 0, 0)),
        ((0.0, 20.0, 30.0, 9.0), (61, 8, 5, 3)),
    ):
        value, seen = np.full(4, np.nan), np.full((NODES, 2), np.nan)
        made.carry(LIB, *shot, 0.5, clear, more, seen, value)
        worked_out = np.flatnonzero(~np.isnan(seen).any(axis=1))
        assert worked_out.tolist() == [np.ravel_multi_index(place, SIZES)]


def check(made):
    """AssertionError if a kernel does not do what it says."""
    for mask in range(1024):
        seen = sum(1 << (MIRROR[p] - 1) for p in MIRROR if mask >> (p - 1) & 1)
        assert made.mirror_mask(mask) == seen
    rng = np.random.default_rng(1)
    clear, more = rng.random(1024), 10.0 * rng.random(1024)
    clear[0] = more[0] = 0.0
    for k, shot in enumerate(shots()):
        check_simplex(made, shot)
        if k % 4 == 0 or k > 60:
            check_law(made, shot, clear, more)
    for b in (19.9, 20.0, 20.3, 90.0, 7.0 - 1e-7, 7.0, 7.0 + 1e-7):  # the grid ends at 20 boards
        check_simplex(made, (b, 3.0, 7.0, 6.8))
        check_simplex(made, (-b, 3.0, 7.0, 6.8))
    check_off_the_deck(made, clear, more)
    check_edges(made)
    check_last(made)
    check_memory(made, clear, more)
    assert PINS.size == made.MAX_OUTCOMES  # room for every mask


def test_compiled_kernels():
    check(_kernel)


def test_a_kernel_that_is_wrong_is_seen(changeable):
    wrong = changeable(_kernel)
    wrong.pick = lambda masks, weights, n, u: _kernel.pick(masks, weights, n, u + 1e-6)
    with pytest.raises(AssertionError):
        check(wrong)
