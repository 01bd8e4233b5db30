"""What must hold for any legal game and any law of a rack."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leaguesim.errors import InputError
from leaguesim.scoring import _kernel, game_score, running_totals, score_distribution


@st.composite
def legal_rolls(draw):
    rolls = []
    for frame in range(10):
        first = draw(st.integers(0, 10))
        rolls.append(first)
        if first == 10 and frame < 9:
            continue
        second = draw(st.integers(0, 10 if first == 10 else 10 - first))
        rolls.append(second)
        if frame == 9 and first == 10:
            rolls.append(draw(st.integers(0, 10 if second == 10 else 10 - second)))
        elif frame == 9 and first + second == 10:
            rolls.append(draw(st.integers(0, 10)))
    return rolls


def shares(size):
    """Chances of a given number of outcomes, some of them zero."""
    weights = st.lists(st.integers(0, 50), min_size=size, max_size=size).filter(any)
    return weights.map(lambda w: [x / sum(w) for x in w])


laws = st.tuples(shares(11), st.tuples(*[shares(11 - k) for k in range(10)])).map(
    lambda law: (law[0][10], law[0][:10], list(law[1]))
)


@settings(deadline=None)
@given(legal_rolls())
def test_any_legal_game_scores_between_0_and_300(rolls):
    totals = running_totals(rolls)
    assert len(totals) == 10
    assert totals[0] >= 0
    gains = np.diff([0, *totals])
    assert (gains >= 0).all()
    assert (gains <= 30).all()
    assert sum(rolls[:-3]) <= totals[-1] <= 300
    assert game_score(rolls) == totals[-1]


@settings(deadline=None)
@given(legal_rolls())
def test_a_game_cut_short_or_drawn_out_is_refused(rolls):
    for wrong in (rolls[:-1], [*rolls, 0]):
        with pytest.raises(InputError):
            game_score(wrong)


@settings(deadline=None)
@given(st.lists(st.integers(-2, 12), max_size=23))
def test_any_list_of_numbers_scores_or_is_refused(rolls):
    try:
        totals = running_totals(rolls)
    except InputError:
        return
    assert 0 <= totals[-1] <= 300


@settings(deadline=None)
@given(legal_rolls(), st.integers(0, 10))
def test_slots_agree_with_rolls(rolls, unused):
    slots = np.full(21, unused)
    at = 0
    for frame in range(9):
        used = 1 if rolls[at] == 10 else 2
        slots[2 * frame : 2 * frame + used] = rolls[at : at + used]
        at += used
    slots[18 : 18 + len(rolls) - at] = rolls[at:]
    assert _kernel.score_slots(slots) == game_score(rolls)


@settings(max_examples=60, deadline=None)
@given(laws)
def test_any_law_gives_chances_with_the_closed_form_mean(law):
    strike, first, second = law
    chances = score_distribution(strike, first, second)
    assert (chances >= 0.0).all()
    assert abs(chances.sum() - 1.0) < 1e-12
    mean_first = 10 * strike + sum(k * p for k, p in enumerate(first))
    spare = sum(p * row[-1] for p, row in zip(first, second, strict=True))
    more = [sum(j * p for j, p in enumerate(row)) for row in second]
    both = mean_first + sum(p * m for p, m in zip(first, more, strict=True))
    mean = 10 * (both + strike * (both + strike * mean_first) + spare * mean_first)
    assert np.arange(301) @ chances == pytest.approx(mean, rel=1e-12, abs=1e-12)
    assert chances[300] == pytest.approx(strike**12, rel=1e-12, abs=0)
    assert chances[0] == pytest.approx((first[0] * second[0][0]) ** 10, rel=1e-12, abs=0)


@settings(max_examples=25, deadline=None)
@given(st.lists(laws, min_size=10, max_size=10))
def test_ten_laws_agree_with_the_mean_kernel(ten):
    strike, first, second = zip(*ten, strict=True)
    chances = score_distribution(strike, first, second)
    assert abs(chances.sum() - 1.0) < 1e-12
    means = []
    for law in (*ten, ten[9], ten[9]):
        padded = np.zeros((10, 11))
        for k, row in enumerate(law[2]):
            padded[k, : 11 - k] = row
        means.append((law[0], *_kernel.rack_means(law[0], np.array(law[1]), padded)))
    columns = [np.array(column) for column in zip(*means, strict=True)]
    mean = _kernel.expected_game(*columns, columns[1][9])
    assert np.arange(301) @ chances == pytest.approx(mean, rel=1e-12, abs=1e-12)
