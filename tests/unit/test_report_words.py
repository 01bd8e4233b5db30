"""Sentences, numbers and markup of reports."""

import dataclasses

import pytest

from leaguesim.report.markup import Markup, table, tag
from leaguesim.report.texts import (
    GLOSSARY,
    answer,
    interval,
    number,
    percent,
    signed,
    verdict,
    yes_no,
)


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
