"""The shipped conditions: volume, heads, crosswise ratio and symmetry of what they lay down."""

import numpy as np
import pytest

from leaguesim.center import demo_center, read
from leaguesim.lane.film import condition_film, volume_ml


def _film(name: str) -> np.ndarray:
    center = read(demo_center())
    film, _, _ = condition_film(center.conditions[name], sorted(center.conditioners))
    return film.sum(axis=0)


def _ratio(film: np.ndarray) -> float:
    return float(film[10:30, 17:22].mean() / film[10:30, 2:7].mean())


@pytest.mark.parametrize(
    ("name", "volume", "length", "low", "high"),
    [
        ("tuesday_40", 25.0, 40, 7.0, 9.0),  # house pair of the governing body: 40 ft, 8:1
        ("tuesday_40_blend", 25.0, 40, 7.0, 9.0),
        ("thursday_42", 27.0, 42, 2.5, 3.0),  # inside the governing body's 3:1 for sport
    ],
)
def test_center_shipped_pattern(
    name: str, volume: float, length: int, low: float, high: float
) -> None:
    film = _film(name)
    assert volume_ml(film) == pytest.approx(volume, rel=1e-6)
    assert film[length - 1].max() > 0.0
    assert film[length:].max() == 0.0
    assert low <= _ratio(film) <= high
    np.testing.assert_array_equal(film, film[:, ::-1])
    outside = film[10:30, 2:7]
    assert outside.min() >= 1.5


def test_center_house_heads_and_mean() -> None:
    film = _film("tuesday_40")
    assert 70.0 <= film[0, 17:22].mean() <= 120.0
    assert film[:40].mean() == pytest.approx(10.82, abs=0.01)  # 25 mL over 40 ft
    centre = film[:40, 19]
    assert (np.diff(centre) <= 1e-12).all()  # front-loaded
    assert (np.diff(film[12, :20]) >= -1e-12).all()  # tapers crosswise


@pytest.mark.parametrize(
    ("style", "boards"),
    [("stroker", (4.0, 4.0)), ("straight", (4.5, 4.5)), ("tweener", (3.0, 4.0)),
     ("power", (3.0, 4.0)), ("two_handed", (3.0, 4.0)), ("senior", (4.0, 4.5)),
     ("youth", (4.5, 8.0)), ("casual", (6.0, 9.0))],
)  # fmt: skip
def test_center_style_spread_at_the_arrows(style: str, boards: tuple[float, float]) -> None:
    """Lay-down and angle together give the published range of 10 shots (US Bowler, July 2012)."""
    found = read(demo_center()).styles[style]
    sd = np.hypot(found.laydown_sd_board, found.accuracy_deg.mean / 0.339)
    assert boards[0] * 0.97 <= sd * 3.08 <= boards[1] * 1.03
