"""Library rows simulated again: the same shots, and fresh ones of the same law.

A shot repeats exactly on the machine that recorded it; elsewhere a changed last bit may tip a pin,
so what is compared is the distribution.  False-alarm rate of each comparison: under 1 in 1,000.
"""

import numpy as np
import pytest

pytest.importorskip("mujoco", reason="the extra 'pins' (mujoco) is not installed")

from leaguesim.pins import build, rigid_checks
from leaguesim.pins.carry import CarryLibrary
from leaguesim.pins.rigid import RigidDeck, RigidSettings

pytestmark = pytest.mark.slow


def test_recorded_rows_come_out_again_in_distribution():
    library = CarryLibrary.load()
    assert library.settings["parameters"] == vars(RigidSettings())
    n, seed = 60, library.settings["seed"]
    again = build.run_part(0, n, 0, seed, RigidSettings())
    np.testing.assert_allclose(again["offset_board"], library.rows["offset_board"][:n], atol=1e-5)
    now = np.bitwise_count(again["mask"]).astype(float)
    then = np.bitwise_count(library.rows["mask"][:n]).astype(float)
    gap = now - then
    assert abs(gap.mean()) < 3.5 * max(gap.std(), 1.0) / np.sqrt(n)


def test_fresh_pocket_shots_agree_with_the_librarys_strike_rate():
    library, deck, rng = CarryLibrary.load(), RigidDeck(), np.random.default_rng(11)
    n = 120
    offset, angle = rng.uniform(1.6, 3.2, n), rng.uniform(4.0, 6.5, n)
    down = [deck.shoot(b, a, 7.2, 6.5, rng).down for b, a in zip(offset, angle, strict=True)]
    struck = np.mean([mask == 1023 for mask in down])
    rate, se = library.strike_rate(offset, angle, 7.2, 6.5)
    spread = np.hypot((rate * (1 - rate)).sum() ** 0.5 / n, se.mean() / 3.0)
    assert abs(struck - rate.mean()) < 3.5 * spread


def test_half_the_step_gives_the_same_mean_pins():
    coarse, fine, error = rigid_checks.step_convergence(RigidSettings(), 150, 21)
    assert error < 0.2
    assert abs(coarse - fine) < 3.5 * error


def test_fresh_shots_of_a_child_agree_with_the_library_in_pins():
    """2.8 kg at 2.2 m/s, the corner of the sampled range: answered by wide averages, not clamped."""
    library, deck, rng = CarryLibrary.load(), RigidDeck(), np.random.default_rng(3)
    assert not library.outside_range(1.0, 2.2, 2.8)
    offset = rng.uniform(1.0, 4.0, 60)
    pins = np.array([deck.shoot(b, 1.0, 2.2, 2.8, rng).down.bit_count() for b in offset], float)
    drawn = np.bitwise_count(library.draw(np.repeat(offset, 50), 1.0, 2.2, 2.8, rng))
    assert abs(pins.mean() - drawn.mean()) < 3.5 * pins.std() / np.sqrt(len(pins))
