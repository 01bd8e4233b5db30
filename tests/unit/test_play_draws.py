"""A bowler's night of luck: layout, laws, and what does not move it."""

from hashlib import sha256

import numpy as np
import pytest
from scipy.stats import kstest

from leaguesim.play import _kernel
from leaguesim.play.draws import draws_a_night, night_draws
from leaguesim.streams import NIGHTS_PER_STREAM, Purpose

FIRST = _kernel.FORM_DRAWS
WIDTH = _kernel.SLOT_DRAWS


def test_the_layout_is_what_it_always_was():
    """Golden: any change of the draws' layout or law changes results and belongs in the changelog."""
    draws = night_draws(1, "Ada K.", block=0, games=3)
    assert draws.shape == (32, draws_a_night(3)) == (32, 562)
    u = draws[:, FIRST + WIDTH - 1 :: WIDTH]
    assert sha256(u.tobytes()).hexdigest()[:16] == "8664c104d2127e85"
    rounded = np.round(draws, 9) + 0.0
    assert sha256(rounded.tobytes()).hexdigest()[:16] == "4f1e3d830b6f6ff6"


def test_every_slot_a_night_can_need_is_reserved():
    """Form, 30 practice balls (the most a center may ask for), 21 deliveries a game."""
    for games in range(1, 9):
        assert draws_a_night(games) == FIRST + WIDTH * (30 + 21 * games)


def test_blocks_replicates_purposes_and_people_differ():
    base = night_draws(1, "a", block=0, games=1)
    others = [
        night_draws(2, "a", block=0, games=1),
        night_draws(1, "b", block=0, games=1),
        night_draws(1, "a", block=1, games=1),
        night_draws(1, "a", block=0, games=1, replicate=1),
        night_draws(1, "a", block=0, games=1, purpose=Purpose.EARLIER_PLAY),
    ]
    assert np.array_equal(base, night_draws(1, "a", block=0, games=1))
    for other in others:
        assert (base != other).mean() > 0.999


@pytest.fixture(scope="module")
def many():
    return np.concatenate([night_draws(3, f"b{k}", block=0, games=3) for k in range(24)])


def test_errors_are_standard_normal_and_pins_uniform(many):
    """Kolmogorov-Smirnov on each of the six columns of a slot; false alarm 6e-4 in all."""
    slots = many[:, FIRST:].reshape(-1, WIDTH)
    for column in range(WIDTH - 1):
        assert kstest(slots[:, column], "norm").pvalue > 1e-4, column
    assert kstest(slots[:, -1], "uniform").pvalue > 1e-4
    assert ((slots[:, -1] >= 0.0) & (slots[:, -1] < 1.0)).all()
    assert np.isfinite(many).all()


def test_the_errors_of_a_ball_are_independent(many):
    """Correlations between the columns of a slot within 4.5 standard errors (false alarm 1e-4)."""
    slots = many[:, FIRST:].reshape(-1, WIDTH)
    r = np.corrcoef(slots.T)[np.triu_indices(WIDTH, 1)]
    assert np.abs(r).max() < 4.5 / np.sqrt(len(slots))


def test_day_form_has_the_stated_spread(many):
    """exp(0.12 z), and strays of one own sd, over 768 nights, within 4 standard errors (false alarm 2e-4)."""
    n = len(many)
    assert n == 24 * NIGHTS_PER_STREAM
    size = np.log(np.exp(_kernel.FORM_ACCURACY * many[:, 0]))
    strays = [_kernel.FORM_STRAYS * many[:, c] for c in range(1, _kernel.FORM_DRAWS)]
    for values, sd in ((size, 0.12), *((stray, 1.0) for stray in strays)):
        assert abs(values.mean()) < 4.0 * sd / np.sqrt(n)
        assert abs(values.std() - sd) < 4.0 * sd / np.sqrt(2.0 * n)
