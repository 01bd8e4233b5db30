"""The carry library: loading, refusing, drawing, and what a wrong argument gets."""

import json
import subprocess
import sys

import numpy as np
import pytest

from leaguesim.errors import LibraryError
from leaguesim.pins import _kernel
from leaguesim.pins.carry import SHIPPED, CarryLibrary, digest, read_library, write_library
from leaguesim.pins.spec import FULL_RACK, mask_of


@pytest.fixture(scope="module")
def library():
    return CarryLibrary.load()


@pytest.fixture
def buffers():
    return np.empty(_kernel.MAX_OUTCOMES, np.int64), np.empty(_kernel.MAX_OUTCOMES)


def test_the_shipped_file_is_small_and_holds_enough(library):
    assert SHIPPED.stat().st_size < 3_000_000
    assert len(library.rows["mask"]) >= 6000
    assert library.settings["rows"] == len(library.rows["mask"])


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(LibraryError, match="missing"):
        CarryLibrary.load(tmp_path / "none.npz")


@pytest.mark.parametrize("keep", [0, 100, -1000])
def test_a_cut_file_is_refused(tmp_path, keep):
    bent = tmp_path / "bent.npz"
    bent.write_bytes(SHIPPED.read_bytes()[:keep])
    with pytest.raises(LibraryError, match="damaged"):
        CarryLibrary.load(bent)


def test_one_changed_row_is_refused(tmp_path):
    arrays, settings = read_library(SHIPPED)
    text = json.dumps(settings, sort_keys=True)
    mark = digest(arrays, text)
    arrays["mask"] = arrays["mask"].copy()
    arrays["mask"][7] ^= 1
    bent = tmp_path / "bent.npz"
    np.savez(bent, **arrays, settings=np.array(text), digest=np.array(mark))
    with pytest.raises(LibraryError, match="digest"):
        CarryLibrary.load(bent)


def test_another_version_is_refused(tmp_path, monkeypatch):
    arrays, settings = read_library(SHIPPED)
    settings.pop("version")
    monkeypatch.setattr("leaguesim.pins.carry.VERSION", 99)
    write_library(tmp_path / "new.npz", arrays, settings)
    monkeypatch.undo()
    with pytest.raises(LibraryError, match="version 99"):
        CarryLibrary.load(tmp_path / "new.npz")


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("place", [0, 1, 2, 3])
def test_a_number_must_be_finite(library, place, bad):
    names = ("offset_boards", "entry_deg", "speed_mps", "ball_kg")
    arguments = [2.0, 5.0, 7.5, 6.8]
    arguments[place] = bad
    for call in (
        lambda: library.draw(*arguments, np.random.default_rng(0)),
        lambda: library.strike_rate(*arguments),
    ):
        with pytest.raises(ValueError, match=names[place]):
            call()


@pytest.mark.parametrize(("speed", "mass", "name"), [
    (0.0, 6.8, "speed_mps"), (-7.0, 6.8, "speed_mps"), (7.5, 0.0, "ball_kg"), (7.5, -1, "ball_kg"),
])  # fmt: skip
def test_speed_and_mass_must_be_positive(library, speed, mass, name):
    with pytest.raises(ValueError, match=name):
        library.draw(2.0, 5.0, [7.5, speed], mass, np.random.default_rng(0))


@pytest.mark.parametrize("rack", [0, -1, 1024, 2.5])
def test_a_rack_is_a_mask_of_standing_pins(library, rack):
    with pytest.raises(ValueError, match="rack"):
        library.draw(2.0, 5.0, 7.5, 6.8, np.random.default_rng(0), rack=rack)


def test_shapes_that_do_not_go_together_are_refused(library):
    with pytest.raises(ValueError, match="shapes"):
        library.draw(np.zeros(3), np.zeros(2), 7.5, 6.8, np.random.default_rng(0))


def test_the_answer_has_the_broadcast_shape(library):
    rng = np.random.default_rng(0)
    drawn = library.draw(np.zeros((3, 1)), np.zeros((1, 4)), 7.5, 6.8, rng)
    assert drawn.shape == (3, 4)
    assert np.issubdtype(drawn.dtype, np.integer)
    assert library.draw(np.empty(0), 5.0, 7.5, 6.8, rng).shape == (0,)
    rate, se = library.strike_rate([2.0, 2.5], 5.0, 7.5, 6.8)
    assert rate.shape == se.shape == (2,)


def test_beyond_the_deck_is_the_gutter(library):
    rng = np.random.default_rng(0)
    for rack in (FULL_RACK, mask_of(10), mask_of(7)):
        drawn = library.draw([-19.6, 19.6, 40.0, -300.0], 5.0, 7.5, 6.8, rng, rack=rack)
        assert not drawn.any()
    assert library.strike_rate(25.0, 5.0, 7.5, 6.8) == (0.0, 0.0)


