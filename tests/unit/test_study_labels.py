"""A season on two conditions without labels is refused in one line; what shows nothing is said."""

from dataclasses import replace

import numpy as np
import pytest

from leaguesim.center.scores import read_scores
from leaguesim.errors import InputError
from leaguesim.study.labels import check_labels, jump, unlabelled_note
from leaguesim.study.season import season_of


def _rows(small, rng, *, shift=0.0, first="week", label=lambda w, k: None, weeks=30):
    lines = []
    for w in range(1, weeks + 1):
        when = str(w) if first == "week" else f"2026-{1 + (w - 1) // 28:02d}-{1 + (w - 1) % 28:02d}"
        for k, r in enumerate(small.center().roster):
            scores = 150 + 5 * k + shift * (w > 15) + 22 * rng.standard_normal(3)
            cells = [when, r.bowler, *(str(int(np.clip(s, 0, 300))) for s in scores)]
            name = label(w, k)
            lines.append(",".join([*cells, name] if name is not None else cells))
    return lines


@pytest.fixture
def read(small, tmp_path):
    def of(rows, first="week", labelled=False, sequence=None):
        if sequence:
            (tmp_path / "sequences").mkdir(exist_ok=True)
            (tmp_path / "sequences" / "over.csv").write_text("date,condition\n" + sequence)
        center = replace(small.center(), folder=tmp_path)
        head = f"{first},bowler,game1,game2,game3" + (",condition" if labelled else "")
        (tmp_path / "scores.csv").write_text("\n".join([head, *rows, ""]))
        scores = read_scores(center)
        return center, scores, season_of(center, scores)

    return of


def test_a_level_that_jumps_is_refused_and_names_the_row(small, read):
    got = read(_rows(small, np.random.default_rng(4), shift=12.0))
    found = jump(got[2])
    assert 13 <= int(found.session[-3:]) <= 20  # it was week 16
    row = 2 + 8 * (int(found.session[-3:]) - 1)
    why = rf"scores\.csv:{row}: .*from about {found.session} on.*needs a column condition with a label"
    with pytest.raises(InputError, match=why) as told:
        check_labels(*got)
    assert "\n" not in str(told.value)


def test_a_calm_season_passes_and_says_what_it_cannot_tell(small, read):
    center, scores, season = read(_rows(small, np.random.default_rng(4)))
    check_labels(center, scores, season)
    note = unlabelled_note(center, season)
    assert "bowled on house" in note
    assert "scores alone cannot tell" in note


def test_labels_on_every_row_let_a_jump_pass(small, read):
    got = read(
        _rows(small, np.random.default_rng(4), shift=12.0,
              label=lambda w, _: "flat" if w > 15 else "house"),
        labelled=True,
    )  # fmt: skip
    check_labels(*got)
    assert set(got[2].games["condition"]) == {"house", "flat"}


def test_nights_without_a_label_beside_others_with_one_are_refused(small, read):
    got = read(
        _rows(small, np.random.default_rng(4), label=lambda w, _: "flat" if w > 15 else ""),
        labelled=True,
    )
    with pytest.raises(
        InputError, match=r"scores\.csv:2: condition: 120 of 240 rows have no label"
    ):
        check_labels(*got)


def test_many_rows_without_a_label_are_refused_and_a_slip_is_not(small, read):
    rng = np.random.default_rng(4)
    many = read(_rows(small, rng, label=lambda _, k: "" if k == 3 else "house"), labelled=True)
    with pytest.raises(InputError, match="30 of 240 rows have no label"):
        check_labels(*many)
    few = read(
        _rows(small, rng, label=lambda w, k: "" if k == 3 and w == 7 else "house"), labelled=True
    )
    check_labels(*few)
    assert any("a label on every row" in p for p in few[1].problems)


def test_a_sequence_that_goes_over_within_the_season_is_refused(small, read):
    rows = _rows(small, np.random.default_rng(4), first="date")
    over = "2026-01-05,house\n2026-01-20,flat\n"
    with pytest.raises(
        InputError, match=r"scores\.csv:154: sequences/over\.csv goes over to flat on 2026-01-20"
    ):
        check_labels(*read(rows, first="date", sequence=over))
    check_labels(*read(rows, first="date", sequence="2027-01-05,house\n2027-01-20,flat\n"))


def test_luck_alone_is_hardly_ever_taken_for_a_change(small, read):
    """At most 2 of 200 calm seasons of eight bowlers; a change of 12 pins is seen in 199 of 200."""
    calm = moved = 0
    _, _, season = read(_rows(small, np.random.default_rng(4)))
    rng = np.random.default_rng(11)
    at = season.games["session"].str[-3:].astype(int).to_numpy() > 15
    for _ in range(200):
        scores = 160 + 22 * rng.standard_normal(len(season.games))
        a = jump(replace(season, games=season.games.assign(score=scores)))
        b = jump(replace(season, games=season.games.assign(score=scores + 12.0 * at)))
        calm += a.shows
        moved += b.shows
    assert calm <= 2
    assert moved >= 199
