"""A night on a pair of lanes: oil is kept, wear can be switched off, draws are used where they belong."""

from dataclasses import replace

import numpy as np
import pytest

from leaguesim.play import _kernel
from leaguesim.play.draws import night_draws
from leaguesim.play.setting import pairs_of, play_block, without_wear

NIGHTS = 8


@pytest.fixture(scope="module")
def night(floor_and_pins):
    """Draws of the first pair and a way to play them, with the films they end with."""
    made, setting = floor_and_pins
    people = setting.crews[0]
    draws = np.stack(
        [night_draws(5, b.bowler, block=0, games=3) for b in made.pairs[0].bowlers], axis=1
    )[:NIGHTS]

    def play(setting=setting, crew=people, draws=draws, games=3, practice=4):
        ends = np.empty((draws.shape[0], 2, 63, 41))
        block = play_block(
            setting.films, setting.mix, setting.pulls, crew, made.pins, draws, games, practice,
            wears=setting.wears, ends=ends,
        )  # fmt: skip
        return block, ends

    return setting, people, draws, play


def test_oil_is_kept_to_rounding(night):
    """Both lanes of every night plus what the balls took away is what the machine laid."""
    setting, _, draws, play = night
    block, ends = play()
    laid = 2.0 * setting.films[0, :, 1:-1].sum() * draws.shape[0]
    left = ends[:, :, :, 1:-1].sum() + block.ledger.sum()
    assert left == pytest.approx(laid, rel=1e-12)
    assert (block.ledger > 0.0).all()
    assert (ends >= 0.0).all()
    assert (ends[..., 0] == ends[..., 1]).all()
    assert (ends[..., 40] == ends[..., 39]).all()


def test_a_long_night_never_digs_below_the_lane(night, floor_and_pins):
    """Eight games and thirty practice balls: the film stays non-negative, oil is still kept."""
    made, setting = floor_and_pins
    _, crew, _, play = night
    draws = np.stack(
        [night_draws(6, b.bowler, block=0, games=8) for b in made.pairs[0].bowlers], axis=1
    )[:2]
    block, ends = play(crew=crew, draws=draws, games=8, practice=30)
    assert (ends >= 0.0).all()
    laid = 4.0 * setting.films[0, :, 1:-1].sum()
    assert ends[:, :, :, 1:-1].sum() + block.ledger.sum() == pytest.approx(laid, rel=1e-12)
    assert np.isfinite(block.exact).all()


def test_balls_that_take_nothing_leave_the_film_bit_equal(night):
    setting, people, _, play = night
    dry = {
        kind: getattr(people.crew, kind)._replace(take=np.zeros_like(people.crew.strike.take))
        for kind in ("strike", "spare")
    }
    block, ends = play(crew=replace(people, crew=people.crew._replace(**dry)))
    assert (ends == setting.films[0]).all()
    assert (block.ledger == 0.0).all()


def test_lanes_that_do_not_wear_keep_their_film(night):
    setting, _, _, play = night
    worn, _ = play()
    block, ends = play(setting=without_wear(setting))
    assert (ends == setting.films[0]).all()
    assert (block.ledger == 0.0).all()
    assert not np.array_equal(block.exact, worn.exact)


def test_counts_and_scores_are_possible(night):
    *_, play = night
    block, _ = play()
    c = {n: block.counts[..., getattr(_kernel, n)] for n in (
        "RACKS", "STRIKES", "TRIES", "SPARES", "POCKET", "CORNER", "GUTTERS", "BALLS")}  # fmt: skip
    assert (c["RACKS"] >= 30).all()
    assert (c["RACKS"] <= 36).all()
    assert (c["STRIKES"] <= c["RACKS"]).all()
    assert (c["SPARES"] <= c["TRIES"]).all()
    assert (c["CORNER"] <= c["POCKET"]).all()
    assert (c["BALLS"] == c["RACKS"] + c["TRIES"]).all()
    assert ((block.exact >= 0.0) & (block.exact <= 300.0)).all()
    assert ((block.sampled >= 0) & (block.sampled <= 300)).all()
    assert (block.misses[..., 0].sum(axis=2) == c["RACKS"]).all()