def test_an_edge_ball_takes_the_corner_and_little_else_and_a_pocket_ball_most(library):
    rng = np.random.default_rng(1)
    right = library.draw(np.full(400, 17.5), 1.0, 7.5, 6.8, rng)
    assert ((right & mask_of(10)) > 0).mean() > 0.9
    assert np.bitwise_count(right).mean() < 5.0
    pocket = library.draw(np.full(400, 2.4), 5.0, 7.5, 6.8, rng)
    assert np.bitwise_count(pocket).mean() > 9.0


@pytest.mark.parametrize(
    "place", [(2.4, 5.0, 7.5, 6.8), (0.0, 1.0, 6.0, 5.5), (-8.0, 0.0, 3.0, 3.0)]
)
def test_a_law_is_sorted_sums_to_one_and_is_picked_monotonically(library, buffers, place):
    masks, weights = buffers
    n = _kernel.outcome_law(library.arrays, *place, masks, weights)
    assert weights[:n].sum() == pytest.approx(1.0, abs=1e-12)
    assert (weights[:n] > 0).all()
    order = [(int(m).bit_count(), int(m)) for m in masks[:n]]
    assert order == sorted(set(order))
    picks = [_kernel.pick(masks, weights, n, u) for u in np.linspace(0, 1 - 1e-12, 500)]
    pins = [p.bit_count() for p in picks]
    assert pins == sorted(pins)
    assert set(picks) <= set(masks[:n].tolist())


def test_one_uniform_a_shot_and_the_same_luck_gives_the_same_pins(library):
    offsets = np.linspace(-5, 8, 300)
    a = library.draw(offsets, 5.0, 7.5, 6.8, np.random.default_rng(3))
    b = library.draw(offsets, 5.0, 7.5, 6.8, np.random.default_rng(3))
    assert (a == b).all()
    rng = np.random.default_rng(3)
    for rack in (FULL_RACK, mask_of(10)):
        library.draw(offsets, 5.0, 7.5, 6.8, rng, rack=rack)
    fresh = np.random.default_rng(3)
    fresh.random(600)
    assert rng.random() == fresh.random()


def test_more_luck_never_means_fewer_pins(library):
    luck = np.random.default_rng(5).random(400)

    class Fixed(np.random.Generator):
        def random(self, shape):
            return np.broadcast_to(self.u, shape).copy()

    rng = Fixed(np.random.PCG64(0))
    before = np.zeros(400, int)
    for rng.u in np.sort(luck)[::40]:
        pins = np.bitwise_count(library.draw(np.linspace(-6, 6, 400), 4.0, 7.0, 6.5, rng))
        assert (pins >= before).all()
        before = pins


def test_strike_rate_is_the_mean_of_draws(library):
    n = 40000
    for place in ((2.4, 5.5, 7.5, 6.8), (1.0, 2.0, 6.5, 6.0)):
        rate, se = library.strike_rate(*place)
        drawn = library.draw(np.full(n, place[0]), *place[1:], np.random.default_rng(2))
        share = (drawn == FULL_RACK).mean()
        assert abs(share - rate) < 5 * (rate * (1 - rate) / n) ** 0.5 + 1e-9
        assert 0 < se < 0.2


def test_outside_the_sampled_range_is_told(library):
    out = library.outside_range([5.0, 9.0, 5.0, 5.0], [7.5, 7.5, 11.0, 7.5], [6.8, 6.8, 6.8, 2.0])
    assert out.tolist() == [False, True, True, True]


def test_every_leave_has_a_second_ball_law(library):
    second = library.second_ball()
    left = np.unique(FULL_RACK - library.rows["mask"].astype(int))
    left = left[left > 0]
    assert (second.index[left] >= 0).all()
    assert (second.leave_masks[second.index[left]] == left).all()
    assert second.law.shape == (len(second.leave_masks), len(second.offsets_board), 11)
    assert second.law.sum(axis=2) == pytest.approx(1.0, abs=1e-5)
    pins = np.bitwise_count(second.leave_masks)
    for j in range(11):
        assert not second.law[pins < j, :, j].any()
    inside = second.masks & ~np.repeat(
        second.leave_masks, np.diff(second.starts).reshape(len(pins), -1).sum(axis=1)
    )
    assert not inside.any()


def test_a_ball_at_a_corner_pin_converts_it_and_one_far_off_does_not(library):
    rng = np.random.default_rng(0)
    hit = library.draw(np.full(200, 17.0), 0.0, 7.5, 6.8, rng, rack=mask_of(10))
    assert (hit == mask_of(10)).mean() > 0.95
    miss = library.draw(np.full(200, 5.0), 0.0, 7.5, 6.8, rng, rack=mask_of(10))
    assert not miss.any()


def test_a_rack_no_first_ball_leaves_still_has_an_answer(library):
    known = set(library.second_ball().leave_masks.tolist())
    odd = next(m for m in range(1, 1023) if m not in known)
    drawn = library.draw(
        np.linspace(-10, 10, 50), 0.0, 7.5, 6.8, np.random.default_rng(0), rack=odd
    )
    assert not (drawn & ~odd).any()
    assert drawn.any()


def test_importing_the_room_is_light():
    code = "import leaguesim.pins, sys; print('numba' in sys.modules, 'mujoco' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]
