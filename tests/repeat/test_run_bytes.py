"""The same bytes whatever the workers, the roster's order or the rounds; other bytes for another seed."""

from dataclasses import fields, replace

import numpy as np
import pytest

from leaguesim.bowlers.values import RosterLine
from leaguesim.run.rounds import Plan, play_nights, play_until


@pytest.mark.parametrize("workers", [2, 3])
def test_workers_change_no_byte(small, played, workers):
    one = played("house", "flat")
    assert small.digest(played("house", "flat", workers=workers)) == small.digest(one)


def test_the_same_seed_gives_the_same_bytes_again(small, played):
    again = small.compare(small.center(), "house", "flat")
    assert small.digest(again) == small.digest(played("house", "flat"))


def test_another_seed_gives_other_numbers(played):
    a = played("house", "flat").bowlers
    b = played("house", "flat", seed=12).bowlers
    assert (a["average_now"] != b["average_now"]).all()
    assert (a["change"] != b["change"]).all()


def test_the_order_of_the_roster_changes_no_byte(small, played):
    center = small.center()
    mixed = tuple(center.roster[k] for k in (5, 2, 7, 0, 3, 6, 1, 4))
    shuffled = small.compare(replace(center, roster=mixed), "house", "flat")
    assert small.digest(shuffled) == small.digest(played("house", "flat"))


def test_people_on_another_pair_change_nothing_but_what_is_usual(small, played):
    """A new team on its own pair: everybody else's play is bit-equal; only norms may move."""
    center = small.center()
    more = tuple(RosterLine(n, "Z9", "right", "stroker") for n in ("Yve", "Zed"))
    bigger = small.compare(replace(center, roster=center.roster + more), "house", "flat").bowlers
    before = played("house", "flat").bowlers
    kept = bigger[bigger["bowler"].isin(before["bowler"])].reset_index(drop=True)
    assert len(bigger) == len(before) + 2
    usual = {f"{c}_{s}" for c in ("kept_happy", "why_not") for s in ("now", "next")}
    for column in set(before) - usual - {"close_call"}:
        assert kept[column].equals(before[column]), column


@pytest.fixture(scope="module")
def plan(small, floor_and_pins):
    made, setting = floor_and_pins
    everybody = np.ones((1, len(made.order)), np.bool_)
    half = everybody.copy()
    half[0, ::2] = False
    groups = np.concatenate([everybody, half])
    return Plan([setting], made.pairs, made.pins, small.center().league, groups, 11)


def _equal(a, b):
    for f in fields(a):
        assert np.array_equal(getattr(a, f.name), getattr(b, f.name)), f.name


def test_blocks_of_nights_add_up(plan):
    """Nights 0 to 80 at once, in two parts, and through the rounds: every accumulator equal."""
    whole = play_nights(plan, 0, 80, 2)
    parts = play_nights(plan, 0, 32, 1)
    parts.add(play_nights(plan, 32, 80, 3))
    _equal(whole, parts)
    asked, why = play_until(plan, nights=80, workers=2, enough=lambda _: False)
    assert why == "asked"
    _equal(whole, asked)
    assert whole.nights == 80
    assert whole.n_scores.sum() == 80 * 3 * int(plan.offsets[-1])


def test_stopping_sees_whole_rounds_only(plan):
    """64 nights, then doubling; the rule is asked once a round."""
    seen = []

    def enough(totals):
        seen.append(totals.nights)
        return totals.nights >= 128

    totals, why = play_until(plan, nights=None, workers=2, enough=enough)
    assert (seen, why, totals.nights) == ([64, 128], "enough", 128)


def test_another_replicate_is_another_luck(plan):
    a = play_nights(plan, 0, 32, 1)
    b = play_nights(replace(plan, replicate=1), 0, 32, 1)
    assert (a.average != b.average).all()