def test_the_first_strikes_do_not_depend_on_the_uniform_for_the_pins(night):
    """Bowlers react to arrivals, never to pins: without wear another uniform leaves the means."""
    setting, _, draws, play = night
    other = draws.copy()
    pins = slice(_kernel.FORM_DRAWS + _kernel.SLOT_DRAWS - 1, None, _kernel.SLOT_DRAWS)
    other[:, :, pins] = 1.0 - other[:, :, pins]
    still = without_wear(setting)
    crew = setting.crews[0]
    firm = replace(crew, crew=crew.crew._replace(gain=np.zeros_like(crew.crew.gain)))
    a, _ = play(setting=still, crew=firm)
    b, _ = play(setting=still, crew=firm, draws=other)
    assert np.array_equal(a.exact, b.exact)
    assert not np.array_equal(a.sampled, b.sampled)


def test_practice_balls_use_their_own_slots(night):
    """Other numbers in the practice slots that are not thrown change nothing."""
    _, _, draws, play = night
    other = draws.copy()
    first = _kernel.FORM_DRAWS + 4 * _kernel.SLOT_DRAWS
    last = _kernel.FORM_DRAWS + _kernel.PRACTICE_SLOTS * _kernel.SLOT_DRAWS
    other[:, :, first:last] = 0.25
    a, _ = play()
    b, _ = play(draws=other)
    assert np.array_equal(a.exact, b.exact)
    assert np.array_equal(a.sampled, b.sampled)


def test_nights_do_not_know_each_other(night):
    """A night gives the same wherever it stands in the block."""
    _, _, draws, play = night
    whole, _ = play()
    back, _ = play(draws=np.ascontiguousarray(draws[::-1]))
    assert np.array_equal(whole.exact, back.exact[::-1])
    assert np.array_equal(whole.sampled, back.sampled[::-1])


def test_nobody_moves_further_than_they_can(night):
    """Held to half a board, to none, and left alone: only who would go further is held back."""
    setting, people, _, play = night
    free, _ = play()
    for limit in (0.5, 0.0):
        far = np.full_like(people.crew.farthest, limit)
        held, _ = play(crew=replace(people, crew=people.crew._replace(farthest=far)))
        assert np.abs(held.lines[..., 0]).max() <= limit
        assert np.abs(held.lines[..., 1]).max() <= limit * _kernel.TURN_UNIT
        assert not np.array_equal(held.exact, free.exact)
    own = [setting.stances[b].bowler.farthest_move_board for b in setting.stances]
    assert set(people.crew.farthest.tolist()) <= set(own)
    reached = np.abs(free.lines[..., 0]).max()
    assert 0.5 < reached <= max(own)


def test_pairs_are_made_by_name(small, floor_and_pins):
    made, _ = floor_and_pins
    pairs = pairs_of(made.people[::-1])
    assert pairs == made.pairs
    assert [[b.bowler for b in p.bowlers] for p in pairs] == [
        ["Ann", "Cid", "Bea", "Dot"],
        ["Eli", "Gus", "Fay", "Hal"],
    ]
    assert [p.sides for p in pairs] == [(0, 1, 0, 1)] * 2
    assert [len(p.bowlers) for p in pairs_of(made.people[:6])] == [4, 2]


def test_worn_lanes_have_less_oil_and_repeat(small, floor_and_pins):
    """32 sessions of earlier play, all different, all lower than fresh, the same again."""
    made, fresh = floor_and_pins
    _, start = made._start("worn")
    films, mix = start.films, start.mix
    laid = fresh.films[0, :, 1:-1].sum()
    left = films[:, :, 1:-1].sum(axis=(1, 2))
    assert films.shape == (32, 63, 41)
    assert ((left > 0.5 * laid) & (left < laid)).all()
    assert len(set(left.tolist())) == 32
    again = made._start("worn")[1]
    assert np.array_equal(films, again.films)
    assert start.sessions is not None
    nights = start.sessions(1, 0)
    assert np.array_equal(nights, again.sessions(1, 0))
    assert not np.array_equal(nights, start.sessions(2, 0))
    assert not np.array_equal(start.sessions(0, 0), films)
    assert np.array_equal(mix, fresh.mix)


def test_earlier_play_gives_other_results_than_fresh(played):
    table = played("house", "worn").bowlers
    assert (table["change"] != 0.0).all()
    assert table["average_next"].between(0.0, 300.0).all()


def test_luck_of_other_people_is_refused(night):
    """The kernel would read past its arrays."""
    _, people, draws, play = night
    n = people.crew.side.shape[0]
    with pytest.raises(ValueError, match=f"luck of {n - 1} bowlers for a pair of {n}"):
        play(draws=draws[:, 1:])
