"""Every pattern that a search may lay keeps to the limits of its goal and to what the machine can lay."""

from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leaguesim.center import demo_center, read
from leaguesim.errors import InputError
from leaguesim.lane.film import bands_film
from leaguesim.lane.values import Band
from leaguesim.play.aims import Goal, Limits, Machine
from leaguesim.study import tunesearch
from leaguesim.study.tunepattern import LIMIT_FT, bands_of, condition_of
from leaguesim.study.tunesearch import Space, pool_of

CONDITIONERS = read(demo_center()).conditioners
OILS = sorted(CONDITIONERS)
CLOSE = 1e-6


def span(low: float, high: float, least: float) -> st.SearchStrategy[tuple[float, float]]:
    """Two limits that leave room between them."""
    return st.tuples(st.floats(low, high - least), st.floats(least, high - low)).map(
        lambda t: (t[0], min(t[0] + t[1], high))
    )


@st.composite
def limits(draw: st.DrawFn) -> Limits:
    length, volume = draw(span(30.0, 50.0, 1.5)), draw(span(10.0, 40.0, 1.0))
    right, left = draw(span(1.0, 14.0, 1.0)), draw(span(1.0, 14.0, 1.0))
    cost = draw(st.none() | st.floats(0.05, 0.6))
    return Limits(*length, *volume, *right, *left, cost_high=cost)


machines = st.builds(
    Machine,
    smallest_dose_ml=st.floats(0.05, 0.5),
    shortest_band_ft=st.floats(0.5, 12.0),
    length_step_ft=st.sampled_from([0.25, 0.5, 1.0, 2.0, 3.0]),
    share_step=st.sampled_from([0.05, 0.125, 0.25, 0.5]),
    longest_ft=st.floats(35.0, 60.0),
)


@pytest.fixture(autouse=True, scope="module")
def small_pool() -> Iterator[None]:
    """A pool of 64 patterns in place of 512: the rules are the same, the rest only takes time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tunesearch, "POOL", 64)
        yield


def whole(value: float, step: float) -> bool:
    return abs(value / step - round(value / step)) < 1e-4


@settings(deadline=None, max_examples=60)
@given(limits(), machines, st.booleans(), st.integers(0, 999))
def test_tune_patterns_keep_every_limit(
    asked: Limits, machine: Machine, blend: bool, seed: int
) -> None:
    """All that the search starts from; where nothing is left, a sentence says which limits did it."""
    goal = Goal("g", "least-spread", limits=asked, machine=machine)
    space = Space(goal, [("amber", "slate")] if blend else [("amber",), ("slate",)])
    try:
        pool = pool_of(space, CONDITIONERS, seed, "x")
    except InputError as none:
        told = str(none)
        pool = ()
    if len(pool) == 0:
        assert "the limits leave no condition" in told
        assert " excludes " in told
    for u in pool[:8]:
        bands = bands_of(space.recipe(u), machine)
        assert condition_of("x", "X", space.recipe(u), machine).bands == bands
        check(bands, asked, machine)


def check(bands: tuple[Band, ...], asked: Limits, machine: Machine) -> None:
    film = bands_film(bands, OILS)
    for b in bands:
        assert whole(b.volume_ml, machine.smallest_dose_ml)
        assert b.volume_ml >= machine.smallest_dose_ml - CLOSE
        assert b.to_ft - b.from_ft >= machine.shortest_band_ft - CLOSE
        assert whole(b.to_ft, machine.length_step_ft)
        assert whole(b.from_ft, machine.length_step_ft)
        assert sum(share for _, share in b.shares) == pytest.approx(1.0)
        assert all(whole(share, machine.share_step) or share == 1.0 for _, share in b.shares)
    length, volume = max(b.to_ft for b in bands), sum(b.volume_ml for b in bands)
    assert length <= machine.longest_ft + CLOSE
    assert asked.length_low_ft - CLOSE <= length <= asked.length_high_ft + CLOSE
    assert asked.volume_low_ml - CLOSE <= volume <= asked.volume_high_ml + CLOSE
    if asked.cost_high is not None:
        prices = [CONDITIONERS[n].price_per_litre for b in bands for n, _ in b.shares]
        assert None not in prices
        paid = sum(
            CONDITIONERS[n].price_per_litre * share * b.volume_ml / 1000.0
            for b in bands
            for n, share in b.shares
        )
        assert paid <= asked.cost_high + CLOSE
    total = film.sum(axis=0)
    sides = ((slice(2, 7), asked.ratio_right_low, asked.ratio_right_high),
             (slice(32, 37), asked.ratio_left_low, asked.ratio_left_high))  # fmt: skip
    for outside, low, high in sides:
        ratio = max(total[x, 17:22].mean() / total[x, outside].mean() for x in LIMIT_FT)
        assert low - 1e-3 <= ratio <= high + 1e-3
