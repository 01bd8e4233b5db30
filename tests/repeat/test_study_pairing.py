"""Pairing to the bit: equal conditions, conditions swapped, and a center seen in a mirror."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from leaguesim.study.happy import band_of


def _same(a, b):
    return bool((a.isna() & b.isna() | (a == b).fillna(False)).all())


@pytest.mark.parametrize("after", ["house", "copy"])
def test_equal_conditions_change_exactly_nothing(played, after):
    """Both the same condition and another file with the same oil."""
    result = played("house", after)
    table = result.bowlers
    assert (table["change"] == 0.0).all()
    assert (table["change_se"] == 0.0).all()
    for kind in result.groups.values():
        assert (kind[["change", "change_se", "change_low", "change_high"]].fillna(0) == 0.0).all(
            axis=None
        )
    for key in ("change", "change_se", "change_low", "change_high"):
        assert result.league[key] == 0.0
    # Two pairs of lanes are too few to speak of other people.
    assert np.isnan([result.league["people_low"], result.league["people_high"]]).all()
    for column in [c for c in table if c.endswith("_now")]:
        assert _same(table[column], table[column.replace("_now", "_next")]), column


def test_swapping_the_conditions_flips_every_sign(played):
    one, other = played("house", "flat"), played("flat", "house")
    a, b = one.bowlers, other.bowlers
    assert (a["change"] == -b["change"]).all()
    assert (a["change_se"] == b["change_se"]).all()
    assert (a["change"] != 0.0).all()
    for column in [c for c in a if c.endswith("_now")]:
        mirror = column.replace("_now", "_next")
        assert _same(a[column], b[mirror]), column
        assert _same(a[mirror], b[column]), mirror
    for kind, table in one.groups.items():
        back = other.groups[kind]
        assert (table["change"] == -back["change"]).all()
        assert (table["change_se"] == back["change_se"]).all()
        assert _same(table["change_low"], -back["change_high"])
        assert _same(table["change_high"], -back["change_low"])
        assert (table["lost"] == back["won_back"]).all()
    x, y = one.league, other.league
    assert x["change"] == -y["change"]
    assert (x["change_low"], x["change_high"]) == (-y["change_high"], -y["change_low"])
    assert x["kept_happy_now"] == y["kept_happy_next"]


def _mirror_run(small, now, **changes):
    center = replace(small.center(), **changes)
    center = replace(center, surface=replace(center.surface, tilt_in=0.03))
    return (
        small.compare(center, now, "flat"),
        small.compare(small.mirrored(center), now, "flat"),
    )


def test_the_mirror_changes_nothing_but_the_hand(small):
    """Hands, an asymmetric blended condition and the tilt mirrored: every other column bit-equal."""
    plain, seen = _mirror_run(small, "skew")
    a, b = plain.bowlers, seen.bowlers
    assert set(a["hand"]) == {"left", "right"}
    assert (a["hand"] != b["hand"]).all()
    for column in set(a) - {"hand"}:
        assert _same(a[column], b[column]), column
    assert plain.groups["style"].equals(seen.groups["style"])
    assert plain.scores.equals(seen.scores)


def test_the_asymmetric_condition_is_one(small, played):
    """The mirror test would hold on a symmetric lane whatever the code did; this one is not."""
    center = replace(small.center(), surface=replace(small.center().surface, tilt_in=0.03))
    other = tuple(
        replace(r, hand={"left": "right", "right": "left"}[r.hand]) for r in center.roster
    )
    a = small.compare(center, "skew", "flat", nights=2).bowlers
    b = small.compare(replace(center, roster=other), "skew", "flat", nights=2).bowlers
    assert (np.abs(a["average_now"] - b["average_now"]) > 0.01).all()


@pytest.mark.slow
def test_the_mirror_holds_with_earlier_play(small):
    """Earlier play by right-handers only, against the same by left-handers only."""
    styles = {k: replace(s, left_handed_share=0.0) for k, s in small.center().styles.items()}
    plain, seen = _mirror_run(small, "worn_skew", styles=styles)
    for column in set(plain.bowlers) - {"hand"}:
        assert _same(plain.bowlers[column], seen.bowlers[column]), column


def test_average_bands_are_told_by_what_people_are_held_against(small):
    """Nobody has an entering average here: bands come from today's play, as the references do."""
    result = small.compare(small.center(), "house", "flat", nights=64)
    counts = Counter(band_of(result.bowlers["reference"].to_numpy()))
    told = result.groups["average band"]
    assert dict(zip(told["group"], told["bowlers"], strict=True)) == dict(counts)
