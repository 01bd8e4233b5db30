"""Posteriors, draws and the fitted file on a stand-in whose truth is known; no league is played."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom

from leaguesim.center.scores import read_scores
from leaguesim.errors import InputError
from leaguesim.study.backtest import backtest, by_chance
from leaguesim.study.emulator import FIGURES, learn
from leaguesim.study.mixed import Components
from leaguesim.study.posterior import (
    Fitted,
    Seen,
    forecast,
    kept_averages,
    kept_draws,
    kept_places,
    mean_sd,
    posterior,
    posterior_draws,
    read_fitted,
    spread_of,
)
from leaguesim.study.season import season_of
from leaguesim.study.traits import ACCURACY, SPARE, SPARE_LOG_SD, even_points, points_of


def _truth(points):
    """A made-up league: 40 pins a log of accuracy, 30 a log of spare skill."""
    a, s = np.log(points[:, ACCURACY]), np.log(points[:, SPARE])
    mean = 130.0 - 40.0 * a - 30.0 * s
    return np.stack([mean, 0.4 - 0.2 * a, 0.5 - 0.3 * s, np.full(len(a), 23.0)], axis=1)


@pytest.fixture(scope="module")
def emulators(small):
    center, out = small.center(), {}
    for name, style in center.styles.items():
        u = even_points(128, np.random.default_rng(1))
        at = points_of(style, center.roster[1], u)
        left = (np.arange(128) % 5 == 0).astype(float)
        out[name] = learn(style, left, at, _truth(at))
    return out


def test_the_stand_in_learns_a_smooth_truth_and_states_its_error(small, emulators):
    line = small.center().roster[7]
    e = emulators[line.style]
    at = points_of(e.style, line, even_points(64, np.random.default_rng(9)))
    off = e(False, at)[:, 0] - _truth(at)[:, 0]
    assert np.abs(off).max() < 1.0
    assert 0.0 < np.sqrt(e.error[0, 0]) < 1.0


def test_without_scores_the_posterior_is_the_prior(small, emulators):
    center = small.center()
    post = posterior(center, center.roster[7], emulators, None, 3)
    spare = spread_of(np.log(post.points[:, SPARE]), post.weight)
    assert spare[1] == pytest.approx(SPARE_LOG_SD, rel=0.01)


def test_scores_narrow_accuracy_and_tallies_narrow_spare_skill(small, emulators):
    center = small.center()
    line = center.roster[7]
    truth = points_of(center.styles[line.style], line, np.full((1, 6), 0.5))
    truth[0, ACCURACY] *= 1.1
    truth[0, SPARE] *= 0.8
    value = _truth(truth)[0]
    scores = Seen(np.array([0]), value[:1], np.array([[4.0]]))
    tallies = Seen(np.array([0, 1, 2]), value[:3], np.diag([4.0, 0.01**2, 0.015**2]))
    prior, plain, whole = (
        posterior(center, line, emulators, seen, 3) for seen in (None, scores, tallies)
    )
    sd = [[spread_of(np.log(p.points[:, k]), p.weight)[1] for k in (ACCURACY, SPARE)]
          for p in (prior, plain, whole)]  # fmt: skip
    assert sd[1][0] < 0.8 * sd[0][0]
    assert sd[1][1] > 0.8 * sd[0][1]  # an average hardly says what spares are worth
    assert sd[2][1] < 0.5 * sd[0][1]
    middle, width = spread_of(np.log(whole.points[:, SPARE]), whole.weight)
    assert abs(middle - np.log(truth[0, SPARE])) < 2.5 * width
    mean, spread = mean_sd(*forecast(plain, scores))
    assert abs(mean - value[0]) < 2.0
    assert spread < 2.0


def test_an_unknown_style_is_a_mixture(small, emulators):
    center = small.center()
    line = replace(center.roster[7], style="unknown")
    casual = points_of(center.styles["casual"], line, np.full((1, 6), 0.5))
    seen = Seen(np.array([0]), _truth(casual)[0, :1], np.array([[4.0]]))
    post = posterior(center, line, emulators, seen, 3)
    share = np.bincount(post.style, post.weight, minlength=len(post.names))
    assert share.sum() == pytest.approx(1.0)
    told = dict(zip(post.names, share, strict=True))
    assert told["casual"] > 10 * told["power"]


def test_averages_that_go_with_draws_have_the_law_of_the_forecast(small, emulators):
    center = small.center()
    seen = Seen(np.array([0]), np.array([172.0]), np.array([[16.0]]))
    post = posterior(center, center.roster[7], emulators, seen, 3)
    rng = np.random.default_rng(5)
    at = kept_places(post, rng, 2048)
    goals = kept_averages(post, seen, 0, at, rng)
    middle, sd = mean_sd(*forecast(post, seen))
    assert goals.mean() == pytest.approx(middle, abs=4.0 * sd / np.sqrt(2048))
    assert goals.std() == pytest.approx(sd, rel=0.08)
    assert np.isnan(kept_averages(post, None, 0, at, rng)).all()


@pytest.fixture(scope="module")
def fitted(small, emulators):
    center = small.center()
    posts = [posterior(center, r, emulators, None, 3) for r in center.roster]
    kept = [kept_draws(p, np.random.default_rng(2)) for p in posts]
    names = tuple(tuple(p.names[k] for k in s) for (s, _), p in zip(kept, posts, strict=True))
    return Fitted(center, names, np.stack([p for _, p in kept]), (True,) * len(posts))


def test_draws_are_rosters_that_repeat_by_seed_and_never_tie(fitted):
    draws = posterior_draws(fitted, 128, 5)
    assert [b.bowler for b in draws[0]] == [r.bowler for r in fitted.center.roster]
    assert posterior_draws(fitted, 128, 5) == draws
    assert all(b.average is None for roster in draws for b in roster)
    drawn = sorted(roster[1].accuracy_deg for roster in draws)
    assert drawn == pytest.approx(sorted(fitted.points[1, :, ACCURACY]))
    assert draws[0][0].speed_mph == 16.5  # given by the roster
    assert len(posterior_draws(fitted, 200, 5)) == 200
    with pytest.raises(InputError):
        posterior_draws(fitted, 0, 5)


def test_the_fitted_file_reads_back_and_refuses_another_center(fitted, tmp_path):
    file = tmp_path / "fitted.json"
    file.write_text(fitted.to_json())
    back = read_fitted(file, fitted.center)
    assert back.styles == fitted.styles
    assert np.allclose(back.points, fitted.points, rtol=1e-5)
    assert np.isnan(back.averages).all()  # nobody had scores
    known = replace(fitted, averages=np.full(fitted.points.shape[:2], 171.2345))
    file.write_text(known.to_json())
    assert np.allclose(read_fitted(file, fitted.center).averages, 171.2345, atol=1e-3)
    file.write_text(known.to_json().replace("[171.", "[[1], 171.", 1))
    with pytest.raises(InputError, match=r"fitted\.json: not a fitted roster"):
        read_fitted(file, fitted.center)
    other = replace(fitted.center, roster=(replace(fitted.center.roster[0], bowler="Zoe"),))
    with pytest.raises(InputError, match="nothing about 'Zoe'"):
        read_fitted(file, other)
    file.write_text("{}")
    with pytest.raises(InputError, match=r"fitted\.json"):
        read_fitted(file, fitted.center)


def _season(small, tmp_path, rows):
    center = replace(small.center(), folder=tmp_path)
    (tmp_path / "scores.csv").write_text("week,bowler,game1,game2,game3\n" + "\n".join(rows))
    return center, season_of(center, read_scores(center))


def _rows(small, shift=0.0, weeks=30):
    rng = np.random.default_rng(4)
    people = small.center().roster
    level = {r.bowler: 150 + 5 * k for k, r in enumerate(people)}
    return [
        f"{w},{r.bowler}," + ",".join(
            str(int(np.clip(level[r.bowler] + shift * (w > 15) + 22 * rng.standard_normal(), 0, 300)))
            for _ in range(3)
        )
        for w in range(1, weeks + 1) for r in people
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("rows", "why"),
    [
        (["1,Ann,150,151,152"], r"scores\.csv:2: nobody has 9 games; Ann has most, 3"),
        ([f"{w},Ann,150,151,152" for w in range(1, 9)], r"scores\.csv:2: Ann alone"),
        ([f"{w},{b},150,150,150" for w in range(1, 9) for b in ("Ann", "Bea")],
         r"scores\.csv:2: all scores are 150"),
        (["1,Zoe,150,151,152"], r"no score could be used; first: .*scores\.csv:2"),
    ],
)  # fmt: skip
def test_a_season_that_cannot_be_fitted_is_refused_in_one_line(small, tmp_path, rows, why):
    with pytest.raises(InputError, match=why):
        _season(small, tmp_path, rows)


def test_who_has_under_nine_games_is_left_out_with_a_reason(small, tmp_path):
    rows = [r for r in _rows(small) if not (",Hal," in r and int(r.split(",")[0]) > 2)]
    _, season = _season(small, tmp_path, rows)
    assert not season.enough("Hal")
    assert "6 games, 9 are needed" in season.why_not("Hal")


def test_the_back_test_knows_its_errors(small, tmp_path, emulators):
    center, season = _season(small, tmp_path, _rows(small))
    figures, table = backtest(center, season, emulators, 3)
    assert figures["bowlers"] == len(table) == 8
    error = table["actual"] - table["forecast"]
    assert figures["rms_error"] == pytest.approx(float(np.sqrt((error**2).mean())))
    assert figures["coverage_95"] >= figures["coverage_80"] >= figures["coverage_50"]
    naive = float(((table["actual"] - table["last"]) ** 2).mean())
    assert figures["skill_last"] == pytest.approx(1 - float((error**2).mean()) / naive)


@pytest.mark.parametrize(("n", "share"), [(48, 0.5), (48, 0.8), (48, 0.95), (8, 0.95), (1, 0.5)])
def test_what_right_intervals_cover_by_chance_is_binomial(n, share):
    low, high = by_chance(n, share)
    law = binom(n, share)
    least, most = round(low * n), round(high * n)
    assert law.cdf(least - 1) < 0.025 <= law.cdf(least)
    assert law.sf(most) <= 0.025 < law.sf(most - 1)


def test_what_is_seen_of_a_bowler_has_the_variance_of_nested_nights(small, tmp_path):
    _, season = _season(small, tmp_path, _rows(small))
    seen = season.seen(Components(170.0, 400.0, 30.0, 450.0, "given"))["Ann"]
    own = season.games[season.games["bowler"] == "Ann"]["score"]
    scale = (89 * own.var() / 480.0 + 20.0) / 109.0
    assert seen.covariance[0, 0] == pytest.approx(scale * (30.0 + 150.0) / 30)
    assert seen.value[0] == pytest.approx(own.mean())
    assert seen.outputs[0] == season.conditions.index("house") * FIGURES
