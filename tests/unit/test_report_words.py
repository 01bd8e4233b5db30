"""Sentences, numbers and markup of reports."""

import dataclasses
from types import SimpleNamespace

import numpy as np
import pytest

from leaguesim.report.markup import Markup, table, tag
from leaguesim.report.people import spellings
from leaguesim.report.texts import (
    answer,
    interval,
    number,
    people_like_these,
    percent,
    ratio_headline,
    signed,
    verdict,
    yes_no,
)
from leaguesim.report.vocabulary import GLOSSARY


@pytest.mark.parametrize(
    ("value", "shown"),
    [(-6.24, "−6.2"), (0.04, "0.0"), (-0.04, "0.0"), (float("nan"), "–"), (None, "–"), (7, "7.0")],
)
def test_numbers_have_proper_signs_and_no_minus_zero(value, shown):
    assert number(value) == shown


@pytest.mark.parametrize(("value", "shown"), [(2.04, "+2.0"), (-2.04, "−2.0"), (0.01, "0.0")])
def test_changes_carry_their_sign(value, shown):
    assert signed(value) == shown


def test_unknown_stays_unknown():
    import pandas as pd

    assert yes_no(pd.NA) == yes_no(None) == yes_no(float("nan")) == "can't be told"
    assert yes_no(True) == "yes"
    assert percent(None) == "–"
    assert interval(None, 2.0) == "not known"


@pytest.mark.parametrize(
    ("change", "low", "high", "words"),
    [
        (-6.0, -6.5, -5.5, "a clear drop"),
        (6.0, 5.5, 6.5, "a clear rise"),
        (-0.2, -0.5, 0.1, "no change anybody would notice"),
        (-1.5, -2.5, -0.5, "perhaps a small one"),
        (-1.0, -3.0, 1.0, "too close to call"),
        (0.0, 0.0, 0.0, "exactly alike"),
        (None, None, None, "can't be told"),
    ],
)
def test_verdict_in_plain_words(change, low, high, words):
    assert words in verdict(change, low, high)


def test_answer_says_how_much_how_sure_and_who(made_up):
    result = made_up.compare()
    told = answer(result)
    assert told.headline.startswith("League average falls 6.")
    assert "this roster" in told.headline
    assert told.people_interval.startswith("People like these: between")
    assert "two-handed" in told.who[0]
    assert "left-handers" in told.who[1]
    assert f"{result.league['lost']} bowlers lost" in told.happy


def test_identical_conditions_say_so(made_up):
    result = made_up.compare()
    still = {"change": 0.0, "change_low": 0.0, "change_high": 0.0}
    told = answer(dataclasses.replace(result, league={**result.league, **still}))
    assert "stays exactly where it is" in told.headline
    assert "exactly alike" in told.verdict


def changed(result, **league):
    return dataclasses.replace(result, league={**result.league, **league})


def test_a_change_that_rounds_to_nothing_stays_and_hides_nobody(made_up):
    result = made_up.compare()
    told = answer(changed(result, change=0.02, change_low=-0.3, change_high=0.34))
    assert "stays within 0.1 pin" in told.headline
    assert "0.0 pins" not in told.headline
    count = int((result.bowlers["change"].abs() >= 3.0).sum())
    assert count > 0
    assert f"{count} of {len(result.bowlers)} bowlers by 3 pins or more" in told.verdict
    assert "people do move" not in answer(result).verdict  # the league's own drop says it already


def test_one_night_and_few_pairs_are_said_in_words(made_up):
    gone = float("nan")
    told = answer(
        changed(
            made_up.compare(), change_low=gone, change_high=gone, people_low=None, people_high=None
        )
    )
    assert "one night can't tell the luck" in told.headline
    assert told.roster_interval == "This roster: one night can't tell the luck."
    assert "too few" in told.people_interval
    assert "not known" not in " ".join(told.lines())
    assert people_like_these(gone, 1.0) == "too few to tell"
    assert people_like_these(-2.04, 1.0) == "−2.0 to +1.0"


