"""The line of each game: worth having, taken only where it is told apart, the same whoever works it out."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

from leaguesim.bowlers.draw import draw_bowler
from leaguesim.bowlers.lineup import Aim, floor_of, line_at, told_apart, worth_of
from leaguesim.bowlers.values import RosterLine
from leaguesim.center import demo_center, read
from leaguesim.lane.arrays import kernel_film
from leaguesim.lane.lane import Lane
from leaguesim.lane.values import Surface
from leaguesim.pins.carry import CarryLibrary
from leaguesim.play import _kernel, transition
from leaguesim.play.block import pins_of, play_block
from leaguesim.play.crew import GameLine, crew_of
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import Start, make_setting, pairs_of, without_wear
from leaguesim.play.transition import Ground, look_ahead
from leaguesim.play.values import LeagueFormat

NIGHTS = 32
EXPERT_DEG = 0.165
OTHER = {"left": "right", "right": "left"}


@pytest.fixture(scope="module")
def center():
    return read(demo_center())


@pytest.fixture(scope="module")
def lane(center):
    return Lane.from_condition(
        center.conditions["tuesday_40"],
        center.conditioners,
        surface=Surface(),
        temperature_c=21.1,
    )


@pytest.fixture(scope="module")
def pins():
    return pins_of(CarryLibrary.load())


@pytest.fixture(scope="module")
def experts(center):
    """Eight accurate bowlers of two teams, as steady in speed and revs: who has most to lose by worn oil."""
    people = []
    for style in ("power", "tweener"):
        middle = center.styles[style]
        share = EXPERT_DEG / middle.accuracy_deg.mean
        for k in range(4):
            line = RosterLine(f"accurate {style} {k}", style, "right", style)
            drawn = draw_bowler(line, center.styles[style], center.balls, 12)
            people.append(
                replace(
                    drawn, accuracy_deg=EXPERT_DEG, laydown_sd_board=0.33,
                    speed_sd_mph=share * middle.speed_sd_mph, rev_sd_rpm=share * middle.rev_sd_rpm,
                    rotation_sd_deg=share * middle.rotation_sd_deg,
                )
            )  # fmt: skip
    return people


def lined_up(people, lane, pins, film=None):
    fresh, mix = kernel_film(lane)
    start = Start((fresh if film is None else film)[None], mix)
    return make_setting("test", lane, start, pairs_of(people), pins)


@pytest.fixture(scope="module")
def setting(experts, lane, pins):
    return lined_up(experts, lane, pins)


def play(setting, people, pins, crew=None, seed=77):
    draws = np.stack(
        [night_draws(seed, b.bowler, block=0, games=3) for b in pairs_of(people)[0].bowlers], axis=1
    )[:NIGHTS]
    return play_block(
        setting.films, setting.mix, setting.pulls, crew or setting.crews[0], pins, draws, 3, 4,
        wears=setting.wears,
    )  # fmt: skip


def never(crew):
    """The same bowlers who keep their first line all night."""
    return replace(crew, crew=crew.crew._replace(every=0))


def test_looking_again_beats_staying_on_a_worn_lane(setting, experts, pins):
    """The same luck, line by game against first line all night: by pins, and by the fade."""
    ours = play(setting, experts, pins).exact
    stay = play(setting, experts, pins, never(setting.crews[0])).exact
    gain = (ours - stay).mean(axis=(1, 2))
    assert gain.mean() > 5.0
    assert gain.mean() > 4.0 * gain.std(ddof=1) / np.sqrt(NIGHTS)
    fade = [(x[:, :, 0] - x[:, :, 2]).mean() for x in (ours, stay)]
    assert fade[0] < fade[1]


def test_a_lane_that_keeps_its_film_keeps_everybody_on_the_first_line(setting, experts, pins):
    """Also: who has looked ahead plays there as who has not, to the bit."""
    still = without_wear(setting)
    plain = [replace(s, games=(), every=0) for s in setting.stances.values()]
    people = pairs_of(experts)[0]
    a = play(still, experts, pins)
    b = play(still, experts, pins, crew_of(plain, people.sides, setting.lane))
    assert np.array_equal(a.exact, b.exact)
    assert np.array_equal(a.lines, b.lines)


def test_where_nothing_is_lost_nobody_looks(setting, pins):
    """The film of the middle of the game is the fresh film: the line stays, to the bit."""
    floor = floor_of(setting.lane, np.ascontiguousarray(setting.films[0]), setting.mix)
    for stance in setting.stances.values():
        known = replace(stance, games=())
        got = transition._next_line(known, np.zeros((2, 2)), floor, 8, pins)
        assert got.games == (GameLine(stance.line, (0.0, 0.0)),)


def test_a_line_is_taken_only_where_it_is_told_apart(setting, pins, monkeypatch):
    """On a film with a worn track: pins gained, on errors the choice did not use, exceed the limit."""
    film = setting.films[0].copy()
    film[:, 1:-1] *= 1.0 - 0.6 * np.exp(-(((np.arange(39) - 10.0) / 6.0) ** 2))
    film[:, 0], film[:, 40] = film[:, 1], film[:, 39]
    floor = floor_of(setting.lane, film, setting.mix)
    taken = 0
    for stance in setting.stances.values():
        known = replace(stance, games=())
        got = transition._next_line(known, np.zeros((2, 2)), floor, 8, pins).games[0].line
        if got == stance.line:
            continue
        taken += 1
        s = stance.spares
        stay = Aim(*stance.line[:3], 0.0)
        old = worth_of(stance.bowler, floor, pins.arrays, s.clear, s.more, stay)
        assert got.worth - old > told_apart(stance.bowler)
        assert abs(got.board - stance.line.board) <= stance.bowler.farthest_move_board
        turned = (got.angle - stance.line.angle) / _kernel.TURN_UNIT
        assert abs(turned) <= stance.bowler.farthest_move_board
        again = line_at(stance.bowler, floor, pins.arrays, s.clear, s.more, stay)
        assert again.worth == old
    assert taken > 0
    monkeypatch.setattr(transition, "told_apart", lambda _b: 1000.0)
    for stance in setting.stances.values():
        known = replace(stance, games=())
        got = transition._next_line(known, np.zeros((2, 2)), floor, 8, pins)
        assert got.games[0] == GameLine(stance.line, (0.0, 0.0))


def test_who_owns_one_ball_never_changes_it(experts, lane, pins):
    """And goes over to other lines with it all the same."""
    alone = [replace(b, bag=b.bag[:1], spare_ball=None) for b in experts]
    setting = lined_up(alone, lane, pins)
    assert all(s.ball_changes == 0 for s in setting.stances.values())
    assert any(len({g.line for g in s.games}) > 1 for s in setting.stances.values())
    assert not play(setting, alone, pins).counts[:, :, _kernel.CHANGES].any()


def test_a_ball_change_is_thrown_and_counted_once(setting, experts, pins):
    """One bowler takes another ball for the second game: the first game stays as it was, to the bit."""
    pair = pairs_of(experts)[0]
    plain = [replace(setting.stances[b.bowler], games=(), every=0) for b in pair.bowlers]
    k = next(i for i, s in enumerate(plain) if len(s.bowler.bag) > 1)
    same = GameLine(plain[k].line, (0.0, 0.0))
    other = same.line._replace(ball=(same.line.ball + 1) % len(plain[k].bowler.bag))
    changer = replace(plain[k], games=(same, GameLine(other, (0.0, 0.0))), every=8)
    assert changer.ball_changes == 1
    changed = [changer if i == k else s for i, s in enumerate(plain)]
    a = play(setting, experts, pins, crew_of(plain, pair.sides, setting.lane))
    b = play(setting, experts, pins, crew_of(changed, pair.sides, setting.lane))
    assert np.array_equal(a.exact[:, :, 0], b.exact[:, :, 0])
    assert not np.array_equal(a.exact[:, k, 1], b.exact[:, k, 1])
    counted = b.counts[:, :, _kernel.CHANGES]
    assert (counted[:, k] == 1).all()
    assert counted.sum() == NIGHTS


def test_lines_of_games_are_the_same_in_the_mirror(setting, experts, lane, pins):
    film, _ = kernel_film(lane)
    turned = [replace(b, hand=OTHER[b.hand]) for b in experts]
    image = lined_up(turned, lane, pins, np.ascontiguousarray(film[:, ::-1]))
    for name, stance in setting.stances.items():
        assert image.stances[name].games == stance.games


def test_lines_of_games_do_not_depend_on_who_works_them_out(center, lane, pins):
    """Two pairs, either order, one thread or two; who is not asked keeps what they have."""
    people = [
        draw_bowler(RosterLine(f"b{k}", f"t{k // 2}", "right", style), center.styles[style],
                    center.balls, 3)
        for k, style in enumerate(("power", "stroker") * 4)
    ]  # fmt: skip
    setting = lined_up(people, lane, pins)
    floor = floor_of(setting.lane, np.ascontiguousarray(setting.films[0]), setting.mix)
    ground = Ground(floor, setting.pulls, pins, LeagueFormat())
    groups = [
        ([replace(setting.stances[b.bowler], games=()) for b in p.bowlers], p.sides)
        for p in pairs_of(people)
    ]
    with ThreadPoolExecutor(2) as pool:
        back = look_ahead(groups[::-1], ground, pool.map)[::-1]
    there = look_ahead(groups, ground)
    for a, b in zip(there, back, strict=True):
        assert [s.games for s in a] == [s.games for s in b]
        assert [s.games for s in a] == [setting.stances[s.bowler.bowler].games for s in a]
    one = look_ahead(groups, ground, only=[people[0].bowler])
    looked = [bool(s.games) for group in one for s in group]
    assert looked.count(True) == 1
