"""The lasso path against its conditions of optimality, and what it keeps of many inputs."""

import numpy as np
import pytest

from leaguesim.study.lasso import lasso, path, weights_at


def _made(seed: int, n: int = 40, count: int = 12) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    x = rng.standard_normal((n, count))
    y = 2.0 * x[:, 0] - x[:, 3] + 0.5 * rng.standard_normal(n)
    return x - x.mean(axis=0), y - y.mean()


@pytest.mark.parametrize("seed", range(6))
def test_every_point_of_the_path_is_the_lasso(seed: int) -> None:
    x, y = _made(seed)
    knots, held = path(x, y)
    for penalty in knots[0] * np.array([0.8, 0.4, 0.1]):
        w = weights_at(knots, held, np.array([penalty]))[0]
        pull = x.T @ (y - x @ w) / len(y)
        assert (np.abs(pull) <= penalty * (1.0 + 1e-8)).all()
        on = w != 0.0
        assert pull[on] == pytest.approx(penalty * np.sign(w[on]), rel=1e-6)


def test_few_of_many_inputs_are_kept() -> None:
    x, y = _made(3, 48, 30)
    weights, _, error = lasso(x, y)
    assert set(np.argsort(-np.abs(weights))[:2]) == {0, 3}
    assert 0.2 < error < 0.6
