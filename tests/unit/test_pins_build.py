"""The build command: seeded, resumable, and the same rows whatever the parts."""

import numpy as np
import pytest

pytest.importorskip("mujoco", reason="the extra 'pins' (mujoco) is not installed")

from leaguesim.pins import build
from leaguesim.pins.carry import EDGES, CarryLibrary
from leaguesim.pins.rigid import RigidSettings
from leaguesim.pins.spec import mask_of
from leaguesim.units import BOARD_M


def test_points_cover_the_range_and_crowd_the_pocket():
    points = np.array([build.first_ball_point(k, 1)[0] for k in range(3000)])
    for i in range(4):
        assert EDGES[2 * i] <= points[:, i].min()
        assert points[:, i].max() <= EDGES[2 * i + 1]
    assert points[:, 0].min() < -19
    assert points[:, 0].max() > 19
    assert points[:, 2].min() < 2.3
    assert points[:, 3].min() < 3.0
    assert (np.abs(points[:, 0] - 2) < 3).mean() > 0.4


def test_spare_offsets_reach_past_the_pins_of_a_leave():
    low, high = build.touching_boards(mask_of(10))
    centre = 18 * 0.0254 / BOARD_M
    assert low < centre - 5
    assert high == pytest.approx(19.5)


def test_a_row_does_not_depend_on_its_part():
    settings = RigidSettings()
    whole = build.run_part(0, 4, 0, 5, settings)
    late = build.run_part(2, 2, 0, 5, settings)
    for name, column in late.items():
        np.testing.assert_array_equal(whole[name][2:], column)


def test_a_stopped_build_goes_on_and_gathers(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(build, "PART_ROWS", 3)
    few = ["--rows", "6", "--leaves", "0", "--workers", "1", "--seed", "5", "--out", str(tmp_path)]
    assert build.main(few) == 0
    first = {p.name: p.stat().st_mtime_ns for p in tmp_path.glob("first-*.npz")}
    assert len(first) == 2
    more = ["--rows", "9", *few[2:]]
    assert build.main(more) == 0
    again = {p.name: p.stat().st_mtime_ns for p in tmp_path.glob("first-*.npz")}
    assert len(again) == 3
    assert first.items() <= again.items()
    library = CarryLibrary.load(tmp_path / "carry.npz")
    assert library.settings["rows"] == 9
    assert library.settings["seed"] == 5
    assert "shots" in capsys.readouterr().err