def test_close_verdicts_and_better_but_lost_bowlers_show_in_the_terminal(made_up):
    import io

    from rich.console import Console

    from leaguesim.report import compare_text

    result = made_up.compare(count=10)
    table = result.bowlers.copy()
    table["close_call"] = False
    first = table.index[0]
    table.loc[first, ["change", "close_call", "why_not_next"]] = [4.0, True, "sides uneven"]
    table.loc[first, ["kept_happy_now", "kept_happy_next"]] = [True, False]
    table.loc[first, "bowler"] = "Ada"
    out = io.StringIO()
    compare_text(
        dataclasses.replace(result, bowlers=table), Console(file=out, width=80, highlight=False)
    )
    said = out.getvalue()
    assert "Ada gains 4.0 pins and is still lost: sides uneven (close)." in said
    assert "yes → no  close" in said
    rows = said[said.index("Every bowler") : said.index("r, l: right")].splitlines()[3:]
    rows = [row for row in rows if row[:1] == " " and row.strip(" ─")]
    assert len(rows) >= 10
    assert all(" → " in row for row in rows)
    assert sum(line.rstrip().endswith("close") for line in said.splitlines()) == 1
    assert "within 2 se of a threshold" in " ".join(said.split())
    assert max(map(len, said.splitlines())) <= 80


def test_styles_are_spelled_for_people():
    assert spellings(["two_handed", "stroker"])["two_handed"] == "two-handed"
    assert spellings(["a_b", "a-b"]) == {"a_b": "a_b", "a-b": "a-b"}


def test_average_bands_go_up():
    from leaguesim.study.paired import groups_of

    reference = np.array([215.0, 120.0, 185.0, 131.0])
    people = [SimpleNamespace(style="stroker", hand="right")] * 4
    grouping = groups_of(people, reference)
    bands = [n for k, n in zip(grouping.kinds, grouping.names, strict=True) if k == "average band"]
    assert bands == ["under 130", "130 to 149", "170 to 189", "210 and over"]


def test_ratio_headline_takes_22_ft_or_the_nearest_inside():
    def look(length, *rows):
        ratios = [{"distance_ft": d, "right": r, "left": s} for d, r, s in rows]
        return SimpleNamespace(length_ft=length, ratios=ratios)

    long = look(40.0, (5.0, 17.0, 17.0), (22.0, 6.3, 6.3), (36.0, 13.0, 13.0))
    assert ratio_headline(long) == "Crosswise ratio at 22 ft: 6.3:1."
    short = look(18.0, (5.0, 3.0, 4.0), (15.0, 2.0, None), (22.0, None, None))
    told = ratio_headline(short)
    assert told == "Crosswise ratio at 15 ft: 2.0:1 right, dry outside left."


def test_markup_escapes_text_once():
    assert tag("p", "<b> & co") == "<p>&lt;b&gt; &amp; co</p>"
    assert tag("p", Markup("<b>x</b>")) == "<p><b>x</b></p>"
    assert tag("p", "x", title='a "b"') == '<p title="a &quot;b&quot;">x</p>'
    assert tag("input", checked=True, hidden=None) == "<input checked>"


def test_tables_have_caption_and_scopes():
    made = table("Who", ["a", "b"], [["x", "1"]], row_data=[{"style": 'q"'}])
    assert "<caption>Who</caption>" in made
    assert made.count('scope="col"') == 2
    assert '<th scope="row">x</th>' in made
    assert 'data-style="q&quot;"' in made


def test_glossary_is_sorted_and_has_units_for_quantities():
    terms = [term for term, _ in GLOSSARY]
    assert terms == sorted(terms)
    assert any(term.startswith("film") and "[units]" in term for term in terms)


def test_too_few_pairs_says_how_many_it_takes(made_up):
    from leaguesim.study.intervals import FEWEST_PAIRS

    assert FEWEST_PAIRS == 4
    result = changed(made_up.compare(), people_low=None, people_high=None)
    three = dataclasses.replace(
        result, bowlers=result.bowlers.assign(pair=result.bowlers.index % 3)
    )
    assert answer(three).people_interval.endswith("to tell (3 pairs here, 4 are needed).")
    assert answer(result).people_interval.endswith("to tell.")  # enough pairs: another reason


def test_verdicts_that_hang_on_luck_are_told_beside_kept_happy(made_up):
    result = made_up.compare()
    half = len(result.bowlers) // 2
    assert (
        f" {half} of them are close to a threshold"
        in answer(changed(result, close_calls=half)).happy
    )
    assert "close" not in answer(changed(result, close_calls=half - 1)).happy


def test_averages_that_the_model_does_not_reach_stand_with_the_answer(made_up):
    note = "The model meets these entering averages only to 2 pins or worse: Zoe."
    result = dataclasses.replace(made_up.compare(), notes=["Lanes are alike.", note])
    assert answer(result).who[-1] == note
    assert "Lanes are alike." not in answer(result).who
