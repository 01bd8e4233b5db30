"""Accumulators: whole numbers, order-free, and refusing what is not a number."""

from dataclasses import fields

import numpy as np
import pytest

from leaguesim.errors import InputError, NumberError
from leaguesim.play import _kernel
from leaguesim.play.setting import Block
from leaguesim.run.rounds import MAX_WORKERS, worker_count
from leaguesim.run.totals import FADE_SHIFT, SCALE, Totals, add_block, add_groups, fixed, product


def _block(rng, nights=5, n=2, games=3):
    return Block(
        rng.uniform(100, 250, (nights, n, games)),
        rng.integers(0, 301, (nights, n, games)),
        rng.integers(0, 40, (nights, n, _kernel.COUNTS)),
        rng.uniform(0, 30, (nights, n, 2, 6)),
        np.zeros(2),
    )


def _summed(blocks, members):
    c, n, games = len(blocks), blocks[0].exact.shape[1], blocks[0].exact.shape[2]
    t = Totals.empty(c, n, games, len(members), _kernel.COUNTS)
    sums = np.zeros((c, blocks[0].exact.shape[0], len(members)), np.int64)
    add_block(t, np.arange(n), blocks, sums, members)
    add_groups(t, sums, members.sum(axis=1))
    return t


def test_sums_are_those_of_the_nights():
    rng = np.random.default_rng(3)
    a, b = _block(rng), _block(rng)
    members = np.array([[True, True], [False, True]])
    t = _summed([a, b], members)
    night = [x.exact.mean(axis=2) for x in (a, b)]
    assert t.nights == 5
    step = 20.0 / SCALE
    assert t.average / SCALE == pytest.approx(np.array([x.sum(axis=0) for x in night]), abs=step)
    assert t.square[0, 1] / SCALE == pytest.approx((night[0] * night[1]).sum(axis=0), abs=1e-2)
    assert np.array_equal(t.square[0, 1], t.square[1, 0])
    assert t.group[:, 1] / SCALE == pytest.approx([x[:, 1].sum() for x in night], abs=step)
    assert t.group[:, 0] / SCALE == pytest.approx([x.mean(axis=1).sum() for x in night], abs=step)
    fade = (a.exact[:, :, 0] - a.exact[:, :, -1]).sum(axis=0) + 5 * FADE_SHIFT
    assert t.fade[0] / SCALE == pytest.approx(fade, abs=step)
    assert t.n_scores.sum(axis=2).tolist() == [[15, 15], [15, 15]]
    assert np.array_equal(t.n_counts[1], b.counts.sum(axis=0))


def test_every_accumulator_is_a_whole_number_and_adds_in_any_order():
    rng = np.random.default_rng(4)
    members = np.ones((1, 2), np.bool_)
    parts = [_summed([_block(rng)], members) for _ in range(3)]

    def total(order):
        t = Totals.empty(1, 2, 3, 1, _kernel.COUNTS)
        for k in order:
            t.add(parts[k])
        return t

    a, b = total((0, 1, 2)), total((2, 0, 1))
    for f in fields(Totals):
        x, y = getattr(a, f.name), getattr(b, f.name)
        assert np.array_equal(x, y)
        assert f.name == "nights" or x.dtype == np.int64


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_what_is_not_a_number_stops_the_run_and_says_what(bad):
    with pytest.raises(NumberError, match="mean score of a night: a value is not a finite number"):
        fixed(np.array([1.0, bad]), "mean score of a night")


def test_two_thousand_perfect_nights_do_not_overflow():
    """The largest product that can occur: the fade, shifted, of 300 pins."""
    x = fixed(np.array([FADE_SHIFT + 300.0]), "fade")
    assert product(x, x)[0] * 2000 / SCALE / 2000 == pytest.approx(812.0**2)
    assert int(x[0]) ** 2 < 2**63
    assert int(product(x, x)[0]) * 100_000 < 2**63


@pytest.mark.parametrize("workers", [0, -1, MAX_WORKERS + 1])
def test_a_number_of_workers_out_of_range_is_refused(workers):
    with pytest.raises(InputError, match="workers: a whole number from 1 to 64"):
        worker_count(workers)


def test_workers_default_to_the_cores_there_are():
    assert 1 <= worker_count(None) <= MAX_WORKERS
    assert worker_count(3) == 3
