"""What a tournament's page says first: how near the cut is to a perfect one, whether somebody is favoured."""

from types import SimpleNamespace

import pytest

from leaguesim.report.tournamentpage import verdict


def told(low, high, late=None, pair=None, cut=12, entries=48):
    """The verdict on figures put together by hand."""
    figures = {
        "best_share_making_cut": {"value": (low + high) / 2.0, "low": low, "high": high},
        "late_less_early_squad": late
        and {"value": sum(late) / 2.0, "low": late[0], "high": late[1]},
        "start_pair_sd": pair and {"value": sum(pair) / 2.0, "low": pair[0], "high": pair[1]},
    }
    form = SimpleNamespace(cut=cut)
    return verdict(SimpleNamespace(figures=figures, tournament=form, entrants=range(entries)))


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (0.20, 0.30, "that the cut tells skill from luck is not shown"),
        (0.30, 0.40, "nearer to lots drawn than to a perfect one"),
        (0.60, 0.70, "about half-way between lots drawn and a perfect one"),
        (0.69, 0.76, "nearer to a perfect one than to lots drawn"),
    ],
)
def test_the_cut_is_held_against_lots_and_a_perfect_one(low, high, words):
    """12 of 48 by lot are a quarter; half-way to all of them is five eighths."""
    assert words in told(low, high)


def test_a_cut_that_leaves_nobody_out_says_so():
    assert told(1.0, 1.0, cut=48) == "Verdict: the cut leaves nobody out."


def test_who_is_favoured_is_told_or_that_nobody_is():
    assert told(0.7, 0.8, (-1.0, 1.0), (0.0, 1.0)).endswith(
        "; no squad or pair of lanes is shown to be favoured."
    )
    assert told(0.7, 0.8, (-3.0, -1.0), (0.0, 1.0)).endswith(
        "; the last squad loses 2.0 pins a game against the first."
    )
    assert told(0.7, 0.8, None, (0.5, 1.0)).endswith(
        "; the draw of lanes is worth 0.8 pins a game."
    )
    both = told(0.7, 0.8, (1.0, 2.0), (0.5, 1.0))
    assert (
        "the last squad gains 1.5 pins a game against the first and the draw of lanes is worth"
        in both
    )
