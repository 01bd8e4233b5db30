"""Conditioners in words and figures as distributions, and centers drawn from them."""

import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from leaguesim.center import demo_center, dimensions, other_form, perturbed, read
from leaguesim.errors import InputError, ProfileError
from leaguesim.lane.mixture import mixture_of, thickened
from leaguesim.lane.priors import coarse_conditioner, conditioner_at, uncertain
from leaguesim.lane.values import Coarse, Conditioner
from leaguesim.study.prepare import lane_of

AMBER = Conditioner("amber")


def test_words_move_medians_the_way_they_say_and_widen_doubt() -> None:
    more = coarse_conditioner("x", Coarse("amber", "more", "thickened", "longer"), AMBER, {})
    less = coarse_conditioner("x", Coarse("amber", "less", "plain", "shorter"), AMBER, {})
    assert less.viscosity_mpas < AMBER.viscosity_mpas < more.viscosity_mpas
    assert less.boundary_factor < AMBER.boundary_factor < more.boundary_factor
    assert less.left_behind < AMBER.left_behind < more.left_behind
    assert less.base_share == 1.0 > more.base_share
    assert more.doubt.viscosity_log_sd > 2.0 * AMBER.doubt.viscosity_log_sd
    assert more.price_per_litre is None


def test_figures_win_over_words() -> None:
    c = coarse_conditioner("x", Coarse("amber", "more"), AMBER, {"viscosity_mpas": 50.0})
    assert c.viscosity_mpas == 50.0
    assert c.doubt.viscosity_log_sd == AMBER.doubt.viscosity_log_sd
    assert c.doubt.correlation == 0.0


def test_unknown_word_is_refused() -> None:
    with pytest.raises(InputError, match="friction must be one of"):
        coarse_conditioner("x", Coarse("amber", "grippy"), AMBER, {})


def test_draws_have_the_stated_spread_and_stay_in_range() -> None:
    c = coarse_conditioner("x", Coarse("amber", "same", "thickened", "longer"), AMBER, {})
    z = np.random.default_rng(7).standard_normal((4000, 2))
    drawn = [
        conditioner_at(c, {"viscosity_mpas": float(a), "boundary_factor": float(b)}) for a, b in z
    ]
    thick = np.log([d.viscosity_mpas for d in drawn])
    edge = np.log([d.boundary_factor for d in drawn])
    assert np.std(thick) == pytest.approx(c.doubt.viscosity_log_sd, rel=0.05)
    assert np.std(edge) == pytest.approx(c.doubt.boundary_log_sd, rel=0.05)
    assert np.corrcoef(thick, edge)[0, 1] == pytest.approx(c.doubt.correlation, abs=0.06)
    far = conditioner_at(c, {p.name: 7.0 for p in uncertain(c)})
    mixture_of(far)
    assert 0.0 < far.left_behind < 1.0


def test_the_middle_of_the_cube_is_the_center_and_names_are_unique() -> None:
    center = read(demo_center())
    axes = dimensions(center)
    assert len({a.name for a in axes}) == len(axes)
    assert perturbed(center, np.full(len(axes), 0.5)) == center


def test_each_axis_moves_the_center() -> None:
    center = read(demo_center())
    axes = dimensions(center)
    for i, axis in enumerate(axes):
        point = np.full(len(axes), 0.5)
        point[i] = 0.9
        assert perturbed(center, point) != center, axis.name


def test_only_conditioners_in_use_have_axes() -> None:
    center = read(demo_center())
    names = [a.name for a in dimensions(center, ["tuesday_40"])]
    assert any(n.startswith("amber") for n in names)
    assert not any(n.startswith("slate") or n == "blend viscosity" for n in names)


@pytest.mark.parametrize("point", [[0.5], [2.0] * 16])
def test_bad_points_are_refused(point: list[float]) -> None:
    with pytest.raises(InputError):
        perturbed(read(demo_center()), point)


def test_the_other_form_and_back() -> None:
    center = read(demo_center())
    other = other_form(center)
    assert other.friction.load_sharing == "contact"
    assert other_form(other).friction == center.friction


def test_application_residue_and_blend_error_reach_the_lane() -> None:
    center = read(demo_center())
    plain = lane_of(center, "tuesday_40_blend")
    more = lane_of(replace(center, film_factor=1.1, blend_z=1.0), "tuesday_40_blend")
    assert more.volume_ml() == pytest.approx(1.1 * plain.volume_ml(), rel=1e-12)
    blends = [m for m in plain.mixtures if m.viscosity_error > 0.0]
    assert blends
    for a, b in zip(plain.mixtures, more.mixtures, strict=True):
        ratio = b.law.kinematic_mm2ps(21.1) / a.law.kinematic_mm2ps(21.1)
        assert ratio == pytest.approx(np.exp(a.viscosity_error), rel=1e-9)
    dirty = lane_of(center, "tuesday_40", replace(center.surface, residue_units=0.5))
    clean = lane_of(center, "tuesday_40")
    assert np.allclose(dirty.film_units - clean.film_units, 0.5)
    assert (dirty.film[60:] == 0.0).all()


def test_thickened_by_one_is_the_same_mixture() -> None:
    oil = mixture_of(AMBER)
    assert thickened(oil, 1.0) is oil


def _with(tmp_path: Path, text: str) -> Path:
    folder = tmp_path / "center"
    shutil.copytree(demo_center(), folder)
    (folder / "conditioners" / "heard_of.toml").write_text(text, encoding="utf-8")
    return folder


def test_words_pass_the_door(tmp_path: Path) -> None:
    text = 'than = "amber"\nfriction = "more"\nkind = "thickened"\nwears = "longer"\n'
    made = read(_with(tmp_path, text)).conditioners["heard_of"]
    assert made.coarse == Coarse("amber", "more", "thickened", "longer")
    assert made.viscosity_mpas > 35.0


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('than = "amberr"\nfriction = "more"\n', "did you mean"),
        ('than = "amber"\nfriction = "mor"\n', "unknown word"),
        ('friction = "more"\n', "out of place"),
        ('than = "amber"\nwears = "longer"\nleft_behind = 0.7\n', "said twice"),
        ('than = "heard_of"\nfriction = "more"\n', "unknown conditioner"),
    ],
)
def test_faulty_words_are_told(tmp_path: Path, text: str, fault: str) -> None:
    with pytest.raises(ProfileError) as caught:
        read(_with(tmp_path, text))
    assert fault in str(caught.value)


def test_blends_say_their_viscosity_and_how_sure_it_is() -> None:
    notes = lane_of(read(demo_center()), "tuesday_40_blend").notes
    told = [n for n in notes if "its blends have" in n]
    assert len(told) == 1
    assert "38 to 46 mPa.s at 21.1 C, give or take 15%" in told[0]
    assert lane_of(read(demo_center()), "tuesday_40").notes == ()
