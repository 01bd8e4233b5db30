"""Parameter runs, the emulator of them, perturbed libraries, and the maps."""

import numpy as np
import pytest

from leaguesim.pins import doubt, maps, runs
from leaguesim.pins.carry import CarryLibrary, read_library
from leaguesim.pins.rigid import RigidSettings
from leaguesim.pins.spec import FULL_RACK, mask_of


@pytest.fixture(scope="module")
def library():
    return CarryLibrary.load()


@pytest.fixture(scope="module")
def shipped():
    return read_library(doubt.SHIPPED)


def test_no_effect_is_mixed_with_that_of_two():
    levels = runs.design().astype(int)
    assert (levels[0] == 0).all()
    ends = levels[1:]
    assert (ends.T @ ends == 16 * np.eye(8, dtype=int)).all()
    for i in range(8):
        for j in range(i):
            assert not (ends.T @ (ends[:, i] * ends[:, j])).any()


def test_level_nought_is_the_librarys_setting_and_ends_are_the_ranges():
    assert runs.setting(np.zeros(8)) == RigidSettings()
    low, high = runs.setting(-np.ones(8)), runs.setting(np.ones(8))
    for name, ends in runs.RANGES.items():
        if name != "variation":
            assert (getattr(low, name), getattr(high, name)) == pytest.approx(ends)
    assert high.spotting_sd_m == pytest.approx(2.0 * RigidSettings().spotting_sd_m)
    assert low.mass_sd_kg == pytest.approx(0.5 * RigidSettings().mass_sd_kg)


def test_the_shipped_runs_are_many_and_made_with_these_ranges(shipped):
    arrays, settings = shipped
    assert arrays["masks"].shape == (settings["shots"], 17)
    assert settings["shots"] >= 300
    assert settings["ranges"] == {name: list(ends) for name, ends in runs.RANGES.items()}
    assert settings["library_rows"] == CarryLibrary.load().settings["rows"]
    assert doubt.SHIPPED.stat().st_size < 500_000
    again = np.array([runs.shot_point(k, settings["seed"])[0] for k in range(5)])
    np.testing.assert_allclose(arrays["points"][:5], again, atol=1e-5)


def test_the_shipped_emulator_is_the_fit_of_the_shipped_runs(shipped, library):
    arrays, _ = shipped
    again = doubt.fit(library, arrays["points"].astype(float), arrays["masks"])
    np.testing.assert_allclose(arrays["mean"], again.mean, atol=2e-4)


def test_the_emulator_foretells_settings_it_has_not_seen(shipped, library):
    """Fit on half the shots, foretell the other half: better than the library's own rates."""
    arrays, _ = shipped
    points, masks = arrays["points"].astype(float), arrays["masks"]
    half = np.arange(len(points)) % 2 == 0
    known = doubt.fit(library, points[half], masks[half])
    shares = doubt.class_shares(library, points[~half])
    levels = runs.design().astype(float)
    gain = 0.0
    for s in range(1, 17):
        move = doubt.shifts(points[~half, 0], points[~half, 1], levels[s], known.coefficients())
        tilted = shares * np.exp(move)
        rate = tilted[:, 0] / tilted.sum(1)
        struck = masks[~half, s] == FULL_RACK
        gain += np.sum((shares[:, 0] - struck) ** 2 - (rate - struck) ** 2)
    assert gain > 0.0


def test_doubt_is_felt_where_strikes_can_happen_and_nowhere_else(library):
    pocket = doubt.strike_rate_doubt(2.5, 5.0, 7.5, 6.8)
    assert 0.01 < pocket < 0.25
    far = doubt.strike_rate_doubt([-15.0, 15.0, 30.0], 2.0, 7.5, 6.8)
    assert far.shape == (3,)
    assert (far < 0.02).all()
    assert far[2] == 0.0


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_doubt_refuses_what_strike_rate_refuses(bad):
    with pytest.raises(ValueError, match="entry_deg"):
        doubt.strike_rate_doubt(2.0, bad, 7.5, 6.8)
    with pytest.raises(ValueError, match="speed_mps"):
        doubt.strike_rate_doubt(2.0, 5.0, -7.5, 6.8)


@pytest.mark.parametrize("levels", [np.zeros(7), np.full(8, 1.1), np.full(8, np.nan)])
def test_levels_outside_the_ranges_are_refused(library, levels):
    with pytest.raises(ValueError, match="levels"):
        doubt.perturbed(library, levels)


def test_level_nought_changes_no_outcome(library):
    same = doubt.perturbed(library, np.zeros(8))
    np.testing.assert_array_equal(same.rows["mask"], library.rows["mask"])


def test_a_perturbed_library_moves_as_the_emulator_says(library):
    levels = np.array([0, 1, 0, -1, 0, 1, 0, 0.5])
    other = doubt.perturbed(library, levels)
    changed = other.rows["mask"] != library.rows["mask"]
    assert 0.01 < changed.mean() < 0.4
    offset, angle = np.linspace(1.2, 4.0, 29), np.full(29, 5.0)
    points = np.column_stack([offset, angle, np.full(29, 7.5), np.full(29, 6.8)])
    tilted = doubt.class_shares(library, points) * np.exp(doubt.shifts(offset, angle, levels))
    expected = (tilted[:, 0] / tilted.sum(1)).mean()
    got = other.strike_rate(offset, angle, 7.5, 6.8)[0].mean()
    assert got == pytest.approx(expected, abs=0.03)


def test_shifts_are_mirrored_on_the_left():
    levels = np.linspace(-1, 1, 8)
    right = doubt.shifts(np.array([2.0]), np.array([3.0]), levels)
    left = doubt.shifts(np.array([-2.0]), np.array([-3.0]), levels)
    np.testing.assert_allclose(left, right[:, [0, 2, 1, 3]])


def test_discs_on_leaves_they_were_not_tuned_on(shipped, library):
    arrays, settings = shipped
    leaves = np.unique(arrays["leave"])
    rigid = library.rows["second_leaves"][library.rows["second_rigid"] == 1]
    assert len(leaves) == 200
    assert not np.isin(leaves, rigid).any()
    again = runs.leave_gap(arrays)
    assert again == pytest.approx(settings["leave_gap"], abs=1e-9)
    assert again["rms"] < 0.12
    assert abs(again["bias"]) < 0.02


def test_maps_agree_with_the_librarys_own_rates(library):
    offsets, angles = np.array([0.0, 2.4, 3.0, 4.5]), np.array([2.0, 6.0])
    seen = maps.carry_map(library, offsets, angles)
    rate = library.strike_rate(seen.offset_board, seen.entry_deg, maps.LEAGUE_MPS, maps.LEAGUE_KG)
    np.testing.assert_allclose(seen.strike, rate[0], atol=0.06)
    pocket = (seen.offset_board == 3.0) & (seen.entry_deg == 6.0)
    assert seen.leave[pocket] == mask_of(10)
    assert (seen.strike + seen.ten + seen.seven <= 1.0 + 1e-12).all()
    assert (seen.off_spot > 0).any()


def test_a_map_names_no_leave_without_rows(library):
    seen = maps.carry_map(library, np.array([60.0]), np.array([2.0]))
    assert seen.rows[0] == 0
    assert seen.leave[0] == -1
