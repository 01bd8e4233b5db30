"""[[single_lane]] tables of center.toml: what they become, and what is refused with its line."""

import shutil

import pytest

from leaguesim.center import demo_center, read
from leaguesim.center.lanes import lane_words, pair_state
from leaguesim.center.priors import dimensions, perturbed
from leaguesim.errors import ProfileError
from leaguesim.lane.values import LaneState, Surface


@pytest.fixture
def with_lanes(tmp_path):
    """The demo center with text added to its center.toml."""

    def make(text):
        folder = tmp_path / "hall"
        shutil.copytree(demo_center(), folder, dirs_exist_ok=True)
        file = folder / "center.toml"
        file.write_text((demo_center() / "center.toml").read_text() + text)
        return folder

    return make


def test_a_lane_takes_what_it_does_not_say_from_the_surface(with_lanes):
    center = read(
        with_lanes(
            "[[single_lane]]\nnumber = 6\nfilm_factor = 0.9\nnote = 'invented'\n"
            "[[single_lane]]\nnumber = 5\nroughness_uin = 21.0\n"
        )
    )
    assert center.lane_states == (LaneState(5, roughness_uin=21.0), LaneState(6, film_factor=0.9))
    third = pair_state(center.lane_states, center.surface, 2)
    assert third.surface.roughness_uin == 18.0
    assert third.film_factor == 0.95
    assert pair_state(center.lane_states, center.surface, 0) == (center.surface, 1.0, (0.0, 0.0))


def test_a_center_without_the_key_has_no_lane_apart():
    assert read(demo_center()).lane_states == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "[[single_lane]]\nnumber = 3\n[[single_lane]]\nnumber = 3\n",
            "single_lane 2: number: said twice",
        ),
        (
            "[[single_lane]]\nnumber = 13\n",
            "single_lane 1: number: no such lane: there are 12, you wrote 13",
        ),
        ("[[single_lane]]\nnumber = 0\n", "single_lane 1: number: too small"),
        ("[[single_lane]]\nfilm_factor = 1.0\n", "single_lane 1: number: missing"),
        ("[[single_lane]]\nnumber = 1\ntilt_in = 0.05\n", "single_lane 1: tilt_in: too large"),
        ("[[single_lane]]\nnumber = 1\nroughness = 20\n", "did you mean roughness_uin?"),
    ],
)
def test_what_can_not_be_is_refused(with_lanes, text, said):
    with pytest.raises(ProfileError) as found:
        read(with_lanes(text))
    lines = str(found.value)
    assert said in lines, lines


def test_another_surface_keeps_the_film_factor_only():
    own, other = Surface("own", 15.0), Surface("new", 8.0)
    state = (LaneState(1, roughness_uin=30.0, tilt_in=0.01, film_factor=0.8, residue_units=1.0),)
    assert pair_state(state, own, 0).surface == Surface("own", 22.5, 0.005, residue_units=0.5)
    assert pair_state(state, other, 0, own=False) == (other, 0.9, (0.0, 0.0))


def test_doubt_about_the_lanes_reaches_a_lane_with_its_own_roughness(with_lanes):
    center = read(
        with_lanes(
            "[[single_lane]]\nnumber = 1\nroughness_uin = 30.0\n[[single_lane]]\nnumber = 2\n"
        )
    )
    axes = dimensions(center)
    point = [0.9 if axis.name == "roughness_uin" else 0.5 for axis in axes]
    there = perturbed(center, point)
    ratio = there.surface.roughness_uin / center.surface.roughness_uin
    assert ratio > 1.1
    assert there.lane_states[0].roughness_uin == pytest.approx(30.0 * ratio, rel=1e-12)
    assert there.lane_states[1] == center.lane_states[1]


def test_the_page_names_the_lanes_that_the_league_meets():
    states = (LaneState(2, film_factor=0.9), LaneState(9, film_factor=0.9))
    (said,) = lane_words(states, 3)
    assert said.startswith("Lanes 2 differ")
    assert lane_words(states[1:], 3) == []
