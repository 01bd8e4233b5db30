"""Indices against an analytic answer, the emulator against functions it can and cannot follow."""

import numpy as np
import pytest

from leaguesim.study.sensitivity import FEWEST_R2, emulate, foretold, indices

# Ishigami & Homma (1990) with a = 7, b = 0.1: variance by parts in closed form (from memory).
A, B = 7.0, 0.1


def _ishigami(x: np.ndarray) -> np.ndarray:
    return np.sin(x[:, 0]) + A * np.sin(x[:, 1]) ** 2 + B * x[:, 2] ** 4 * np.sin(x[:, 0])


def _exact() -> tuple[list[float], list[float]]:
    first = 0.5 * (1.0 + B * np.pi**4 / 5.0) ** 2
    second = A**2 / 8.0
    joint = B**2 * np.pi**8 * (1.0 / 18.0 - 1.0 / 50.0)
    whole = first + second + joint
    return [first / whole, second / whole, 0.0], [
        (first + joint) / whole,
        second / whole,
        joint / whole,
    ]


def _stretch(u: np.ndarray) -> np.ndarray:
    return np.pi * (2.0 * u - 1.0)


def test_indices_of_a_function_with_a_known_answer() -> None:
    first, total = indices(_ishigami, _stretch, [0, 1, 2], np.random.default_rng(4))
    assert first == pytest.approx(_exact()[0], abs=0.01)
    assert total == pytest.approx(_exact()[1], abs=0.01)


def test_a_group_takes_in_what_its_members_do_together() -> None:
    first, total = indices(_ishigami, _stretch, [0, 1, 0], np.random.default_rng(4))
    alone = 1.0 - _exact()[0][1]
    assert first == pytest.approx([alone, 1.0 - alone], abs=0.01)
    assert total == pytest.approx([alone, 1.0 - alone], abs=0.01)


def test_nothing_that_varies_has_no_indices() -> None:
    first, total = indices(lambda x: np.ones(len(x)), lambda u: u, [0, 1], np.random.default_rng(4))
    assert np.isnan(first).all()
    assert np.isnan(total).all()


def test_emulator_follows_bends_and_says_what_it_foretells() -> None:
    rng = np.random.default_rng(8)
    x = rng.standard_normal((128, 20))
    y = 3.0 * x[:, 0] - x[:, 1] + 0.8 * x[:, 2] ** 2 + 0.3 * rng.standard_normal(128)
    fresh = rng.standard_normal((4000, 20))
    truth = 3.0 * fresh[:, 0] - fresh[:, 1] + 0.8 * fresh[:, 2] ** 2
    off = emulate(x, y)(fresh) - truth
    really = 1.0 - (off**2).mean() / truth.var()
    assert really > 0.95
    assert foretold(x, y) == pytest.approx(really, abs=0.05)


def test_luck_that_nobody_foretells_is_taken_off() -> None:
    rng = np.random.default_rng(8)
    x = rng.standard_normal((128, 6))
    clean = 2.0 * x[:, 0] - x[:, 1]
    lucky = clean + 2.0 * rng.standard_normal(128)
    plain = foretold(x, lucky)
    assert 0.3 < plain < 0.65  # 5 of 9 of the variance is signal
    assert foretold(x, lucky, 4.0) > 0.8
    # What the regression misses is not taken for luck: signs of a product that it never sees.
    odd = np.sign(x[:, 2] * x[:, 3] * x[:, 4])
    assert foretold(x, 3.0 * odd + 0.1 * rng.standard_normal(128), 0.01) < FEWEST_R2
    assert np.isnan(foretold(x, lucky, 50.0))


@pytest.mark.parametrize("seeds", [range(3), pytest.param(range(3, 15), marks=pytest.mark.slow)])
def test_noise_is_not_taken_for_knowledge(seeds: range) -> None:
    told = []
    for k in seeds:
        rng = np.random.default_rng(k)
        told.append(foretold(rng.standard_normal((64, 25)), rng.standard_normal(64)))
    assert max(told) < FEWEST_R2
    assert np.isnan(foretold(np.zeros((8, 2)), np.ones(8)))
